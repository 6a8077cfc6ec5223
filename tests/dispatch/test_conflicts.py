"""Orders that work against each other are found, with what they cost."""

from typing import Any

import numpy as np

from solarsim.dispatch.conflicts import conflicts
from solarsim.dispatch.strategy import dispatch_from
from solarsim.run import simulate
from solarsim.scenario.strategy import Strategy
from tests.builders import scenario, timeline

WHERE = timeline("America/Phoenix")
FIRST = {"name": "s", "surplus_to": "battery", "battery_serves_load": True, "reserve": 0.2}
NIGHT = {"from": "00:00", "to": "06:00"}


def found(*windows: dict[str, object], cycles: float = 200.0, capacity_kwh: float = 10.0, **base: Any) -> list[str]:
    dispatch = dispatch_from(Strategy.model_validate({**FIRST, **base, "windows": windows}), None, WHERE)
    return [each.what for each in conflicts(dispatch, 1.0, capacity_kwh, cycles)]


def test_a_ceiling_below_the_level_of_grid_charging_is_found() -> None:
    low = found({**NIGHT, "charge_from_grid_to": 0.8, "solar_ceiling": 0.6})
    assert low == ["solar_ceiling is below charge_from_grid_to in 2,190 hours, so the grid charges what solar may not"]


def test_levels_in_order_or_in_different_hours_are_no_conflict() -> None:
    assert found() == []
    assert found({**NIGHT, "charge_from_grid_to": 0.8}) == []
    assert found({**NIGHT, "charge_from_grid_to": 0.8}, {"from": "08:00", "to": "12:00", "solar_ceiling": 0.6}) == []
    assert found(charge_from_grid_to=0.6, solar_ceiling=0.6) == []


def test_hours_without_the_grid_are_no_conflict() -> None:
    """The grid charges only while it is there: out by night, the low ceiling of the night is in nothing's way."""
    window = {**NIGHT, "charge_from_grid_to": 0.8, "solar_ceiling": 0.6}
    dispatch = dispatch_from(Strategy.model_validate({**FIRST, "windows": (window,)}), None, WHERE)
    assert conflicts(dispatch._replace(grid=WHERE.minute_of_day >= 360), 1.0, 10.0, 200.0) == []
    assert len(conflicts(dispatch._replace(grid=WHERE.minute_of_day >= 300), 1.0, 10.0, 200.0)) == 1


def test_surplus_to_the_grid_first_is_found_where_the_battery_makes_no_cycle() -> None:
    assert found(surplus_to="grid", cycles=0.4) == [
        "surplus solar goes to the grid first, and the battery makes 0.4 full cycles a year"
    ]
    assert found(surplus_to="grid", cycles=1.0) == []
    assert found(cycles=0.0) == []
    assert found({**NIGHT, "surplus_to": "grid"}, cycles=0.0) != []


def test_a_battery_that_is_kept_for_outages_alone_is_no_conflict() -> None:
    kept: dict[str, Any] = {"surplus_to": "grid", "battery_serves_load": False, "cycles": 0.0}
    assert found(**kept) == []
    assert found(**kept, sell_down_to=0.5) != []
    assert found(**kept, import_cap_kw=3.0) != []


def test_without_a_battery_nothing_conflicts() -> None:
    assert found(surplus_to="grid", charge_from_grid_to=0.8, solar_ceiling=0.6, cycles=0.0, capacity_kwh=0.0) == []


def test_what_is_proposed_ends_the_conflict() -> None:
    window = {**NIGHT, "charge_from_grid_to": 0.8, "solar_ceiling": 0.6, "surplus_to": "grid"}
    dispatch = dispatch_from(Strategy.model_validate({**FIRST, "windows": (window,)}), None, WHERE)
    ceiling, surplus = conflicts(dispatch, 1.0, 10.0, 0.0)
    assert set(ceiling.without.ceiling[WHERE.minute_of_day < 360]) == {0.8}
    assert set(ceiling.without.ceiling[WHERE.minute_of_day >= 360]) == {1.0}  # a higher one stays
    assert surplus.without.surplus_to_battery.all()
    for each in (ceiling, surplus):
        for name, one, other in zip(dispatch._fields, dispatch, each.without, strict=True):
            assert name in {"ceiling", "surplus_to_battery"} or np.array_equal(one, other)


def test_a_run_notes_a_conflict_with_its_cost() -> None:
    """The cost is that of a second year: the same strategy with the one change, written by hand."""
    grid_first = {**FIRST, "name": "grid first", "surplus_to": "grid"}
    home = scenario(strategies=[grid_first, {**FIRST, "name": "battery first"}])
    run, other = simulate(home, "grid first"), simulate(home, "battery first")
    assert run.ledger.equivalent_full_cycles < 1.0
    more_kwh = other.ledger.sums["pv_to_battery_kwh"] - run.ledger.sums["pv_to_battery_kwh"]
    less = run.ledger.energy_cost - other.ledger.energy_cost
    assert more_kwh > 500.0
    assert less > 100.0
    assert run.notes == [
        "'grid first': surplus solar goes to the grid first, and the battery makes"
        f' {run.ledger.equivalent_full_cycles:.1f} full cycles a year; with surplus_to = "battery" {more_kwh:,.0f} kWh'
        f" more solar energy a year would enter the battery, and energy would cost {less:,.2f} USD less"
    ]
    assert other.notes == []


def test_a_low_ceiling_costs_what_the_grid_charges_in_its_place() -> None:
    """By night the grid fills up to 0.9 what by day the sun may fill to 0.5 only; by hand, with the ceiling at 0.9."""
    night = {"from": "00:00", "to": "05:00", "charge_from_grid_to": 0.9}
    low = {**FIRST, "name": "low", "solar_ceiling": 0.5, "windows": [night]}
    home = scenario(strategies=[low, {**low, "name": "high", "solar_ceiling": 0.9}], rate_plan__export={"pay": "none"})
    run, other = simulate(home, "low"), simulate(home, "high")
    more_kwh = other.ledger.sums["pv_to_battery_kwh"] - run.ledger.sums["pv_to_battery_kwh"]
    less = run.ledger.energy_cost - other.ledger.energy_cost
    assert more_kwh > 50.0
    assert less > 10.0
    assert run.notes == [
        "'low': solar_ceiling is below charge_from_grid_to in 1,825 hours, so the grid charges what solar may not;"
        f" with the ceiling at that level in every hour {more_kwh:,.0f} kWh more solar energy a year would enter the"
        f" battery, and energy would cost {less:,.2f} USD less"
    ]
    assert other.notes == []


def test_a_conflict_without_consequence_says_so() -> None:
    always = {**FIRST, "charge_from_grid_to": 0.8, "solar_ceiling": 0.6}  # the order itself uses the sun first
    assert [note.rpartition(" in every hour ")[2] for note in simulate(scenario(strategies=[always]), "s").notes] == [
        "nothing would change"
    ]
