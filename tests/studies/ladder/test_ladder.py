"""The ladder: one reserve, one home, each rung better than the one below where it knows more."""

from itertools import pairwise

import numpy as np
import pytest

from solarsim.engine.records import Floats, Inputs, Ints
from solarsim.engine.year import run_year
from solarsim.errors import ScenarioError
from solarsim.home import home_from
from solarsim.run import ledger_of
from solarsim.scenario.strategy import Strategy
from solarsim.studies._other_years import with_strategy
from solarsim.studies.ladder._controllers import planned_year
from solarsim.studies.ladder._outlooks import known_hours, like_days
from solarsim.studies.ladder.ladder import Ladder, ladder
from solarsim.studies.optimum._program import least_cost
from solarsim.studies.optimum._schedule import scheduled_years
from solarsim.studies.optimum.optimum import _export_limit_kw, free_year
from tests.builders import scenario
from tests.studies.tune.homes import HOMES
from tests.studies.tune.tasks import evening_home

TUNED = Strategy(name="tuned", surplus_to="battery", battery_serves_load=True, reserve=0.1)


@pytest.fixture(scope="module")
def evening() -> Ladder:
    return ladder(evening_home(), tuned=TUNED, others=False)


@pytest.mark.slow
def test_rungs_stand_in_order_and_who_knows_more_pays_less(evening: Ladder) -> None:
    kinds = [rung.kind for rung in evening.rungs]
    assert kinds == [
        "solar_only", "plainest", "best_written", "tuned", "plans_from_past_days", "plans_with_forecast",
        "plans_with_known_hours", "optimum",
    ]  # fmt: skip
    costs = [rung.cost for rung in evening.rungs if rung.kind not in ("best_written", "tuned")]
    for more, less in pairwise(costs):
        assert more is not None
        assert less is not None
        assert more > less
    assert evening.rungs[0].battery_savings_share == 0.0
    assert evening.rungs[-1].battery_savings_share == 1.0
    assert evening.why_no_optimum == ""
    assert evening.reserve == 0.1


@pytest.mark.slow
def test_plain_and_tuned_are_the_same_strategy_here(evening: Ladder) -> None:
    same = [rung for rung in evening.rungs if rung.kind in ("plainest", "best_written", "tuned")]
    assert len({rung.cost for rung in same}) == 1
    assert [rung.strategy for rung in same] == ["plainest strategy", "home first", "tuned"]
    assert evening.rung("plans_with_telepathy") is None


@pytest.mark.slow
def test_other_years_have_a_spread(evening: Ladder) -> None:
    assert evening.others == ()
    assert all(rung.other_cost is None and rung.other_share is None for rung in evening.rungs)


@pytest.mark.parametrize(
    ("changes", "asked", "told"),
    [
        ({"battery": None}, {}, "battery: there is none to control"),
        ({}, {"reserve": -0.1}, "reserve -0.1: must be 0 to 1"),
        ({}, {"forecast_error": 30.0}, "forecast error 30: must be 0 to 2; 0.3 is 30%"),
        ({}, {"wear_price": -0.1}, "wear price -0.1: must be 0 or more"),
    ],
)
def test_what_has_no_ladder_is_refused(changes: dict[str, object], asked: dict[str, float], told: str) -> None:
    with pytest.raises(ScenarioError, match=told):
        ladder(scenario(**changes), **asked)  # type: ignore[arg-type]


def _mean_year(year: Inputs, month: Ints, a_day: int) -> Inputs:
    """Return what a controller expects that takes every day for the mean one of its month in this very year."""
    place = month * a_day + np.arange(month.size) % a_day
    count = np.bincount(place)

    def mean(kw: Floats) -> Floats:
        return np.asarray((np.bincount(place, kw) / np.maximum(count, 1))[place])

    return year._replace(pv_kw=mean(year.pv_kw), ac_solar_kw=mean(year.ac_solar_kw), load_kw=mean(year.load_kw))


@pytest.mark.slow
@pytest.mark.second_opinion
@pytest.mark.parametrize("name", ["greensboro", "6 kWh and expensive evenings", "24 kWh that sells at the peak"])
def test_controllers_against_the_dynamic_program_and_the_mean_year(name: str) -> None:
    """Knowing 48 h earns 99% of the year's dynamic program; past days earn no less than the mean of this very year."""
    home = home_from(HOMES[name]())
    reserve = home.scenario.strategies[0].reserve
    plain = Strategy(name="plain", surplus_to="battery", battery_serves_load=True, reserve=reserve)
    year, steps = free_year(with_strategy(home, plain), "plain"), len(home.timeline)
    least = least_cost(year, home.prices, _export_limit_kw(home))
    whole = min(ledger_of(home, each).exact_energy_cost for each in scheduled_years(year, home.prices, least, None))
    idle = year._replace(dispatch=year.dispatch._replace(reserve=np.ones(steps), ceiling=np.zeros(steps)))

    def cost(expected: Inputs, past: bool) -> float:
        outlook = like_days(steps, 24, home.timeline.day_kind) if past else known_hours(steps, 24)
        return ledger_of(home, planned_year(year, expected, home.prices, outlook)).exact_energy_cost

    solar = ledger_of(home, run_year(idle)).exact_energy_cost
    known, past, mean = cost(year, False), cost(year, True), cost(_mean_year(year, home.timeline.month, 24), False)
    assert least.cost <= known
    assert (solar - known) >= 0.99 * (solar - whole)
    assert past <= mean
