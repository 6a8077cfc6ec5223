"""The speed of a bill, against a bare loop over the same year."""

import numpy as np
from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.ledger.bill import bill_for
from solarsim.ledger.prices import prices_from
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from tests.benchmarks.yardstick import assert_ratio, bare_loop
from tests.rate_plan_draws import ADDERS, DEMAND, NIGHT, PEAK, STEPS, WHERE

BILL_RATIO = 2.8
TIERS = ({"up_to_kwh": 150.0, "price": 0.2}, {"up_to_kwh": 400.0, "price": 0.25}, {"price": 0.3})


def test_bill_of_a_year_by_time_of_use_with_tiers_and_demand(benchmark: BenchmarkFixture) -> None:
    rates = tuple(
        {"name": name, "tiers": TIERS, "windows": when} for name, when in (("a", (PEAK,)), ("b", (NIGHT,)), ("c", ()))
    )
    rate_plan = RatePlan.model_validate(
        {
            "name": "all at once", "currency": "USD", "customer_charge_per_month": 9.0, "rates": rates,
            "tiers_count": "own_rate", "demand": (DEMAND,), "adders": ADDERS, "export": {"pay": "flat", "price": 0.05},
        }
    )  # fmt: skip
    random = np.random.default_rng(7)
    import_kw, export_kw = random.uniform(0, 3, STEPS), random.uniform(0, 1, STEPS)
    prices = prices_from(rate_plan, WHERE)

    def year() -> object:
        return bill_for(import_kw, export_kw, prices).total

    assert len(bill_for(import_kw, export_kw, prices).lines) > 12 * 11
    assert_ratio(benchmark, year, bare_loop(), BILL_RATIO)
