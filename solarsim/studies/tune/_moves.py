"""Steps of the search: a table in, tables that differ from it in one place out."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from random import Random

from solarsim.studies.tune._table import (
    CHARGE,
    EVERY_DAY,
    RESERVE,
    SELL,
    SERVES,
    SURPLUS,
    WEEKENDS,
    WORKDAYS,
    Rule,
    Table,
    adjacent,
)

MOST_SEASONS = 3
_NEAR = (-3, -2, -1, 1, 2, 3)
_CUTS_NEAR = (-4, -2, -1, 1, 2, 4)  # half months


@dataclass(frozen=True)
class Moves:
    """What may be changed.

    Attributes
    ----------
    values : mapping of int to tuple of float
        For each key that is searched the values that it may take in a rule.
    slots, hour : int
        Slots of a day, and of an hour.
    cut_days : int
        How many places a season may begin at.
    days : tuple of int
        Kinds of days that rules may be for.
    seasons : int
        Most seasons.
    rules : int
        Most rules.
    own_seasons : bool
        Whether the beginnings of seasons are searched.
    """

    values: dict[int, tuple[float, ...]]
    slots: int
    hour: int
    cut_days: int
    days: tuple[int, ...]
    seasons: int
    rules: int
    own_seasons: bool = True

    def coordinates(self, table: Table) -> Iterator[list[Table]]:
        """Yield the values of each coordinate of a table in turn: one list of tables for each."""
        for number, rule in enumerate(table.rules):
            yield [without(table, number)]
            yield [put(table, number, rule._replace(start=slot)) for slot in self._hours() if slot != rule.start]
            yield [put(table, number, rule._replace(end=slot)) for slot in self._hours() if slot != rule.end]
            yield [
                put(
                    table, number, rule._replace(start=(rule.start + by) % self.slots, end=(rule.end + by) % self.slots)
                )
                for by in (near * self.hour for near in _NEAR)
            ]
            yield [put(table, number, rule._replace(days=days)) for days in self.days if days != rule.days]
            yield [
                put(table, number, rule._replace(seasons=mask))
                for mask in range(1, 1 << table.seasons)
                if mask != rule.seasons
            ]
            for key, values in self.values.items():
                now = dict(rule.changes).get(key)
                options = [value for value in (*values, None) if value != now]
                changed = (rule.changed(key, value) for value in options)
                yield [put(table, number, each) for each in changed if each.changes]
            if number:
                yield [swapped(table, number)]
        yield list(self.bases(table))
        yield list(self.other_cuts(table))

    def pairs(self, table: Table) -> Iterator[list[Table]]:
        """Yield tables with a level and an end of the hours of one rule changed at once: one list for each of these.

        A battery that sells for one hour at the end of a peak may sell to a low level, over the whole peak only to a
        high one: neither change alone helps.
        """
        for number, rule in enumerate(table.rules):
            moved = [
                rule._replace(**{side: (getattr(rule, side) + near * self.hour) % self.slots})
                for side in ("start", "end")
                for near in _NEAR
            ]
            for key, now in rule.changes:
                others = [value for value in self.values.get(key, ()) if value != now]
                yield [put(table, number, each.changed(key, value)) for each in moved for value in others]

    def bases(self, table: Table) -> Iterator[Table]:
        """Yield tables with another base."""
        for key in (SERVES, SURPLUS):
            if key in self.values:
                base = list(table.base)
                base[key] = 1.0 - base[key]
                yield table._replace(base=tuple(base))

    def other_cuts(self, table: Table) -> Iterator[Table]:
        """Yield tables whose seasons begin elsewhere."""
        for place, cut in enumerate(table.cuts if self.own_seasons else ()):
            for by in _CUTS_NEAR:
                cuts = [*table.cuts[:place], (cut + by) % self.cut_days, *table.cuts[place + 1 :]]
                yield from _with_cuts(table, cuts)

    def random(self, table: Table, rng: Random) -> Table:
        """Return a table that differs in one place, or two."""
        for _ in range(20):
            found = self._random(table, rng)
            if found is not None and found != table:
                return self._random(found, rng) or found if rng.random() < 0.25 else found
        return table

    def _random(self, table: Table, rng: Random) -> Table | None:
        draw = rng.random()
        if not table.rules or (draw < 0.12 and len(table.rules) < self.rules):
            rules = list(table.rules)
            rules.insert(rng.randint(0, len(rules)), self._new_rule(table, rng))
            return table._replace(rules=tuple(rules))
        number = rng.randrange(len(table.rules))
        rule = table.rules[number]
        if draw < 0.17:
            return without(table, number)
        if draw < 0.21 and len(table.rules) > 1:
            return swapped(table, max(1, number))
        if draw < 0.26:
            options = [*self.bases(table), *self.other_cuts(table), *self._other_counts(table)]
            return rng.choice(options) if options else None
        if draw < 0.30 and len(table.rules) < self.rules:
            return self._split(table, number, rng)
        if draw < 0.62:
            return put(table, number, self._moved(rule, rng))
        if draw < 0.72:
            if rng.random() < 0.5:
                return put(table, number, rule._replace(days=rng.choice(self.days)))
            return put(table, number, rule._replace(seasons=rng.randrange(1, 1 << table.seasons)))
        return put(table, number, self._reset(rule, rng))

    def _moved(self, rule: Rule, rng: Random) -> Rule:
        by = rng.choice(_NEAR) * self.hour if rng.random() < 0.8 else rng.choice(self._hours())
        which = rng.randrange(3)
        start = (rule.start + by) % self.slots if which != 1 else rule.start
        end = (rule.end + by) % self.slots if which != 0 else rule.end
        return rule._replace(start=start, end=end)

    def _reset(self, rule: Rule, rng: Random) -> Rule:
        """Return a rule with one setting changed: to a neighboring level, to another value, or left to the base."""
        key = rng.choice(list(self.values))
        if rule.changes and rng.random() < 0.6:
            key = rng.choice(rule.changes)[0]
        values, now = self.values.get(key, ()), dict(rule.changes).get(key)
        if now is not None and len(rule.changes) > 1 and rng.random() < 0.25:
            return rule.changed(key, None)
        if not values:
            return rule
        if now in values and len(values) > 2 and rng.random() < 0.7:
            place = values.index(now) + rng.choice((-2, -1, 1, 2))
            return rule.changed(key, values[max(0, min(len(values) - 1, place))])
        return rule.changed(key, rng.choice(values))

    def _new_rule(self, table: Table, rng: Random) -> Rule:
        start = rng.choice(self._hours())
        rule = Rule(
            seasons=rng.randrange(1, 1 << table.seasons),
            days=rng.choice(self.days),
            start=start,
            end=(start + self.hour * rng.randint(1, 10)) % self.slots,
            changes=(),
        )
        keys = [key for key in (SERVES, CHARGE, SELL, SURPLUS, RESERVE) if key in self.values] or list(self.values)
        key = rng.choice(keys)
        return rule.changed(key, rng.choice(self.values[key]))

    def _split(self, table: Table, number: int, rng: Random) -> Table:
        """Return a table with one rule twice, the first of them narrower: other levels for some seasons or days."""
        rule = table.rules[number]
        narrow = rule
        if table.seasons > 1 and rng.random() < 0.6:
            narrow = rule._replace(seasons=1 << rng.randrange(table.seasons))
        elif WORKDAYS in self.days:
            narrow = rule._replace(days=rng.choice((WORKDAYS, WEEKENDS)) if rule.days == EVERY_DAY else rule.days)
        rules = [*table.rules[:number], self._reset(narrow, rng), *table.rules[number:]]
        return table._replace(rules=tuple(rules))

    def _other_counts(self, table: Table) -> Iterator[Table]:
        """Yield tables with one season more or less."""
        if not self.own_seasons:
            return
        if table.seasons > 1:
            for place in range(len(table.cuts)):
                yield merged(table, place)
        if table.cuts and table.seasons < self.seasons:
            for cut in range(self.cut_days):
                yield from split_season(table, cut)
        if not table.cuts and self.seasons > 1:
            both = tuple(rule._replace(seasons=3) for rule in table.rules)
            for pair in combinations(range(self.cut_days), 2):
                yield table._replace(cuts=pair, rules=both)

    def _hours(self) -> range:
        return range(0, self.slots, self.hour)


def put(table: Table, number: int, rule: Rule) -> Table:
    """Return a table with another rule in a place."""
    return table._replace(rules=(*table.rules[:number], rule, *table.rules[number + 1 :]))


def without(table: Table, number: int) -> Table:
    """Return a table without a rule."""
    return table._replace(rules=(*table.rules[:number], *table.rules[number + 1 :]))


def swapped(table: Table, number: int) -> Table:
    """Return a table with a rule before the one that it followed."""
    rules = list(table.rules)
    rules[number - 1], rules[number] = rules[number], rules[number - 1]
    return table._replace(rules=tuple(rules))


def _with_cuts(table: Table, cuts: Sequence[int]) -> Iterator[Table]:
    """Yield the table with its seasons beginning elsewhere, if they keep their order around the year."""
    smallest = min(range(len(cuts)), key=cuts.__getitem__)
    turned = (*cuts[smallest:], *cuts[:smallest])
    if not adjacent(turned):
        return
    count = len(cuts)
    rules = tuple(rule._replace(seasons=_turned(rule.seasons, smallest, count)) for rule in table.rules)
    yield table._replace(cuts=turned, rules=rules)


def _turned(mask: int, first: int, count: int) -> int:
    """Return bits of seasons after the season ``first`` has become the one numbered 0."""
    return sum(1 << (season - first) % count for season in range(count) if mask >> season & 1)


def merged(table: Table, place: int) -> Table:
    """Return a table without the beginning of a season, which becomes a part of the one before it."""
    count = len(table.cuts)
    if count == 2:
        return table._replace(cuts=(), rules=tuple(rule._replace(seasons=1) for rule in table.rules))
    cuts = (*table.cuts[:place], *table.cuts[place + 1 :])
    kept = [season for season in range(count) if season != place]
    rules = []
    for rule in table.rules:
        mask = sum(1 << number for number, season in enumerate(kept) if rule.seasons >> season & 1)
        if mask:
            rules.append(rule._replace(seasons=mask))
    return table._replace(cuts=cuts, rules=tuple(rules))


def split_season(table: Table, cut: int) -> Iterator[Table]:
    """Yield the table with a season more that begins at a cut; its rules hold on both sides of it."""
    if cut in table.cuts:
        return
    if not table.cuts:
        return
    before = sum(each < cut for each in table.cuts)
    parent = (before - 1) % len(table.cuts)
    cuts = (*table.cuts[:before], cut, *table.cuts[before:])
    origin = [*range(before), parent, *range(before, len(table.cuts))]
    rules = tuple(
        rule._replace(seasons=sum(1 << new for new, old in enumerate(origin) if rule.seasons >> old & 1))
        for rule in table.rules
    )
    yield table._replace(cuts=cuts, rules=rules)
