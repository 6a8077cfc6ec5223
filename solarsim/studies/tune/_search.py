"""The search: a scorer and starts in, the best table that was found out; the same seed finds the same.

Tables that prices suggest come first, made season by season. From the best of them walks set out that also accept worse
tables, less and less (annealing): most of what is better is not in the direct neighborhood. The best ends of walks are
then polished: one coordinate is changed at a time, then two of one rule at once, rules are added, and what does not
earn its place is removed, until nothing helps. Several walks and polished ends make the result depend little on the
seed.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from math import inf, log
from random import Random

from solarsim.studies.tune._moves import Moves, put, without
from solarsim.studies.tune._score import Scorer
from solarsim.studies.tune._table import Rule, Settings, Table

_WALKS, _RUNS_OF_WALK = 4, 0.11  # how many set out at first, and the share of the runs that each may take
_HOT, _COLD = 0.004, 0.0003  # heat at a walk's start and end, as a share of what the battery can save
_POLISHED = 3  # ends of walks
_LENIENT = 0.1  # of the price of a line counts while tables change: only together do some lines earn their places
_CLEARLY = 1e-6  # less money is no reason for another table
_TRIES = 6  # for each run of a walk: many tables are known already, or not legal


Changes = Callable[[Table], Iterator[list[Table]]]  # lists of tables that differ from one in the same way


@dataclass(frozen=True)
class Found:
    """A table and its cost [currency]."""

    table: Table
    cost: float


Price = Callable[[Found], float]


class Search:
    """One search: what may be changed, what a line must earn, how many years may be run.

    Settling and what is asked of the table that was found may run some more.
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
        """Return a table with its cost; infinite where it is not legal."""
        cost = self.scorer.cost(table)
        if self._told is not None:
            self._told(self.scorer.runs)
        return Found(table, cost)

    def in_full(self, found: Found) -> float:
        """Return the cost of a table with what its lines must earn on top [currency]."""
        return found.cost + self.line_price * found.table.lines

    def in_part(self, found: Found) -> float:
        """Return the cost of a table with a part of what its lines must earn on top [currency]."""
        return found.cost + _LENIENT * self.line_price * found.table.lines

    def better(self, table: Table, limit: float, price: Price) -> Found | None:
        """Return a table if its price is below a limit and it can be programmed."""
        if len(table.rules) > self.moves.rules:
            return None
        found = self.found(table)
        return found if price(found) < limit - _CLEARLY and self.scorer.fits(table) else None

    def best_of(self, tables: Iterable[Table], than: Found, price: Price) -> Found:
        """Return the best of some tables, or the one before."""
        best = than
        for table in tables:
            if self.runs_left <= 0:
                break
            best = self.better(table, price(best), price) or best
        return best

    def best_from(self, starts: Sequence[Found], scale: float, additions: Changes) -> Found:
        """Return the best table that walks from the best starts, and from the first, reach.

        ``scale`` is what the battery can save; ``additions`` yields lists of tables with rules more.
        """
        runs = int(_RUNS_OF_WALK * self.runs_left)

        def end_of_walk(start: Found) -> Found:
            return self.prune(self.anneal(start, min(runs, self.runs_left), _HOT * scale, _COLD * scale))

        ranked = sorted(starts, key=self.in_part)
        ends = [end_of_walk(each) for each in (*ranked[: _WALKS - 1], starts[0])]
        different: dict[float, Found] = {}
        for end in sorted(ends, key=self.in_full):
            different.setdefault(end.cost, end)  # of tables that cost the same the shortest
        chosen = islice(different.values(), _POLISHED)
        best, before = min((self.polished(each, additions) for each in chosen), key=self.in_full), inf
        while self.runs_left > 0 and self.in_full(best) < before - _CLEARLY:  # one more walk, as long as one helps
            before = self.in_full(best)
            best = min(best, self.polished(end_of_walk(best), additions), key=self.in_full)
        return best

    def from_rates(self, cuts: tuple[int, ...], base: Settings, sets: Sequence[Sequence[tuple[Rule, ...]]]) -> Found:
        """Return a table made season by season of the rule sets that help most, one after another."""
        best = self.found(Table(cuts, base, ()))
        for options in sets:
            rules = best.table.rules
            best = self.best_of((best.table._replace(rules=(*new, *rules)) for new in options), best, self.in_part)
        return best

    def polished(self, start: Found, additions: Changes) -> Found:
        """Return the best table that single changes, pairs of changes and more rules lead to, settled."""
        best, before = self.settled(start), inf
        while self.in_full(best) < before - _CLEARLY and self.runs_left > 0:
            before = self.in_full(best)
            changed = self.descend(best, self.in_part)
            changed = self.best_change(changed, self.moves.pairs, self.in_part)
            changed = self.best_change(changed, additions, self.in_part)
            best = min(best, self.settled(changed), key=self.in_full)
        return best

    def settled(self, start: Found) -> Found:
        """Return a table pruned, and its levels and hours fitted to the lines that are left."""
        return self.prune(self.descend(self.prune(start), self.in_full))

    def descend(self, start: Found, price: Price) -> Found:
        """Return the best table that is reached by changing one coordinate at a time."""
        best, before = start, inf
        while price(best) < before - _CLEARLY and self.runs_left > 0:
            before = price(best)
            best = self.best_change(best, self.moves.coordinates, price)
        return best

    def best_change(self, start: Found, changes: Changes, price: Price) -> Found:
        """Return the table after the best of each list of changes in turn, where one is better."""
        best, place, lists = start, 0, changes(start.table)
        while self.runs_left > 0 and (options := next(lists, None)) is not None:
            better, place = self.best_of(options, best, price), place + 1
            if better is not best:  # it has other changes: what comes after this place
                best, lists = better, islice(changes(better.table), place, None)
        return best

    def anneal(self, start: Found, runs: int, hot: float, cold: float) -> Found:
        """Return the best table of a walk that also accepts worse ones, less and less."""
        now = best = start
        first, tries = self.scorer.runs, 0
        while (done := (self.scorer.runs - first) / max(1, runs)) < 1.0 and tries < _TRIES * runs:
            tries += 1
            heat = hot * (cold / hot) ** done
            table = self.moves.random(now.table, self._rng)
            limit = self.in_part(now) - heat * log(1.0 - self._rng.random())
            found = self.better(table, limit, self.in_part)
            if found is not None:
                now = found
                best = min(best, now, key=self.in_part)
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
