"""Interpolated lives have the NPV of exact ones within 0.5%, or 0.1% of the upfront cost, and the same winner."""

from typing import Any

import numpy as np
import pytest

from solarsim.home import Home, home_from
from solarsim.scenario.read import read_scenario
from solarsim.studies.life.life import life
from solarsim.studies.size._between import years_between
from solarsim.studies.size._exact import exact_life
from solarsim.studies.size._quick import quick_life
from solarsim.studies.size.design import tie
from solarsim.studies.size.homes import Homes

BY_CHEMISTRY = {"life.battery_fade_per_year": None, "life.uncertainty.battery_fade_per_year": None}
_LOAD = "load.monthly_kwh=[990,900,900,900,900,900,900,900,900,900,900,900]"
DATED = {"life.changes": [{"name": "car", "year": 6, "set": [_LOAD]}]}
DESIGNS: list[dict[str, Any]] = [
    {"arrays.0.strings": 2, **BY_CHEMISTRY},
    {"battery": None, "life.years": 20},
    {"battery.bank.0.strings": 2, **DATED},
    {"life.price_growth": {"energy": 0.0, "customer_charge": 0.0}, "life.load_growth_per_year": 0.0},
    {"life.years": 2},
    {"life.years": 1},
]
EXAMPLES = ("greensboro", "miami", "net_shed", "older_roof", "ridge_farm", "sand_point", "storm_coast")


def check(homes: Homes, changes: dict[str, Any]) -> None:
    scenario = homes.home.scenario.changed(changes)
    changed = homes.of(scenario)
    quick, exact = quick_life(changed, None, homes.of), life(scenario, None, changed)
    assert quick.best is not None
    assert exact.best is not None
    limit = tie(exact.best.npv or 0.0, exact.upfront_cost)
    by_name = {each.name: each for each in exact.strategies}
    for one in quick.strategies:
        other = by_name[one.name]
        assert one.npv == pytest.approx(other.npv, abs=limit)
        assert one.energy_cost == pytest.approx(other.energy_cost, rel=2e-3, abs=20.0)
    assert (by_name[quick.best.name].npv or 0.0) >= (exact.best.npv or 0.0) - limit  # the same, or a tie
    found = exact_life(changed, None, homes.of).best
    assert found is not None
    assert (found.name, found.npv) == (exact.best.name, exact.best.npv)


def test_interpolated_life_is_within_its_limits(demo_home: Home) -> None:
    check(Homes(demo_home), {"battery.bank.0.strings": 3})


@pytest.mark.slow
@pytest.mark.parametrize("changes", DESIGNS)
def test_interpolated_life_of_other_designs_too(demo_home: Home, changes: dict[str, Any]) -> None:
    check(Homes(demo_home), changes)


@pytest.mark.slow
@pytest.mark.parametrize("name", EXAMPLES)
def test_interpolated_life_of_every_example(name: str) -> None:
    """Each as written, without a battery, with three times the battery and with twice the first array: 27 homes."""
    homes = Homes(home_from(read_scenario(name)))
    scenario = homes.home.scenario
    battery = scenario.battery
    assert battery is not None
    larger: dict[str, Any] = {"battery.capacity_kwh": 3.0 * battery.kwh}
    if battery.bank is not None:
        larger = {"battery.bank.0.strings": 3 * battery.bank[0].strings}
    for changes in ({}, {"battery": None}, larger, {"arrays.0.strings": 2 * scenario.arrays[0].strings}):
        check(homes, changes)


def test_years_between_are_exact_where_the_rule_holds() -> None:
    """What is made of lines in two stretches and of one parabola comes back exactly, from 5 of 20 years."""
    year = np.arange(20.0)
    meters = np.where(year < 12, 0.3 + 0.01 * year, 0.2 + 0.02 * year) + 0.004 * year**2
    computed, matrix = years_between((12,), 20, None)
    assert computed == (0, 6, 11, 12, 19)
    assert matrix @ meters[list(computed)] == pytest.approx(meters, abs=1e-12)


def test_years_between_have_a_bend_in_each_stretch_where_much_changes() -> None:
    """11 years at 4% are more than 0.4; then a parabola of each stretch comes back exactly, from 6 of 20 years."""
    year = np.arange(20.0)
    meters = np.where(year < 12, 0.3 + 0.004 * year**2, 2.0 - 0.03 * (year - 12) ** 2)
    computed, matrix = years_between((12,), 20, None, pace=0.04)
    assert computed == (0, 6, 11, 12, 16, 19)
    assert matrix @ meters[list(computed)] == pytest.approx(meters, abs=1e-12)


@pytest.mark.parametrize(
    "changes", [{"arrays.0.modules_in_series": 7}, {"battery": None}, {"inverter.standby_w": 20.0}]
)
def test_home_of_a_design_is_the_home_of_its_scenario(demo_home: Home, changes: dict[str, Any]) -> None:
    scenario = demo_home.scenario.changed(changes)
    shared, alone = Homes(demo_home).of(scenario), home_from(scenario)
    assert shared.production.dc_kw == pytest.approx(alone.production.dc_kw, abs=1e-12)
    assert shared.limits == alone.limits
    assert shared.dispatches.keys() == alone.dispatches.keys()
    exact = Homes(demo_home).of(scenario, exact=True)
    assert (exact.production.dc_kw == alone.production.dc_kw).all()


@pytest.mark.slow
def test_modules_with_a_curve_are_computed_again() -> None:
    farm = read_scenario("ridge_farm")
    homes = Homes(home_from(farm))
    scenario = farm.changed({"arrays.0.modules_in_series": farm.arrays[0].modules_in_series - 1})
    assert homes.of(scenario).production.dc_kw == pytest.approx(home_from(scenario).production.dc_kw, abs=1e-12)
