"""How savings spread over the homes of a fleet: the result's file in; percentiles by strategy and group out."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from math import fsum
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from solarsim.errors import ScenarioError
from solarsim.parquet import batches
from solarsim.results import Result, fact
from solarsim.studies.risk.risk import percentiles

if TYPE_CHECKING:
    from array import array

_MOST_GROUPS = 500
_MOST_REASONS = 1000
_NONE = "(none)"


@dataclass(frozen=True, eq=False, repr=False)
class SavingsSpread(Result):
    """The savings of some homes under one strategy."""

    strategy: str = fact("name of the strategy; empty: each home's strategy of the lowest cost", "text")
    group: str | None = fact("value of the column that groups the homes; null: all homes", "text")
    currency: str = fact("ISO 4217 code", "text")
    homes: int = fact("homes that have this strategy", "1")
    not_comparable: int = fact("of them, homes whose savings are not comparable; they count as the lowest", "1")
    mean: float | None = fact("mean of the savings that are comparable; null where none are", "currency a year")
    p90: float | None = fact("savings that 90% of the homes reach or exceed", "currency a year")
    p75: float | None = fact("savings that 75% of the homes reach or exceed", "currency a year")
    p50: float | None = fact("savings that half of the homes reach or exceed", "currency a year")
    p25: float | None = fact("savings that 25% of the homes reach or exceed", "currency a year")
    p10: float | None = fact("savings that 10% of the homes reach or exceed", "currency a year")


def spreads_of(path: Path, group: str | None) -> tuple[SavingsSpread, ...]:
    """Return the spread of savings: for each strategy over all homes, then for each group.

    Eight bytes are in memory for each home and strategy, twice with groups.
    """
    found = _values(path, group)
    names: list[tuple[str | None, str, str]] = sorted(
        found, key=lambda each: (each[0] is not None, each[0] or "", each[1], each[2])
    )
    return tuple(_spread(*key, np.frombuffer(found[key], np.float64)) for key in names)


def _values(path: Path, group: str | None) -> "dict[tuple[str | None, str, str], array[float]]":
    """Return the savings by group (None: all), currency and strategy; not comparable is minus infinity."""
    from array import array

    found: dict[tuple[str | None, str, str], array[float]] = {}
    groups: set[str] = set()
    for strategy, currency, saved, first, value in _rows(path, group):
        groups.add(value)
        if len(groups) > _MOST_GROUPS:
            raise ScenarioError(f"--group {group}: has more than {_MOST_GROUPS} values")
        number = float("-inf") if saved is None else saved
        for under in (None,) if group is None else (None, value):
            for name in (strategy, "") if first else (strategy,):
                found.setdefault((under, currency, name), array("d")).append(number)
    return found


def _rows(path: Path, group: str | None) -> Iterator[tuple[str, str, float | None, bool, str]]:
    """Yield strategy, currency, savings, whether it is the home's first best one, and group of each row."""
    columns = list(dict.fromkeys(["id", "strategy", "currency", "annual_savings", "best", *([group] if group else [])]))
    last = None
    for batch in batches(path, ScenarioError, columns, 20_000):
        table = batch.to_pydict()
        values = table[group] if group else [""] * batch.num_rows
        for place, strategy in enumerate(table["strategy"]):
            if strategy is None:
                continue
            home, best = table["id"][place], bool(table["best"][place])
            value = values[place]
            first = best and home != last
            last = home if best else last
            yield strategy, table["currency"][place], table["annual_savings"][place], first, _shown(value)


def _shown(value: object) -> str:
    return _NONE if value is None else str(value)


def _spread(
    group: str | None, currency: str, strategy: str, values: "np.ndarray[tuple[int], np.dtype[np.float64]]"
) -> SavingsSpread:
    known = values[np.isfinite(values)]
    ends = percentiles(values)
    p75, p25 = (float(each) for each in np.quantile(values, (0.25, 0.75), method="inverted_cdf"))
    return SavingsSpread(
        strategy=strategy,
        group=group,
        currency=currency,
        homes=values.size,
        not_comparable=values.size - known.size,
        mean=fsum(known) / known.size if known.size else None,  # the same in any order
        p90=ends.p90,
        p75=p75 if np.isfinite(p75) else None,
        p50=ends.p50,
        p25=p25 if np.isfinite(p25) else None,
        p10=ends.p10,
    )


def reasons_of(path: Path, count: int) -> tuple[tuple[str, int], ...]:
    """Return the most frequent reasons why homes could not be run, with how many homes each."""
    found: Counter[str] = Counter()
    for batch in batches(path, ScenarioError, ["error"], 20_000):
        for reason in batch.column(0).drop_null().to_pylist():
            if reason in found or len(found) < _MOST_REASONS:
                found[reason] += 1
    return tuple(found.most_common(count))
