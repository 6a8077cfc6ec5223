"""The optimum."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solarsim.engine.records import Curve
from solarsim.engine.step import input_for
from solarsim.home import Home, home_from
from solarsim.studies.compare.compare import compare
from solarsim.studies.compare.optimum import optimum, tangents
from tests.builders import scenario


@given(k0=st.floats(0, 0.1), k1=st.floats(0, 0.05), k2=st.floats(0, 0.1), share=st.floats(0, 1))
def test_tangents_lie_below_the_stage_s_curve(k0: float, k1: float, k2: float, share: float) -> None:
    curve = Curve(rated_kw=6.0, k0_kw=k0, k1=k1, k2=k2)
    out = share * 6.0
    for slope, offset in tangents(curve):
        assert slope * out + offset <= input_for.py_func(curve, out) + 1e-9


def test_tangents_lie_close_below_the_curve() -> None:
    curve = Curve(rated_kw=6.0, k0_kw=0.02, k1=0.0, k2=0.04)
    for out in np.linspace(2.0, 6.0, 9):
        nearest = max(slope * out + offset for slope, offset in tangents(curve))
        assert input_for.py_func(curve, out) - nearest < 0.005


def test_optimum_beats_every_strategy_of_the_demo(demo_home: Home) -> None:
    found = compare(demo_home.scenario, demo_home, best=True)
    assert found.best is not None
    assert found.best.annual_bill is not None
    shares = [found.optimum_share(run) for run in found.runs]
    assert all(share is not None and 0.5 < share <= 1.0 for share in shares)
    assert found.table()["optimum_share"].tolist() == shares


def test_optimum_share_is_not_above_one_by_rounded_bill_lines() -> None:
    """Every line of a bill is rounded to the cent, the bound is not: a share near 1 must not show it."""
    perfect = {"inverter__efficiency": {"constant": 0.97}, "battery__self_discharge_per_month": 0.0}
    found = compare(scenario(**perfect, inverter__standby_w=0.0), best=True)
    assert found.optimum_share(found.runs[0]) == pytest.approx(1.0, abs=1e-7)


def test_no_bound_where_export_pays_more_than_import() -> None:
    home = home_from(scenario(rate_plan__export={"pay": "flat", "price": 0.30}))
    found = optimum(home)
    assert found.annual_bill is None
    assert found.why_none == "export pays more than import costs in 8760 hours, so buying to sell would pay"
    comparison = compare(home.scenario, home, best=True)
    assert comparison.optimum_share(comparison.runs[0]) is None


def test_export_pay_does_not_matter_where_nothing_may_be_exported() -> None:
    changes = {"rate_plan__export": {"pay": "flat", "price": 0.30}, "grid": {"export_limit_kw": 0.0}}
    assert optimum(home_from(scenario(**changes))).annual_bill is not None
