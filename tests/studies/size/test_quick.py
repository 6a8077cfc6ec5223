"""Interpolated lives have the NPV of exact ones within 0.5%, or 0.1% of the upfront cost, and the same winner."""

from typing import Any

import pytest

from solarsim.home import Home, home_from
from solarsim.scenario.read import read_scenario
from solarsim.studies.life.life import life
from solarsim.studies.size._quick import quick_life
from solarsim.studies.size.homes import Homes

BY_CHEMISTRY = {"life.battery_fade_per_year": None, "life.uncertainty.battery_fade_per_year": None}
_LOAD = "load.monthly_kwh=[990,900,900,900,900,900,900,900,900,900,900,900]"
DATED = {"life.changes": [{"name": "car", "year": 6, "set": [_LOAD]}]}
DESIGNS: list[dict[str, Any]] = [
    {"battery.bank.0.strings": 3},
    {"arrays.0.strings": 2, **BY_CHEMISTRY},
    {"battery": None, "life.years": 20},
    {"battery.bank.0.strings": 2, **DATED},
]


def check(home: Home, changes: dict[str, Any]) -> None:
    scenario = home.scenario.changed(changes)
    changed = Homes(home).of(scenario)
    quick, exact = quick_life(changed), life(scenario, None, changed)
    assert quick.best is not None
    assert exact.best is not None
    for one, other in zip(quick.strategies, exact.strategies, strict=True):
        allowed = max(0.005 * abs(other.npv or 0.0), 0.001 * exact.upfront_cost)
        assert one.npv == pytest.approx(other.npv, abs=allowed)
        assert one.energy_cost == pytest.approx(other.energy_cost, rel=2e-3, abs=20.0)
    assert quick.best.name == exact.best.name


def test_interpolated_life_is_within_its_limits(demo_home: Home) -> None:
    check(demo_home, DESIGNS[0])


@pytest.mark.slow
@pytest.mark.parametrize("changes", DESIGNS[1:])
def test_interpolated_life_of_other_designs_too(demo_home: Home, changes: dict[str, Any]) -> None:
    check(demo_home, changes)


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
