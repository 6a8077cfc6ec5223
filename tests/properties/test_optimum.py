"""Nothing beats the optimum, and the rule that is optimal reaches it: property tests."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solarsim.home import Home
from solarsim.ledger.bill import listed_cost
from solarsim.ledger.flows import Flows
from solarsim.studies.compare.optimum import least_cost
from tests.draws import Stretch, stretches

DAYS5 = 120


def cost_of(stretch: Stretch, flows: Flows) -> float:
    """Cost of energy of a run, not rounded [currency]."""
    return listed_cost(flows["import_kw"], flows["export_kw"], stretch.prices)


def best_of(stretch: Stretch) -> float:
    """Least possible cost with the hardware and the utility's limit, not the strategy's."""
    grid = stretch.scenario.grid
    most = np.inf if grid is None else grid.export_limit_kw
    return least_cost(
        stretch.limits,
        stretch.prices.import_price,
        stretch.prices.export_price,
        stretch.pv_kw,
        stretch.load_kw,
        most,
        stretch.cells,
    )


@settings(max_examples=200)
@given(data=st.data())
def test_no_strategy_beats_the_optimum(data: st.DataObject, demo_home: Home) -> None:
    stretch = data.draw(stretches(demo_home, DAYS5))
    flows = stretch.flows()
    gap_kwh = float(flows["battery_kwh"][-1]) - flows.start_kwh
    # A stretch that did not close may have lived off what it began with, at the dearest price.
    owed = max(0.0, -gap_kwh) * float(stretch.prices.import_price.max())
    assert cost_of(stretch, flows) + owed >= best_of(stretch) - 1e-6


@settings(max_examples=100)
@given(data=st.data())
def test_serving_the_home_first_is_the_optimum_at_one_price(data: st.DataObject, demo_home: Home) -> None:
    """With one price, no export pay and constant efficiencies nothing is better than serving the home."""
    stretch = data.draw(stretches(demo_home, DAYS5, perfect=True))
    flows = stretch.flows()
    assert cost_of(stretch, flows) == pytest.approx(best_of(stretch), abs=1e-6)


@settings(max_examples=40)
@given(data=st.data())
def test_more_battery_never_raises_the_optimum_cost(data: st.DataObject, demo_home: Home) -> None:
    stretch = data.draw(stretches(demo_home, 72))
    less = best_of(stretch)
    stretch.limits = stretch.limits._replace(capacity_kwh=stretch.limits.capacity_kwh + 3.0)
    assert best_of(stretch) <= less + 1e-6
