"""What to purchase: a scenario in; the next step from it, every design along its axes and the best of them, out.

Designs are searched with lives of a few computed years; the best ones and all steps are computed year by year.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from itertools import islice
from math import inf
from time import process_time
from typing import TYPE_CHECKING, Any, TypeVar

from solarsim.errors import ScenarioError
from solarsim.home import Home, home_of
from solarsim.results import Result, computed, fact
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import COSTS, LIFE, require
from solarsim.scenario.size import Size as SizeTable
from solarsim.studies._on_cluster import workers_while_making
from solarsim.studies.life.life import settings_of
from solarsim.studies.size._axes import MOST_DESIGNS, Axes, axes_of, changes_of, count_of, written_values
from solarsim.studies.size._designs import Impossible, Item, Several, Shop, design_at
from solarsim.studies.size._frontiers import backed, frontier, longer_backup, lower_bill
from solarsim.studies.size._priced import axis_notes, break_even_cost, only_price, unpriced
from solarsim.studies.size._quick import baselines_of, quick_life
from solarsim.studies.size._room import unknown_faces
from solarsim.studies.size._steps import Step, inverter_sizes, later_notes, missing_steps, steps_from, with_inverter
from solarsim.studies.size.chances import Chance, chances_of
from solarsim.studies.size.design import Design, npv_of, tie_of
from solarsim.studies.size.homes import Homes
from solarsim.studies.size.next_step import NextStep, Skipped, next_step
from solarsim.studies.size.stages import Stage, stages_of
from solarsim.studies.wiring.wiring import failure_notes

if TYPE_CHECKING:
    import pandas as pd

#: What the command needs beyond what every scenario has.
NEEDS = (COSTS, LIFE)

T = TypeVar("T")
_EXACT = 10  # designs that are computed again year by year
_MOST_EXACT = 40  # of these and their ties
_BATCH = 512  # designs whose answers are waited for at once


@dataclass(frozen=True, eq=False, repr=False)
class Size(Result):
    """The next step from a home, and the designs along its axes."""

    _rows = "designs"

    home: Home  # as written
    scenario: str = fact("name of the scenario", "text")
    currency: str = fact("ISO 4217 code of all money here", "text")
    years: int = fact("length of the life", "years")
    written: Design = fact("the home as written", "record")
    next_steps: tuple[NextStep, ...] = fact(
        "one more and one fewer of each, highest NPV first, those without a price last", "list"
    )
    impossible_steps: tuple[Skipped, ...] = fact("steps that cannot be made, with the reason", "list")
    axes: Mapping[str, tuple[Any, ...]] = fact("values of each axis, by key", "table")
    designs: tuple[Design, ...] = fact("every possible combination, in the order of the axes", "list")
    best: Design | None = fact("the design of the highest NPV; null without axes", "record")
    ties: tuple[Design, ...] = fact("other designs whose NPV cannot be told apart from the best's", "list")
    frontier: tuple[Design, ...] = fact("designs with a higher NPV than every cheaper one, cheapest first", "list")
    bill_frontier: tuple[Design, ...] = fact(
        "designs with a lower energy cost than every cheaper one, cheapest first", "list"
    )
    backup_frontier: tuple[Design, ...] = fact(
        "designs with a longer backup than every cheaper one, cheapest first, of those whose backup is computed", "list"
    )
    skipped: tuple[Skipped, ...] = fact("combinations that are impossible, by reason", "list")
    stages: tuple[Stage, ...] | None = fact(
        "growth from the home as written, shortest payback first, until no step raises the NPV; null where not asked"
        " for",
        "list",
    )
    chances: tuple[Chance, ...] | None = fact(
        "how often the best and the designs next to it, without axes the home as written and the best steps, have the"
        " highest NPV; null where not asked for",
        "list",
    )
    notes: tuple[str, ...] = fact("what a reader should know", "list")

    @computed("difference of NPV below which two designs count as equal; null without axes", "currency")
    def tie_npv(self) -> float | None:
        return None if self.best is None else tie_of(self.best)

    @property
    def found(self) -> Scenario | None:
        """The scenario of the best design, without axes that of the step that adds most; None where none does."""
        scenario = self.home.scenario
        if self.axes:
            return None if self.best is None else scenario.changed(self.best.changes)
        step = next(iter(self.next_steps), None)
        pays = step is not None and step.price_missing is None and (step.npv_gain or 0.0) > 0.0
        return scenario.changed(step.changes) if step is not None and pays else None

    def table(self) -> "pd.DataFrame":
        """Return every design as a pandas table, indexed by the values of the axes; without axes the next steps."""
        import pandas as pd

        if not self.axes:
            return pd.DataFrame([step.record() for step in self.next_steps]).set_index("name")
        rows = [{**each.record(), **{f"axis {key}": each.changes[key] for key in self.axes}} for each in self.designs]
        table = pd.DataFrame(rows).drop(columns="changes").set_index([f"axis {key}" for key in self.axes])
        return table.rename_axis(index={f"axis {key}": key for key in self.axes})


def size(
    scenario: Scenario,
    axes: Axes | None = None,
    home: Home | None = None,
    stages: bool = False,
    chances: bool = False,
    workers: int = 1,
    progress: Callable[[int, int], None] | None = None,
    scheduler: str | None = None,
) -> Size:
    """Compare what could be purchased: one more and one fewer of each, and every design along some axes.

    Parameters
    ----------
    scenario : Scenario
        With costs and a life.
    axes : mapping of str to sequence, optional
        Values by key, see ``Scenario.changed``; the scenario's table ``size`` where left out.
    home : Home, optional
        From ``home_from`` of this scenario.
    stages : bool
        Whether to grow the home in stages, too.
    chances : bool
        Whether to compute how often the best design stays the best under ``life.uncertainty``.
    workers : int
        Processes that share the work; the answer does not depend on it.
    progress : callable, optional
        Called with the number of designs done, and of all.
    scheduler : str, optional
        Address of a running Dask scheduler, whose workers do the work instead; the answer is the same.

    Returns
    -------
    Size
        Each design with its best strategy by NPV over the whole life.

    Raises
    ------
    ScenarioError
        The scenario has no ``costs`` or no ``life``, or is paid under a contract; an axis names no key or has fewer
        than two values; there are too many designs, or all are impossible.
    InputError
        See ``home_from``.
    ValueError
        See ``home_of``.

    Examples
    --------
    >>> from solarsim import read_scenario, size
    >>> found = size(read_scenario(), {"battery.bank.0.strings": [0, 1, 2]})
    >>> [each.changes["battery.bank.0.strings"] for each in found.designs]
    [0, 1, 2]
    """
    require(scenario, *NEEDS)
    settings = settings_of(scenario)
    contract = only_price(scenario)
    if contract is not None:
        raise ScenarioError(scenario.problem(contract))
    chosen = axes_of(scenario, axes)
    count = count_of(chosen)
    make = partial(_shop_of, scenario, home, count, workers)
    with workers_while_making(design_at, make, workers if count <= MOST_DESIGNS else 1, scheduler) as several:
        shop, home = several.shared, several.shared.homes.home
        written, steps, stepped = _steps_of(several, scenario, chosen)
        designs, skipped = _designs_of(several, scenario, chosen, progress)
        designs, best = _refined(several, designs)
        designs, best = backed(several, designs, best)
        grown = stages_of(several, shop, written) if stages else None
    rivals, kept = (designs, best) if chosen else ((written, *stepped), written)
    compared = chances_of(shop, rivals, kept, workers, progress, scheduler) if chances else None
    limit = 0.0 if best is None or best.npv is None else best.npv - tie_of(best)
    better = [each for each in stepped if npv_of(each) > npv_of(written)]
    first = best or max(better, key=npv_of, default=None)
    every_change = {key: value for stage in grown or () for key, value in stage.changes.items()}
    return Size(
        home=home,
        scenario=scenario.name,
        currency=scenario.rate_plan.currency,
        years=settings.years,
        written=written,
        next_steps=tuple(step for step in steps if isinstance(step, NextStep)),
        impossible_steps=tuple(step for step in steps if isinstance(step, Skipped)),
        axes=chosen,
        designs=designs,
        best=best,
        ties=tuple(each for each in designs if each is not best and each.npv is not None and each.npv >= limit),
        frontier=tuple(frontier(designs, npv_of)),
        bill_frontier=tuple(frontier(designs, lower_bill)),
        backup_frontier=tuple(each for each in frontier(designs, longer_backup) if each.backup_duration_h),
        skipped=skipped,
        stages=grown,
        chances=compared,
        notes=(
            *home.notes(),
            *unknown_faces(scenario, shop.size),
            *failure_notes(scenario, home),
            *_failures_after(shop, "after the change with the highest NPV", None if first is None else first.changes),
            *_failures_after(shop, "after all stages", every_change if grown else None),
            *axis_notes(scenario, chosen),
            *later_notes(scenario),
        ),
    )


def _failures_after(shop: Shop, what: str, changes: Mapping[str, Any] | None) -> tuple[str, ...]:
    """Return the note on design checks that a changed home fails, where the home as written has another."""
    if changes is None:
        return ()
    scenario = shop.written.changed(changes)
    found = failure_notes(scenario, shop.homes.of(scenario))
    known = failure_notes(shop.written, shop.homes.home)
    return tuple(f"{what}: {each}" for each in found if each not in known)


def _shop_of(scenario: Scenario, home: Home | None, count: int, workers: int) -> Shop:
    """Return what all designs share; refuse so many of them."""
    home = home_of(scenario, home)
    shop = Shop(Homes(home), scenario.size or SizeTable(), _module_w(home), baselines_of(home))
    if count > MOST_DESIGNS:
        raise ScenarioError(_too_many(shop, count, workers))
    return shop


def _steps_of(
    several: Several, scenario: Scenario, axes: Axes
) -> tuple[Design, list[NextStep | Skipped], tuple[Design, ...]]:
    """Return the home as written, every step from it, by what it adds to NPV, and the designs after the steps."""
    now, steps = written_values(scenario, tuple(axes)), steps_from(scenario)
    written, *others = several.map([({}, "exact"), *((step.changes, "exact") for step in steps)], chunk=1)
    if isinstance(written, Impossible):
        raise ScenarioError(scenario.problem(written.reason))
    found: list[NextStep | Skipped] = [Skipped(reason, 0, now) for reason in missing_steps(scenario)]
    rivals: list[Design] = []
    for step, other in zip(steps, others, strict=True):
        changes, why = {**now, **step.changes}, unpriced(scenario, step.changes)
        if isinstance(other, Impossible):
            found.append(Skipped(f"{step.name} ({other.reason})", 1, changes))
            continue
        found.append(_with_break_even(scenario, step, next_step(step, changes, written, other, why)))
        rivals += [other] if why is None else []
    found.sort(key=_rank, reverse=True)
    return replace(written, changes=now), found, tuple(rivals)


def _with_break_even(scenario: Scenario, step: Step, found: NextStep) -> NextStep:
    """Return an addition without a price with the cost that it may have."""
    if found.price_missing is None or not step.more or found.added_cost or (found.npv_gain or 0.0) <= 0.0:
        return found
    return replace(found, break_even_cost=break_even_cost(scenario.changed(step.changes), found.npv_gain or 0.0))


def _rank(step: NextStep | Skipped) -> tuple[bool, float]:
    """Return the rank of a step: those with a price first, by what they add to the NPV."""
    if isinstance(step, Skipped):
        return False, -inf
    return step.price_missing is None, -inf if step.npv_gain is None else step.npv_gain


def _designs_of(
    several: Several,
    scenario: Scenario,
    axes: Axes,
    progress: Callable[[int, int], None] | None,
) -> tuple[tuple[Design, ...], tuple[Skipped, ...]]:
    """Return every possible design, from a few computed years, and the others by reason."""
    designs: list[Design] = []
    skipped: dict[str, Skipped] = {}
    done, count, sizes = 0, count_of(axes), inverter_sizes(scenario)
    items: Iterator[Item] = ((with_inverter(scenario, changes, sizes), "quick") for changes in changes_of(axes))
    for batch in _batches(items):

        def told(so_far: int, _: int, before: int = done) -> None:
            if progress is not None:
                progress(before + so_far, count)

        for found in several.map(batch, progress=told):
            if isinstance(found, Design):
                designs.append(found)
                continue
            before = skipped.get(found.reason, Skipped(found.reason, 0, found.changes))
            skipped[found.reason] = replace(before, designs=before.designs + 1)
        done += len(batch)
    if axes and not designs:
        reasons = [f"{each.designs:,} of {count:,}: {each.reason}" for each in skipped.values()]
        raise ScenarioError(*(scenario.problem(f"size: no design is possible: {reason}") for reason in reasons))
    return tuple(designs), tuple(sorted(skipped.values(), key=lambda each: -each.designs))


def _batches(items: Iterator[T]) -> Iterator[list[T]]:
    """Yield items in lists, so that no more than one list of them is there at a time."""
    while batch := list(islice(items, _BATCH)):
        yield batch


def _refined(several: Several, designs: tuple[Design, ...]) -> tuple[tuple[Design, ...], Design | None]:
    """Compute the best designs again year by year; return all designs with them in place, and the best."""
    ranked = sorted((each for each in designs if each.npv is not None), key=npv_of, reverse=True)
    if not ranked:
        return designs, None
    least = npv_of(ranked[0]) - 2.0 * tie_of(ranked[0])  # either of two may be off
    first = [each for place, each in enumerate(ranked[:_MOST_EXACT]) if place < _EXACT or npv_of(each) >= least]
    again = several.map([(each.changes, "exact") for each in first], chunk=1)
    exact = {id(old): new for old, new in zip(first, again, strict=True) if isinstance(new, Design)}
    best = max((each for each in exact.values() if each.npv is not None), key=npv_of, default=None)
    return tuple(exact.get(id(each), each) for each in designs), best


def _module_w(home: Home) -> dict[str, float]:
    """Return the power of one module of each kind that an array names [W]."""
    powers = () if home.production.roof is None else home.production.roof.arrays
    return {
        array.module: 1000.0 * power.rated_kw / (array.modules_in_series * array.strings)
        for array, power in zip(home.scenario.arrays, powers, strict=bool(powers))
        if array.module is not None
    }


def _too_many(shop: Shop, count: int, workers: int) -> str:
    """Return why so many designs are refused, with the time that they would take."""
    quick_life(shop.homes.home, shop.baselines)
    began = process_time()
    quick_life(shop.homes.home, shop.baselines)
    hours = (process_time() - began) * count / workers / 3600.0
    return (
        f"size: {count:,} designs would take about {hours:,.1f} hours with {workers}"
        f" {'process' if workers == 1 else 'processes'};"
        f" at most {MOST_DESIGNS:,} are computed: give fewer or coarser axes"
    )
