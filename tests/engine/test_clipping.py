"""Solar power that nothing uses: what the inverter's rating cuts off, told apart from what is curtailed."""

from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solarsim.engine.records import Curve, Hour, Limits
from solarsim.engine.step import step
from tests.builders import conditions, limits, orders

LOSSY = Curve(rated_kw=5.0, k0_kw=0.05, k1=0.01, k2=0.02)


def hour(pv: float, load: float, stored: float, hw: Limits | None = None, ac: float = 0.0, **rule: object) -> Hour:
    hw = limits() if hw is None else hw
    return Hour(*step(hw, orders(**rule), conditions(hw, pv, load, ac_solar_kw=ac), stored))


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("pv", "load", "export_limit", "clipped", "curtailed"),
    [
        (9.0, 1.0, inf, 4.0, 0.0),  # the grid would take all: 5 pass
        (9.0, 1.0, 2.0, 0.0, 6.0),  # 3 may leave, which the rating passes
        (9.0, 1.0, 5.0, 1.0, 3.0),  # 6 may leave, the rating passes 5
        (9.0, 7.0, 0.0, 2.0, 2.0),  # zero export: the load would take 7, the rating passes 5
        (4.0, 1.0, 0.0, 0.0, 3.0),
        (5.0, 1.0, inf, 0.0, 0.0),
    ],
)
def test_a_full_battery_leaves_over_what_rating_or_export_limit_keep_back(
    pv: float, load: float, export_limit: float, clipped: float, curtailed: float
) -> None:
    h = hour(pv, load, 10.0, export_limit_kw=export_limit)
    assert (h.clipped_kw, h.curtailed_kw) == (clipped, curtailed)


@pytest.mark.by_hand
def test_in_an_island_the_rating_clips_only_what_the_load_would_use() -> None:
    h = hour(9.0, 7.0, 10.0, grid=False)
    assert (h.pv_to_load_kw, h.unserved_kw, h.clipped_kw, h.curtailed_kw) == (5.0, 2.0, 2.0, 2.0)


@pytest.mark.by_hand
def test_ac_solar_that_the_rating_keeps_from_the_battery_is_clipped() -> None:
    # 9 kW on the AC side, no load, no export: the stage charges with 5; the battery takes 6 and has room for 8.
    h = hour(0.0, 0.0, 2.0, limits(charge_kw=6.0), 9.0, export_limit_kw=0.0)
    assert (h.pv_to_battery_kw, h.clipped_kw, h.curtailed_kw) == (5.0, 1.0, 3.0)
    # An order to charge up to 7.5 kWh: room for half a kilowatt more.
    h = hour(0.0, 0.0, 2.0, limits(charge_kw=6.0), 9.0, export_limit_kw=0.0, charge_to=0.75)
    assert (h.pv_to_battery_kw, h.clipped_kw, h.curtailed_kw) == (5.0, 0.5, 3.5)


@settings(max_examples=600)
@given(
    pv=st.floats(0, 15), load=st.floats(0, 9), ac=st.just(0.0) | st.floats(0, 15), stored=st.floats(1, 10),
    surplus_to_battery=st.booleans(), serves_load=st.booleans(), ceiling=st.sampled_from([1.0, 0.6]),
    charge_to=st.sampled_from([0.0, 0.5, 1.0]), sell_to=st.sampled_from([1.0, 0.3]),
    import_cap_kw=st.just(inf) | st.floats(0, 4), export_limit_kw=st.sampled_from([0.0, 1.5, 6.0, inf]),
    grid=st.booleans(), charge_kw=st.sampled_from([0.0, 3.0, 8.0]),
)  # fmt: skip
def test_clipped_is_what_an_infinite_rating_would_use(
    pv: float, load: float, ac: float, stored: float, charge_kw: float, **rule: object
) -> None:
    """The same hour of an inverter of a million kilowatts with the same loss at each power is the yardstick."""
    hw = limits(curve=LOSSY, one_way=0.95, charge_kw=charge_kw)
    huge = hw._replace(curve=Curve(rated_kw=1e6, k0_kw=0.05, k1=0.01, k2=0.02 * 1e6 / 5.0))
    rule = {"backed_kw": 99.0, **rule}
    rated, unlimited = hour(pv, load, stored, hw, ac, **rule), hour(pv, load, stored, huge, ac, **rule)
    assert unlimited.clipped_kw == 0.0
    unused = rated.clipped_kw + rated.curtailed_kw
    assert rated.clipped_kw == pytest.approx(max(0.0, unused - unlimited.curtailed_kw), abs=1e-6)
