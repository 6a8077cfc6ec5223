"""What must hold of energy cost and outage cost: leaving demand unserved never pays where lost load has its price."""

from dataclasses import replace
from functools import cache
from math import prod

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from solarsim.home import home_from
from solarsim.ledger.flows import Flows, flows_without_system
from solarsim.ledger.ledger import Ledger, ledger_from
from solarsim.ledger.money import TOLERANCE, annual_savings, lowest, total_cost
from solarsim.ledger.prices import prices_from
from solarsim.run import close_year
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from tests.homes_without_grid import storm, storm_home
from tests.rate_plan_draws import STEPS, WHERE, rate_plans

ROUNDING = 0.01 * 12 * 20  # a cent for each line of each bill


def dearest(plan: RatePlan) -> float:
    """Return more than any kWh can cost: energy, riders, its part of peaks, percentages [currency/kWh]."""
    energy = sum(max((tier.price for tier in rate.tiers), default=rate.listed_price) for rate in plan.rates)
    others = sum(abs(rider.price) for rider in plan.riders) + sum(each.credit_price for each in plan.allowances)
    factor = prod(1.0 + abs(adder.share) for adder in plan.adders)
    return factor * (energy + others + 12 * sum(charge.price for charge in plan.demand)) + 0.01


def darkened(flows: Flows, share: np.ndarray[tuple[int], np.dtype[np.float64]]) -> Flows:
    """Return flows with a share of the import of each step left unserved."""
    unserved_kw = share * flows["import_kw"]
    left_kw = flows["import_kw"] - unserved_kw
    changed = {"import_kw": left_kw, "grid_to_load_kw": left_kw, "unserved_kw": unserved_kw}
    return replace(flows, given={**flows.given, **changed})


@settings(max_examples=60)
@given(rate_plans(), st.integers(0, 2**32 - 1), st.sampled_from([0.001, 0.1, 0.9]))
def test_moving_energy_from_import_to_unserved_never_lowers_the_cost_of_both(
    plan: RatePlan, seed: int, part: float
) -> None:
    rng = np.random.default_rng(seed)
    flows = flows_without_system(WHERE, prices_from(plan, WHERE), rng.uniform(0.0, 3.0, STEPS))
    dark = darkened(flows, np.where(rng.random(STEPS) < part, rng.random(STEPS), 0.0))
    value = dearest(plan)
    whole, less = ledger_from(flows, None, value), ledger_from(dark, None, value)
    assert less.unserved_kwh > 0.0
    assert total_cost(less) >= total_cost(whole) - ROUNDING
    # Without that value the dark year is cheaper, and must not be called so.
    whole, less = ledger_from(flows), ledger_from(dark)
    if less.unserved_kwh > TOLERANCE * less.demand_kwh:
        assert annual_savings(less, whole) is None
        assert lowest([less, whole]) == (whole,)


@cache
def with_and_without_generator(arrangement: str, load_kwh: float, fuel_price: float) -> tuple[Ledger, Ledger]:
    """Return the year of the storm home with its generator, and without it."""
    changes: dict[str, object] = {
        "load.monthly_kwh": [load_kwh] * 12,
        "generator.fuel_price": fuel_price,
        "outages.value_of_lost_load": 100.0 * fuel_price,
    }
    if arrangement == "off grid":
        changes |= {"arrangement": {"kind": "off_grid", "grid": "none"}}
        changes |= {"outages": {"value_of_lost_load": 100.0 * fuel_price}}
        del changes["outages.value_of_lost_load"]
    found = []
    for more in ({}, {"generator": None}):
        scenario = storm().changed(changes | more)
        found.append(close_year(home_from(scenario), scenario.strategies[0].name))
    return found[0], found[1]


@settings(max_examples=6, deadline=None)
@given(st.sampled_from(["hybrid", "off grid"]), st.sampled_from([400.0, 1200.0]), st.sampled_from([0.5, 2.0]))
def test_removing_a_generator_never_lowers_the_cost_of_both(
    arrangement: str, load_kwh: float, fuel_price: float
) -> None:
    having, lacking = with_and_without_generator(arrangement, load_kwh, fuel_price)
    assert having.fuel_cost >= 0.0 == lacking.fuel_cost
    assert lacking.unserved_kwh >= having.unserved_kwh - 1e-6
    assert total_cost(lacking) >= total_cost(having) - 0.05


def test_a_generator_is_used_where_the_grid_is_out() -> None:
    """Otherwise the test above would hold of nothing."""
    assert close_year(storm_home(), "serve the home first").fuel_cost > 0.0
    having, lacking = with_and_without_generator("off grid", 1200.0, 2.0)
    assert having.fuel_cost > 100.0
    assert lacking.unserved_kwh > having.unserved_kwh + 100.0
