"""Electrical design checks: a scenario in; each check with its value, limit, margin, result and source out.

Nothing here changes the energy. A value that is missing never passes as a pass.
"""

from dataclasses import dataclass

from solarsim.engine.records import Floats
from solarsim.hardware.limits import limits_from
from solarsim.home import Home, home_of
from solarsim.production.string_voltage import coldest_hour
from solarsim.results import Result, computed, fact
from solarsim.run import close_year
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import WIRING, require
from solarsim.scenario.wiring import Wiring as WiringTable
from solarsim.studies.wiring._ac import ac_checks
from solarsim.studies.wiring._battery import battery_checks
from solarsim.studies.wiring._check import Check
from solarsim.studies.wiring._inspection import InspectionItem, inspection_items
from solarsim.studies.wiring._islands import island_checks
from solarsim.studies.wiring._pv import pv_checks

#: What the command needs beyond what every scenario has.
NEEDS = (WIRING,)


@dataclass(frozen=True, eq=False, repr=False)
class Wiring(Result):
    """The design checks of a home. Local code and licensed people decide, not this."""

    _rows = "checks"

    described: Scenario
    scenario: str = fact("name of the scenario", "text")
    standard: str = fact("nec or iec", "text")
    edition: int = fact("year of its edition", "year")
    lowest_air_c: float = fact("lowest air temperature of the weather file, nights included", "C")
    checks: tuple[Check, ...] = fact("every check", "table")
    inspection: tuple[InspectionItem, ...] = fact("what an inspector asks for", "table")
    notes: tuple[str, ...] = fact("what a reader should know", "list")

    @computed("how many checks fail", "1")
    def failures(self) -> int:
        return sum(each.result == "fails" for each in self.checks)

    @computed("how many checks could not be made", "1")
    def open_checks(self) -> int:
        return sum(each.result == "not checked" for each in self.checks)


def failure_notes(scenario: Scenario, home: Home) -> tuple[str, ...]:
    """Return a note where design checks of a home fail.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    home : Home
        From ``home_from`` of this scenario.

    Returns
    -------
    tuple of str
        One note; none where all pass, or where the scenario has no table ``wiring``.
    """
    if scenario.wiring is None:
        return ()
    failing = [f"{each.part}, {each.name}" for each in wiring(scenario, home).checks if each.result == "fails"]
    if not failing:
        return ()
    checks = "a design check fails" if len(failing) == 1 else f"{len(failing)} design checks fail"
    return (f"wiring: {checks}: {'; '.join(failing)} (solarsim wiring)",)


def failing_string(scenario: Scenario, temp_air_c: Floats) -> str | None:
    """Return the first check of strings and inputs that fails.

    Parameters
    ----------
    scenario : Scenario
        A design.
    temp_air_c : array of float
        Air temperature of its weather, one entry for each step [C].

    Returns
    -------
    str or None
        Part and name of the check; None where none fails, or where the scenario has no table ``wiring``.
    """
    if scenario.wiring is None:
        return None
    failing = (
        each
        for each in pv_checks(scenario, scenario.wiring, coldest_hour(scenario.site, temp_air_c))
        if each.result == "fails"
    )
    return next((f"wiring: {each.part}, {each.name}" for each in failing), None)


def wiring(scenario: Scenario, home: Home | None = None) -> Wiring:
    """Check the electrical design of a home.

    Parameters
    ----------
    scenario : Scenario
        With a table ``wiring``.
    home : Home, optional
        From ``home_from`` of this scenario.

    Returns
    -------
    Wiring
        Checks, and a list for the inspection.

    Raises
    ------
    InputError
        The scenario has no table ``wiring``; or see ``home_from``.
    ValueError
        See ``home_of``.

    Notes
    -----
    Not modeled: aluminum conductors, more than one inverter, three-phase unbalance, selectivity of protection.
    """
    require(scenario, *NEEDS)
    table: WiringTable | None = scenario.wiring
    assert table is not None  # noqa: S101  # for the type checker: require refuses
    home = home_of(scenario, home)
    lowest_air_c = float(home.weather.temp_air_c.min())
    # Charging from the grid adds to what passes through: the highest import is a strategy's, seldom the home's alone.
    imports = [close_year(home, strategy.name).peak_import_kw for strategy in scenario.strategies]
    standby_kw = home.limits.standby_kw + home.bank.cells.heater_kw
    arrangement = scenario.arrangement
    backed_kw = home.critical_kw if arrangement is not None and arrangement.critical_only else home.load_kw
    charge_kw = limits_from(scenario.inverter, scenario.battery_in_use, home.timeline.step_h).charge_kw
    return Wiring(
        described=scenario,
        scenario=scenario.name,
        standard=table.standard,
        edition=table.edition,
        lowest_air_c=lowest_air_c,
        checks=(
            *pv_checks(scenario, table, coldest_hour(scenario.site, home.weather.temp_air_c)),
            *battery_checks(scenario, table),
            *ac_checks(scenario, table, max(imports)),
            *island_checks(scenario, table, float((backed_kw + standby_kw).max()), charge_kw),
        ),
        inspection=tuple(inspection_items(scenario, table)),
        notes=(*home.timeline.notes, *home.weather.notes),
    )
