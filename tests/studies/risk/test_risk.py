"""Many lifetimes: the same answer by any number of workers, quantiles, and what moves them."""

import math
from typing import Any

import numpy as np
import pytest

from solarsim.errors import ScenarioError
from solarsim.home import Home
from solarsim.scenario.read import packaged_folder
from solarsim.studies.life.life import life
from solarsim.studies.risk.risk import percentiles, risk
from tests.builders import scenario
from tests.studies.lives import STILL, other_life

ENERGY = {"energy": {"distribution": "uniform", "low": -0.05, "high": 0.15}}
UNSURE: dict[str, Any] = {
    "lifetimes": 12,
    "seed": 1,
    "weather_standard_deviation": 0.05,
    "price_growth": ENERGY,
    "load_growth_per_year": {"distribution": "uniform", "low": -0.001, "high": 0.001},
}


def test_same_seed_gives_the_same_answer_on_any_number_of_workers(demo_home: Home) -> None:
    unsure, home = other_life(demo_home, years=2, uncertainty=UNSURE)
    told: list[tuple[int, int]] = []
    alone = risk(unsure, home=home, lifetimes=20, progress=lambda done, of: told.append((done, of)))
    shared = risk(unsure, home=home, lifetimes=20, workers=2)
    fewer = risk(unsure, home=home)
    assert told == [(16, 27), (27, 27)]  # 20 lifetimes, the medians, three inputs both ways
    for one, other in (
        (alone.npv, shared.npv),
        (alone.payback, shared.payback),
        (alone.npv[:12], fewer.npv),
    ):
        np.testing.assert_array_equal(one, other)
    assert alone.moved == shared.moved
    assert not np.array_equal(risk(unsure, home=home, seed=2).npv, fewer.npv)


def test_inputs_stand_in_the_order_of_what_they_move(demo_home: Home) -> None:
    unsure, home = other_life(demo_home, uncertainty=UNSURE)
    found = risk(unsure, "zero export", home, lifetimes=1)
    assert [each.name for each in found.moved] == ["price_growth.energy", "weather", "load_growth_per_year"]
    assert found.moved[0].at_low < found.middle_value < found.moved[0].at_high
    assert found.strategy == "zero export"


def test_lifetime_without_doubt_is_the_life_itself(demo_home: Home) -> None:
    """Uncertainty so small that nothing moves: every lifetime is what ``life`` tells, less the rounding of bill lines.

    A line is rounded by half a cent at most: with and without the system some 6 lines a month come to 0.72 a year.
    """
    sure = {"lifetimes": 10, "seed": 1, "load_growth_per_year": {"distribution": "normal", "standard_deviation": 1e-12}}
    unsure, home = other_life(demo_home, uncertainty=sure)
    found = risk(unsure, home=home, lifetimes=2)
    (only,) = life(unsure, "serve the home first", home).lives
    assert found.npv == pytest.approx([only.npv] * 2, abs=0.72 * 25)
    assert found.average_savings == pytest.approx([only.average_savings] * 2, abs=0.72)
    assert found.middle_value == pytest.approx(only.npv, abs=0.72 * 25)
    assert found.payback.tolist() == [math.inf] * 2
    assert (found.share_paid_back, found.share_worth_it) == (0.0, 0.0)


def test_weather_of_each_year_is_one_of_the_files() -> None:
    folder = packaged_folder("weather_samples")
    files = [
        {"file": str(folder / "723170TYA.CSV"), "format": "tmy3"},
        {"file": str(folder / "12839.tm2"), "format": "tm2"},
    ]
    costs = {"parts": [{"name": "all", "quantity": 1.0, "unit_price": 500.0}]}
    unsure = scenario(
        costs=costs, life=STILL | {"years": 3, "uncertainty": {"lifetimes": 10, "seed": 1, "weather_files": files}}
    )
    found = risk(unsure)
    # Three years, each of one of two: four different sums, whatever the order.
    assert 2 <= len(set(found.average_savings.round(1))) <= 4
    (weather,) = found.moved
    assert weather.low_value < weather.high_value


@pytest.mark.by_hand
def test_percentiles_are_values_that_occur_and_never_stays_never() -> None:
    values = np.array([3.0, 1.0, 2.0, math.inf, 5.0, 4.0, 6.0, 7.0, math.inf, 8.0])
    assert percentiles(values) == (1.0, 5.0, None)


def test_scenario_that_calls_everything_sure_is_refused(demo_home: Home) -> None:
    costs = {"parts": [{"name": "all", "quantity": 1.0, "unit_price": 500.0}]}
    with pytest.raises(ScenarioError, match=r"how sure its rates are: add a table \[life.uncertainty\]"):
        risk(scenario(costs=costs, life=STILL))
    with pytest.raises(ScenarioError, match=r"life.uncertainty: names nothing that is uncertain"):
        risk(scenario(costs=costs, life=STILL | {"uncertainty": {"lifetimes": 10, "seed": 1}}))
    unsure, home = other_life(demo_home, uncertainty=UNSURE)
    with pytest.raises(ValueError, match="lifetimes 0 and workers 1 must be 1 or more"):
        risk(unsure, home=home, lifetimes=0)


def test_cells_that_fade_by_their_chemistry_do_so_in_every_lifetime(demo_home: Home) -> None:
    """The middle lifetime of a rate that may be as much above as below what is stated is the life itself."""
    spread = {"distribution": "uniform", "low": -0.01, "high": 0.01}
    unsure, home = other_life(
        demo_home,
        battery_fade_per_year=None,
        uncertainty={"lifetimes": 10, "seed": 1, "load_growth_per_year": spread},
    )
    name = "winter night charge"
    found = risk(unsure, name, home, lifetimes=2)
    (alone,) = life(unsure, name, home).lives
    assert found.cells_left == alone.cells_left is not None
    assert found.middle_value == pytest.approx(alone.npv, abs=0.05)
