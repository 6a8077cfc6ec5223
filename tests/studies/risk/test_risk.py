"""Many lifetimes: the same answer by any number of workers, quantiles, and what moves them."""

import math
from statistics import NormalDist
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solarsim.errors import ScenarioError
from solarsim.home import Home
from solarsim.scenario.read import packaged_folder
from solarsim.studies.life.life import life
from solarsim.studies.risk.risk import percentiles, risk
from tests.builders import scenario
from tests.studies.lives import STILL, off_grid_life, other_life

ENERGY = {"energy": {"distribution": "uniform", "low": -0.05, "high": 0.15}}
UNCERTAIN: dict[str, Any] = {
    "lifetimes": 12,
    "seed": 1,
    "weather_standard_deviation": 0.05,
    "price_growth": ENERGY,
    "load_growth_per_year": {"distribution": "uniform", "low": -0.001, "high": 0.001},
}


def test_same_seed_gives_the_same_answer_on_any_number_of_workers(demo_home: Home) -> None:
    uncertain, home = other_life(demo_home, years=2, uncertainty=UNCERTAIN)
    told: list[tuple[int, int]] = []
    alone = risk(uncertain, home=home, lifetimes=20, progress=lambda done, of: told.append((done, of)))
    shared = risk(uncertain, home=home, lifetimes=20, workers=2)
    fewer = risk(uncertain, home=home)
    assert told == [(16, 27), (27, 27)]  # 20 lifetimes, the medians, three inputs both ways
    for one, other in (
        (alone.npv_of_each, shared.npv_of_each),
        (alone.payback_of_each, shared.payback_of_each),
        (alone.npv_of_each[:12], fewer.npv_of_each),
    ):
        np.testing.assert_array_equal(one, other)
    assert [each.record() for each in alone.inputs] == [each.record() for each in shared.inputs]
    assert not np.array_equal(risk(uncertain, home=home, seed=2).npv_of_each, fewer.npv_of_each)


def test_inputs_stand_in_the_order_of_what_they_move(demo_home: Home) -> None:
    uncertain, home = other_life(demo_home, uncertainty=UNCERTAIN)
    found = risk(uncertain, "zero export", home, lifetimes=1)
    assert [each.name for each in found.inputs] == ["price_growth.energy", "weather", "load_growth_per_year"]
    first = found.inputs[0].record()
    assert first["npv_at_low"] < found.npv_at_medians < first["npv_at_high"]
    assert first["swing"] == first["npv_at_high"] - first["npv_at_low"]
    assert found.strategy == "zero export"


def test_lifetime_without_spread_is_the_life_itself(demo_home: Home) -> None:
    """Uncertainty so small that nothing moves: every lifetime is what ``life`` computes, to the cent."""
    sure = {"lifetimes": 10, "seed": 1, "load_growth_per_year": {"distribution": "normal", "standard_deviation": 1e-12}}
    uncertain, home = other_life(demo_home, uncertainty=sure)
    found = risk(uncertain, home=home, lifetimes=2)
    (only,) = life(uncertain, "serve the home first", home).strategies
    assert found.npv_of_each == pytest.approx([only.npv] * 2, abs=0.05)
    assert found.average_savings.p90 == pytest.approx(only.average_savings, abs=0.02)
    assert found.npv_at_medians == pytest.approx(only.npv, abs=0.05)
    assert found.payback_of_each.tolist() == [math.inf] * 2
    assert (found.share_paid_back, found.share_npv_not_negative) == (0.0, 0.0)
    assert (found.unserved_kwh, found.lifetimes_not_comparable) == (0.0, 0)


def test_weather_of_each_year_is_one_of_the_files() -> None:
    folder = packaged_folder("weather_samples")
    files = [
        {"file": str(folder / "723170TYA.CSV"), "format": "tmy3"},
        {"file": str(folder / "12839.tm2"), "format": "tm2"},
    ]
    costs = {"parts": [{"name": "all", "quantity": 1.0, "unit_price": 500.0}]}
    uncertain = scenario(
        costs=costs, life=STILL | {"years": 3, "uncertainty": {"lifetimes": 10, "seed": 1, "weather_files": files}}
    )
    found = risk(uncertain)
    # Three years, each of one of two: four different sums, whatever the order.
    assert 2 <= len(set(found.savings_of_each.round(1))) <= 4
    (weather,) = found.inputs
    assert weather.low_value < weather.high_value


@pytest.mark.by_hand
def test_percentiles_are_values_that_occur_and_p90_is_the_cautious_end() -> None:
    """Of ten values one in ten is below P90 of savings and above P90 of paybacks."""
    values = np.array([3.0, 1.0, 2.0, math.inf, 5.0, 4.0, 6.0, 7.0, math.inf, 8.0])
    paybacks = percentiles(values, larger_is_better=False)
    assert (paybacks.p90, paybacks.p50, paybacks.p10) == (None, 5.0, 1.0)
    savings = percentiles(np.where(np.isinf(values), -math.inf, values))
    assert (savings.p90, savings.p50, savings.p10) == (None, 3.0, 7.0)


@pytest.mark.published
def test_p90_of_a_normal_variable() -> None:
    """Standard normal quantiles (any handbook table): 10% lie below -1.2816; of a payback, P90 is at the other end."""
    drawn = np.array([NormalDist(1000.0, 100.0).inv_cdf((place + 0.5) / 20_000) for place in range(20_000)])
    savings, paybacks = percentiles(drawn), percentiles(drawn, larger_is_better=False)
    assert (savings.p90, savings.p50, savings.p10) == pytest.approx((871.84, 1000.0, 1128.16), abs=0.05)
    assert (paybacks.p90, paybacks.p50, paybacks.p10) == pytest.approx((1128.16, 1000.0, 871.84), abs=0.05)


@given(st.lists(st.floats(-1e4, 1e4), min_size=1, max_size=200))
def test_p90_is_reached_or_exceeded_in_nine_lifetimes_of_ten(values: list[float]) -> None:
    outcomes = np.array(values)
    found, reverse = percentiles(outcomes), percentiles(outcomes, larger_is_better=False)
    for each, share in ((found.p90, 0.9), (found.p50, 0.5), (found.p10, 0.1)):
        assert (outcomes >= each).mean() >= share - 1e-9
    for each, share in ((reverse.p90, 0.9), (reverse.p50, 0.5), (reverse.p10, 0.1)):
        assert (outcomes <= each).mean() >= share - 1e-9


def test_home_in_the_dark_saves_nothing_in_any_lifetime() -> None:
    dark, strategy, _ = off_grid_life(uncertainty={"lifetimes": 10, "seed": 1, "weather_standard_deviation": 0.05})
    found = risk(dark, strategy)
    assert found.lifetimes_not_comparable == 10
    assert (found.npv.p90, found.npv.p10, found.average_savings.p50, found.npv_at_medians) == (None,) * 4
    assert (found.share_paid_back, found.share_npv_not_negative) == (0.0, 0.0)
    assert found.unserved_kwh > 100.0
    assert found.unserved_h > 100.0
    assert [each.swing for each in found.inputs] == [None]


def test_scenario_without_an_uncertain_input_is_refused(demo_home: Home) -> None:
    costs = {"parts": [{"name": "all", "quantity": 1.0, "unit_price": 500.0}]}
    with pytest.raises(ScenarioError, match=r"has no table \[life.uncertainty\]; add one with lifetimes, seed"):
        risk(scenario(costs=costs, life=STILL))
    with pytest.raises(ScenarioError, match=r"life.uncertainty: names no uncertain input"):
        risk(scenario(costs=costs, life=STILL | {"uncertainty": {"lifetimes": 10, "seed": 1}}))
    uncertain, home = other_life(demo_home, uncertainty=UNCERTAIN)
    with pytest.raises(ValueError, match="lifetimes 0 and workers 1 must be 1 or more"):
        risk(uncertain, home=home, lifetimes=0)


def test_cells_that_fade_by_their_chemistry_do_so_in_every_lifetime(demo_home: Home) -> None:
    """The middle lifetime of a rate that may be as much above as below what is stated is the life itself."""
    spread = {"distribution": "uniform", "low": -0.01, "high": 0.01}
    uncertain, home = other_life(
        demo_home,
        battery_fade_per_year=None,
        uncertainty={"lifetimes": 10, "seed": 1, "load_growth_per_year": spread},
    )
    name = "winter night charge"
    found = risk(uncertain, name, home, lifetimes=2)
    (alone,) = life(uncertain, name, home).strategies
    assert found.cells_left == alone.cells_left is not None
    assert found.npv_at_medians == pytest.approx(alone.npv, abs=0.05)


def test_battery_s_worth_is_the_difference_of_two_lives_in_each_lifetime(demo_home: Home) -> None:
    sure = {"lifetimes": 10, "seed": 1, "load_growth_per_year": {"distribution": "normal", "standard_deviation": 1e-12}}
    uncertain, home = other_life(demo_home, uncertainty=sure)
    found, lived = risk(uncertain, home=home, lifetimes=2), life(uncertain, home=home)
    first, alone = lived.strategies[0], lived.solar_only
    assert alone is not None
    assert found.solar_only_npv is not None
    assert found.battery_npv is not None
    assert found.solar_only_npv.p50 == pytest.approx(alone.npv, abs=0.02)
    assert found.battery_npv.p90 == pytest.approx(first.battery_npv, abs=0.02)
    assert found.share_battery_pays == 0.0  # four years do not pay for it


def test_lifetimes_follow_dated_changes_under_every_weather_file(demo_home: Home) -> None:
    """A file that is the typical year itself: the dated change holds with it as it does in ``life``."""
    typical = demo_home.scenario.weather.model_dump(exclude_none=True)
    change = {"name": "second string", "year": 2, "set": ["battery.bank.1.strings=2"]}
    spread = {"lifetimes": 10, "seed": 1, "weather_files": [typical, typical]}
    scenario = demo_home.scenario.changed({"life": STILL | {"years": 2, "changes": [change], "uncertainty": spread}})
    found = risk(scenario, "zero export", lifetimes=2)
    (lived,) = life(scenario, "zero export").strategies
    assert found.npv_of_each == pytest.approx([lived.npv] * 2, abs=0.02)


@pytest.mark.slow
def test_solar_energy_of_the_first_year_follows_its_weather_and_its_middle_is_the_life_s(demo_home: Home) -> None:
    """Years of weather are drawn around the typical one: the cautious end has less sun, and the middle is near it."""
    weather = {"lifetimes": 40, "seed": 1, "weather_standard_deviation": 0.05}
    uncertain, home = other_life(demo_home, years=2, uncertainty=weather)
    found = risk(uncertain, "zero export", home).first_year_solar_kwh
    typical = life(uncertain, "zero export", home).strategies[0].years[1].solar_kwh
    assert typical is not None
    assert None not in (found.p90, found.p50, found.p10)
    assert (found.p90 or 0.0) < (found.p50 or 0.0) < (found.p10 or 0.0)
    assert found.p50 == pytest.approx(typical, rel=0.02)  # the median of 40 draws of 5%: 0.05 x 1.25 / sqrt(40) = 1%
