"""Nothing beats the optimum, and the rule that is optimal reaches it: property tests."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from solarsim.engine.records import Inputs
from solarsim.home import Home
from solarsim.ledger.flows import Flows
from solarsim.ledger.ledger import ledger_from
from solarsim.ledger.prices import Prices, prices_from
from solarsim.scenario.backup.backup import Generator
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from solarsim.studies.optimum._bill import why_not_convex
from solarsim.studies.optimum._program import Least, least_cost
from solarsim.studies.optimum._schedule import scheduled_years
from tests.builders import inputs_of
from tests.draws import Stretch, stretches
from tests.homes_without_grid import GENERATOR
from tests.properties.test_outages import darks
from tests.rate_plan_draws import rate_plans
from tests.studies.optimum.small import DAYS

DAYS5 = 120
ROUNDING = 1e-5  # sums of millionths of a cent


def cost_of(flows: Flows, generator: Generator | None = None) -> float:
    """Cost of a run before rounding to cents, and what it owes for energy that it began with [currency].

    A stretch that did not close may have lived off that, at the highest price.
    """
    owed = max(0.0, flows.start_kwh - float(flows["battery_kwh"][-1])) * float(flows["import_price"].max())
    return ledger_from(flows, generator).exact_energy_cost + owed


def best_of(stretch: Stretch, year: Inputs | None = None, prices: Prices | None = None) -> Least:
    """Least possible cost with the hardware, the utility's limit and the strategy's reserve."""
    return least_cost(year or stretch.inputs, prices or stretch.prices, export_limit_kw(stretch))


def export_limit_kw(stretch: Stretch) -> float:
    grid = stretch.scenario.grid
    return np.inf if grid is None else grid.export_limit_kw


@settings(max_examples=30)
@given(data=st.data())
def test_no_strategy_beats_the_optimum_at_its_reserve(data: st.DataObject, demo_home: Home) -> None:
    stretch = data.draw(stretches(demo_home, DAYS5))
    assert cost_of(stretch.flows()) >= best_of(stretch).cost - ROUNDING


@settings(max_examples=25)
@given(rate_plan=rate_plans(), data=st.data())
def test_no_strategy_beats_the_optimum_under_any_rate_plan(
    rate_plan: RatePlan, data: st.DataObject, demo_home: Home
) -> None:
    """One day of each month, so that there are twelve bills."""
    assume(not why_not_convex(rate_plan))
    stretch = data.draw(stretches(demo_home, DAYS))
    stretch.prices = prices_from(rate_plan, stretch.timeline)
    assert cost_of(stretch.flows()) >= best_of(stretch).cost - ROUNDING


@settings(max_examples=25)
@given(data=st.data())
def test_no_strategy_beats_the_optimum_in_outages_and_with_a_generator(data: st.DataObject, demo_home: Home) -> None:
    """With what it left unserved, and with fuel."""
    dark = data.draw(darks(demo_home, DAYS5))
    s, burns = dark.stretch, Generator.model_validate({**GENERATOR, "kw": dark.switching.generator_kw})
    flows, closed = dark.run()
    assume(closed)
    year = inputs_of(s.limits, dark.dispatch, s.pv_kw, s.load_kw, s.cells, dark.switching)
    limit_kw = export_limit_kw(s) if dark.supply.stays_connected else 0.0
    unserved_kwh = float(flows["unserved_kw"].sum()) * s.limits.step_h
    assert cost_of(flows, burns) >= least_cost(year, s.prices, limit_kw, burns, unserved_kwh).cost - ROUNDING


@settings(max_examples=12)
@given(data=st.data())
@pytest.mark.slow
def test_schedule_keeps_the_reserve_and_does_not_beat_the_optimum(data: st.DataObject, demo_home: Home) -> None:
    stretch = data.draw(stretches(demo_home, DAYS5))
    least = best_of(stretch)
    free = stretch.inputs._replace(dispatch=stretch.dispatch._replace(import_cap_kw=np.full(DAYS5, np.inf)))
    reserve_kwh = stretch.dispatch.reserve * stretch.limits.capacity_kwh
    for year in scheduled_years(free, stretch.prices, least, None):
        flows = stretch.flows_of(year)
        assert cost_of(flows) >= least.cost - ROUNDING
        discharged = flows["battery_to_load_kw"] + flows["battery_to_grid_kw"] > 1e-9
        assert (flows["battery_kwh"] >= reserve_kwh - 1e-6)[discharged].all()


@settings(max_examples=25)
@given(data=st.data())
def test_serving_the_home_first_is_the_optimum_at_one_price(data: st.DataObject, demo_home: Home) -> None:
    """With one price, no export pay and constant efficiencies nothing is better than serving the home."""
    stretch = data.draw(stretches(demo_home, DAYS5, perfect=True))
    assert cost_of(stretch.flows()) == pytest.approx(best_of(stretch).cost, abs=ROUNDING)


@settings(max_examples=12)
@given(data=st.data())
def test_more_battery_never_raises_the_optimum_cost(data: st.DataObject, demo_home: Home) -> None:
    """At no reserve: a share of a larger battery keeps more."""
    stretch = data.draw(stretches(demo_home, 72))
    stretch.dispatch = stretch.dispatch._replace(reserve=np.zeros(72))
    less = best_of(stretch).cost
    stretch.limits = stretch.limits._replace(capacity_kwh=stretch.limits.capacity_kwh + 3.0)
    assert best_of(stretch).cost <= less + 1e-6


@settings(max_examples=12)
@given(data=st.data(), more=st.floats(0.0, 0.5))
def test_a_higher_reserve_never_lowers_the_optimum_cost(data: st.DataObject, more: float, demo_home: Home) -> None:
    stretch = data.draw(stretches(demo_home, 72))
    less = best_of(stretch).cost
    stretch.dispatch = stretch.dispatch._replace(reserve=np.minimum(1.0, stretch.dispatch.reserve + more))
    assert best_of(stretch).cost >= less - 1e-6
