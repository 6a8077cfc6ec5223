"""The search: a scorer and starts in, the best table that was found out; the same seed finds the same.

Tables that prices suggest come first, made season by season. From the best of them walks set out that also accept worse
tables, less and less (annealing): most of what is better is not in the direct neighborhood. Then the best table is
changed one coordinate at a time until no change helps, and what does not earn its place is removed.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import inf, log
from random import Random

from solarsim.studies.tune._moves import Moves, put, without
from solarsim.studies.tune._score import Scorer
from solarsim.studies.tune._table import Rule, Settings, Table

_WALKS = ((2, 0.38, 0.004, 0.0003), (1, 0.14, 0.003, 0.0003))  # how many, share of the runs, heat at start and end
_LENIENT = 0.3  # of the price of a line counts while tables change: only together do some lines earn their places
_CLEARLY = 1e-6  # less money is no reason for another table
_TRIES = 6  # for each run of a walk: many tables are known already, or not legal


@dataclass(frozen=True)
class Found:
    """A table, its cost, and its price: with a part of what its lines must earn on top [currency]."""

    table: Table
    cost: float
    price: float


class Search:
    """One search: what may be changed, what a line must earn, how many years may be run.

    Pruning and what is asked of the table that was found may run some more.
    """

    def __init__(
        self,
        scorer: Scorer,
        moves: Moves,
        line_price: float,
        runs: int,
        seed: int,
        told: Callable[[int], None] | None = None,
    ) -> None:
        self.scorer, self.moves, self.line_price, self.runs = scorer, moves, line_price, runs
        self._rng = Random(seed)  # noqa: S311 - it guards nothing
        self._told = told

    @property
    def runs_left(self) -> int:
        """How many years may still be run."""
        return self.runs - self.scorer.runs

    def found(self, table: Table) -> Found:
        """Return a table with its price; infinite where it cannot be programmed."""
        cost = self.scorer.cost(table)
        if self._told is not None:
            self._told(self.scorer.runs)
        return Found(table, cost, cost + _LENIENT * self.line_price * table.lines)

    def better(self, table: Table, than: float) -> Found | None:
        """Return a table with its price if that is lower and the table can be programmed."""
        if len(table.rules) > self.moves.rules:
            return None
        found = self.found(table)
        return found if found.price < than - _CLEARLY and self.scorer.fits(table) else None

    def best_of(self, tables: Iterable[Table], than: Found) -> Found:
        """Return the best of some tables, or the one before."""
        best = than
        for table in tables:
            if self.runs_left <= 0:
                break
            best = self.better(table, best.price) or best
        return best

    def best_from(self, starts: Sequence[Found], scale: float) -> Found:
        """Return the best table that walks from the best starts reach; ``scale`` is what the battery can save."""
        ranked = sorted(starts, key=lambda each: each.price)
        left = self.runs_left
        for walks, share, hot, cold in _WALKS:
            begin = [*ranked[: walks - 1], starts[0]] if walks > 1 else ranked[:1]
            walked = [self.anneal(each, int(share * left), hot * scale, cold * scale) for each in begin]
            ranked = sorted([*walked, *ranked], key=lambda each: each.price)
        best = self.prune(ranked[0])
        return self.prune(self.descend(best))

    def from_rates(self, cuts: tuple[int, ...], base: Settings, sets: Sequence[Sequence[tuple[Rule, ...]]]) -> Found:
        """Return a table made season by season of the rule sets that help most, one after another."""
        best = self.found(Table(cuts, base, ()))
        for options in sets:
            rules = best.table.rules
            best = self.best_of((best.table._replace(rules=(*new, *rules)) for new in options), best)
        return best

    def descend(self, start: Found) -> Found:
        """Return the best table that is reached by changing one coordinate at a time."""
        best, before = start, inf
        while best.price < before - _CLEARLY and self.runs_left > 0:
            before, place = best.price, 0
            # A better table has other coordinates: they are listed anew for each place.
            while place < len(coordinates := list(self.moves.coordinates(best.table))) and self.runs_left > 0:
                best = self.best_of(coordinates[place], best)
                place += 1
        return best

    def anneal(self, start: Found, runs: int, hot: float, cold: float) -> Found:
        """Return the best table of a walk that also accepts worse ones, less and less."""
        now = best = start
        first, tries = self.scorer.runs, 0
        while (done := (self.scorer.runs - first) / max(1, runs)) < 1.0 and tries < _TRIES * runs:
            tries += 1
            heat = hot * (cold / hot) ** done
            table = self.moves.random(now.table, self._rng)
            limit = now.price - heat * log(1.0 - self._rng.random())
            found = self.better(table, limit)
            if found is not None:
                now = found
                best = min(best, now, key=lambda each: each.price)
        return best

    def shortest_within(self, starts: Iterable[Found], cost: float) -> Found | None:
        """Return the shortest of some tables, pruned, that costs no more than this; None where none does."""
        pruned = (self._pruned(each, 0.0) for each in starts if each.cost <= cost + _CLEARLY)
        return min(pruned, key=lambda each: (each.table.lines, each.cost), default=None)

    def prune(self, start: Found) -> Found:
        """Return the table without rules that never hold, and without what does not earn its place."""
        return self._pruned(start, self.line_price)

    def _pruned(self, start: Found, line_price: float) -> Found:
        """Return the table without lines that earn less than a price."""
        best = start
        while True:
            holds = self.scorer.holds(best.table)
            if not all(holds):
                rules = tuple(rule for rule, held in zip(best.table.rules, holds, strict=True) if held)
                best = self.found(best.table._replace(rules=rules))
                continue
            shorter = [self.found(each) for each in shorter_tables(best.table) if self.scorer.fits(each)]

            def loss(each: Found, best: Found = best) -> float:
                return each.cost - best.cost - line_price * (best.table.lines - each.table.lines)

            least = min(shorter, key=loss, default=best)
            if least is best or loss(least) > _CLEARLY:
                return best
            best = least


def shorter_tables(table: Table) -> Iterator[Table]:
    """Yield the table without each of its rules, then without each setting of rules that have several."""
    for number in range(len(table.rules)):
        yield without(table, number)
    for number, rule in enumerate(table.rules):
        for key, _ in rule.changes if len(rule.changes) > 1 else ():
            yield put(table, number, rule.changed(key, None))
