"""The homes of a life: a scenario with dated changes in; each stage's home, purchase and cost out."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from solarsim.errors import ScenarioError
from solarsim.home import Home, home_from
from solarsim.ledger.payments import Later, replacements_of
from solarsim.ledger.purchase import Purchase, added_cost, money_problems, purchase_from
from solarsim.run import home_without_battery
from solarsim.scenario.costs import Costs
from solarsim.scenario.life import Change, Lifetime
from solarsim.scenario.model import Scenario
from solarsim.scenario.site import WeatherFile
from solarsim.studies.life.ages import LaterHomes
from solarsim.studies.life.years import lean


@dataclass(frozen=True, eq=False)
class Stage:
    """Years in which the home stays the same.

    Attributes
    ----------
    from_year : int
        The first of them, from 1.
    homes : tuple of Home
        With the typical weather, then with each weather file.
    purchase : Purchase
        What such a home needs.
    change : Change or None
        What is new with it; None in the first.
    """

    from_year: int
    homes: tuple[Home, ...]
    purchase: Purchase
    change: Change | None


def changes_within(life: Lifetime, leave_out: str | None = None) -> list[Change]:
    """Return the dated changes that happen, by year.

    Parameters
    ----------
    life : Lifetime
        The scenario's.
    leave_out : str, optional
        Name of a change to leave out.

    Returns
    -------
    list of Change
        Those beyond the last year change nothing and are not in it.
    """
    return sorted((each for each in life.changes if each.year <= life.years and each.name != leave_out), key=_year_of)


def stages_from(
    homes: Sequence[Home],
    life: Lifetime,
    files: Sequence[WeatherFile] = (),
    leave_out: str | None = None,
    home_for: Callable[[Scenario], Home] = home_from,
) -> tuple[Stage, ...]:
    """Return the stages of a life, from the home as written.

    Parameters
    ----------
    homes : sequence of Home
        As written, with the typical weather, then with each weather file.
    life : Lifetime
        The scenario's.
    files : sequence of WeatherFile
        The weather files.
    leave_out : str, optional
        Name of a change to leave out.
    home_for : callable
        Makes the home of a changed scenario; some know what it shares with the home as written.

    Returns
    -------
    tuple of Stage
        One more than there are changes.

    Raises
    ------
    ScenarioError
        A change names a key that is not there, or makes a home that cannot be; or see ``purchase_from``.
    InputError
        See ``home_from``.
    """
    scenario = homes[0].scenario
    stages = [Stage(1, tuple(homes), purchase_from(scenario), None)]
    for change in changes_within(life, leave_out):
        scenario = _with_costs(homes[0].scenario, _changed(scenario, change))
        later = (scenario, *(scenario.changed({"weather": file}) for file in files))
        stages.append(Stage(change.year, tuple(map(home_for, later)), purchase_from(scenario), change))
    return tuple(stages)


def later_homes(stages: Sequence[Stage], strategy: str) -> list[LaterHomes]:
    """Return the homes of later years, for ``homes_by_year``.

    Parameters
    ----------
    stages : sequence of Stage
        From the home as written.
    strategy : str
        The name of one of its strategies.

    Returns
    -------
    list of LaterHomes
        One for each stage after the first, lean.
    """
    return [LaterHomes(each.from_year, [lean(home, strategy) for home in each.homes]) for each in stages[1:]]


def later_purchases(stages: Sequence[Stage], with_battery: bool = True) -> tuple[Later, ...]:
    """Return what is bought later, for ``payments_from``.

    Parameters
    ----------
    stages : sequence of Stage
        From the home as written.
    with_battery : bool
        False for a home without a battery: changes of the battery alone cost nothing then.

    Returns
    -------
    tuple of Later
        One for each stage after the first. A cost that is not written follows from the parts list: see ``added_cost``.
    """
    found = []
    for before, stage in pairwise(stages):
        cost, storage = None if stage.change is None else stage.change.cost, 0.0
        if cost is not None and not with_battery and _of_battery(stage.change):
            cost = 0.0
        if cost is None:
            cost = added_cost(before.purchase.lines, stage.purchase.lines)
            storage = added_cost(before.purchase.battery_parts, stage.purchase.battery_parts)
        found.append(Later(stage.from_year, stage.purchase, cost, storage))
    return tuple(found)


def replacements_in(stages: Sequence[Stage], years: int) -> dict[str, tuple[int, ...]]:
    """Return the years at whose end each part is replaced.

    Parameters
    ----------
    stages : sequence of Stage
        From the home as written.
    years : int
        The horizon.

    Returns
    -------
    dict of str to tuple of int
        See ``payments.replacements_of``.
    """
    return replacements_of(stages[0].purchase, later_purchases(stages), years)


def without_battery(stages: Sequence[Stage]) -> tuple[Stage, ...]:
    """Return the stages of the same home without a battery.

    Parameters
    ----------
    stages : sequence of Stage
        From the home as written.

    Returns
    -------
    tuple of Stage
        Their one strategy is ``run.SOLAR_ONLY``.
    """
    return tuple(
        replace(each, homes=tuple(map(home_without_battery, each.homes)), purchase=each.purchase.without_battery)
        for each in stages
    )


def why_no_solar_only(stages: Sequence[Stage], costs: Costs) -> str | None:
    """Return why a home without its battery has no cost or cannot be; empty where there is no battery.

    Parameters
    ----------
    stages : sequence of Stage
        From the home as written.
    costs : Costs
        Its table.

    Returns
    -------
    str or None
        A sentence; None where nothing is in the way.
    """
    if all(home.limits.capacity_kwh == 0.0 for stage in stages for home in stage.homes):
        return ""
    if not all(home.stays_connected for stage in stages for home in stage.homes):
        return "The home is off the grid, so there is no home without a battery to compare with."
    if any(stage.purchase.battery_cost is None for stage in stages):
        return (
            "No part is marked as the battery's (of, or per = cell and the like): solar without it has no known cost."
        )
    if costs.contract is not None:
        return "The contract is for the whole system: solar without a battery has no known price."
    if list(money_problems(costs, stages[0].purchase.without_battery.upfront_cost)):
        return "Loan or incentives are more than solar without a battery costs, so it has no NPV."
    return None


def _of_battery(change: Change | None) -> bool:
    """Return whether a change concerns the battery alone."""
    return change is not None and all(key.split(".")[0].strip() == "battery" for key in change.changes)


def _year_of(change: Change) -> int:
    """Return its year."""
    return change.year


def _with_costs(written: Scenario, scenario: Scenario) -> Scenario:
    """Return a changed scenario with the written costs of all its arrays: one that was gone may be back."""
    names = [None, *(array.name for array in scenario.arrays)]
    lines = {
        f"costs.{key}": [line for line in written.tables.get("costs", {}).get(key, []) if line.get("array") in names]
        for key in ("parts", "labor")
    }
    now = scenario.tables.get("costs", {})
    lost = {key: rows for key, rows in lines.items() if rows != now.get(key.partition(".")[2], [])}
    return scenario.changed(lost) if lost else scenario


def _changed(scenario: Scenario, change: Change) -> Scenario:
    """Return the scenario after a change; a problem names it."""
    try:
        found = scenario.changed(change.changes)
        names = {each.name for each in found.strategies}
        gone = [each.name for each in scenario.strategies if each.name not in names]
        if gone:
            raise ScenarioError(f"strategies: {gone[0]!r} is not there any more; a life runs each to its end")
        return found
    except ScenarioError as error:
        file = scenario.problem("")
        told = (f"life.changes: {change.name!r}: {each.removeprefix(file)}" for each in error.problems)
        raise ScenarioError(*map(scenario.problem, told)) from None
