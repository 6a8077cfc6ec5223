"""The hardware as rows of a linear program: every limit, the reserve, the AC side, outages and generator."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solarsim.engine.records import Curve, Switching
from solarsim.engine.step import input_for
from solarsim.ledger.prices import Prices
from solarsim.scenario.backup.backup import Generator
from solarsim.studies.optimum._hardware import floors_kwh, pieces_below
from solarsim.studies.optimum._program import least_cost
from tests.builders import limits
from tests.draws import cut
from tests.homes_without_grid import GENERATOR
from tests.rate_plan_draws import WHERE
from tests.studies.optimum.small import plan, prices, year_of

LOSSY = Curve(5.0, 0.0, 0.1, 0.0)
GENERATOR_1KW = Switching(1.0, -1.0, -1.0, 0.0, 1.0, 1.0, 1.0)


def least_input(curve: Curve, most_kw: float, out_kw: float) -> float:
    """Fill the pieces of one step in turn."""
    needed, left = 0.0, out_kw
    for slope, length in pieces_below(curve, np.array([most_kw])):
        filled = min(left, float(length[0]))
        needed, left = needed + slope[0] * filled, left - filled
    assert left == pytest.approx(0.0, abs=1e-9)
    return needed


@given(k0=st.floats(0, 0.1), k1=st.floats(0, 0.05), k2=st.floats(0, 0.1), share=st.floats(0, 1), most=st.floats(0, 6))
def test_pieces_lie_below_the_stage_s_curve(k0: float, k1: float, k2: float, share: float, most: float) -> None:
    curve = Curve(rated_kw=6.0, k0_kw=k0, k1=k1, k2=k2)
    assert least_input(curve, most, share * most) <= input_for.py_func(curve, share * most) + 1e-9
    slopes = [float(slope[0]) for slope, length in pieces_below(curve, np.array([most])) if length[0] > 0.0]
    assert slopes == sorted(slopes)


@pytest.mark.parametrize("most", [6.0, 1.5])
def test_pieces_lie_close_below_the_curve(most: float) -> None:
    """From the point where the chord touches the curve, or at the limit, where that comes first."""
    curve = Curve(rated_kw=6.0, k0_kw=0.02, k1=0.0, k2=0.04)
    for out in np.linspace(min(2.0, most), most, 9):
        assert input_for.py_func(curve, out) - least_input(curve, most, float(out)) < 0.005


@pytest.mark.by_hand
@pytest.mark.parametrize(("most", "slope"), [(5.0, 1.02), (1.0, 1.06)])
def test_stage_without_square_term_has_its_chord_to_the_limit(most: float, slope: float) -> None:
    # At 5 kW: 5 + 0.05 + 0.05 = 5.1 taken; 5.1 / 5 = 1.02. At 1 kW: 1 + 0.05 + 0.01.
    ((chord, length),) = pieces_below(Curve(rated_kw=5.0, k0_kw=0.05, k1=0.01, k2=0.0), np.array([most]))
    assert (chord[0], length[0]) == pytest.approx((slope, most))


def hours(*import_price: float, export_price: float = 0.0) -> Prices:
    """Return the prices of some hours of 15 January: one rate for each hour."""
    first = int(np.flatnonzero((WHERE.month == 1) & (WHERE.day_of_month == 15))[0])
    rates = tuple(
        {
            "name": f"hour {hour}",
            "import_price": price,
            "windows": ({"from": f"{hour:02}:00", "to": f"{hour + 1:02}:00"},),
        }
        for hour, price in enumerate(import_price)
    )
    pay = {"pay": "flat", "price": export_price} if export_price else {"pay": "none"}
    rate_plan = plan(rates=(*rates, {"name": "later", "import_price": 9.0}), export=pay)
    return prices(rate_plan, cut(WHERE, first + np.arange(len(import_price))))


def night_and_day(**hardware: Any) -> float:
    """Two hours: one of sun without load at price 0, one of load without sun at price 1; no export."""
    year = year_of(limits(**hardware), np.array([9.0, 0.0]), np.array([0.0, 2.0]))
    return least_cost(year, hours(0.0, 1.0), 0.0).cost


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("hardware", "cost"),
    [
        ({}, 0.0),
        ({"charge_kw": 0.5}, 1.5),
        ({"discharge_kw": 0.5}, 1.5),
        ({"capacity_kwh": 1.5}, 1.5),  # 0.5 kWh above the minimum of 1
        ({"one_way": 0.8, "charge_kw": 1.0}, 2 - 0.8 * 0.8),
        ({"kept": 0.5, "capacity_kwh": 2.0}, 1.5),  # full with 1 above the minimum, half of it gone an hour later
        ({"standby_kw": 0.25, "capacity_kwh": 1.0}, 2.25),
        ({"capacity_kwh": 0.0, "minimum_kwh": 0.0, "charge_kw": 0.0, "discharge_kw": 0.0}, 2.0),
    ],
    ids=str,
)
def test_bound_knows_every_limit_of_the_hardware(hardware: dict[str, float], cost: float) -> None:
    assert night_and_day(**hardware) == pytest.approx(cost, abs=1e-9)


@pytest.mark.by_hand
def test_bound_loses_power_in_the_charger_too() -> None:
    """2 kW in the second hour, bought in the first at 0.1: loss of 10 % each way at any power."""
    year = year_of(limits(curve=LOSSY), np.zeros(2), np.array([0.0, 2.0]))
    assert least_cost(year, hours(0.1, 1.0), 0.0).cost == pytest.approx(0.1 * 2 * 1.1 * 1.1)


@pytest.mark.by_hand
@pytest.mark.parametrize(("charge_kw", "cost"), [(3.0, 0.0), (1.0, 2.0 - 1.0 / 1.1)])
def test_solar_power_on_the_ac_side_charges_through_the_stage(charge_kw: float, cost: float) -> None:
    """2 kWh need 2.2 on the DC side and 2.42 of 4 kW before the charger; at 1 kW of charge 1 / 1.1 comes back."""
    year = year_of(limits(curve=LOSSY, charge_kw=charge_kw), np.zeros(2), np.array([0.0, 2.0]))
    year = year._replace(ac_solar_kw=np.array([4.0, 0.0]))
    assert least_cost(year, hours(0.5, 1.0), 0.0).cost == pytest.approx(cost)


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("reserve", "cost"),
    [
        ([0.1, 0.1], 0.0),
        ([0.9, 0.9], 2.0 - 1.0),  # 1 kWh above 9 of 10
        ([1.0, 1.0], 2.0),
        ([0.1, 0.9], 2.0 - 1.0),  # it binds in the hour of load
        ([0.9, 0.1], 0.0),  # it does not
    ],
)
def test_reserve_binds_discharge_in_its_hours(reserve: list[float], cost: float) -> None:
    year = year_of(limits(charge_kw=9.0), np.array([9.0, 0.0]), np.array([0.0, 2.0]), reserve=np.array(reserve))
    assert least_cost(year, hours(0.0, 1.0), 0.0).cost == pytest.approx(cost)


def test_reserve_counts_above_the_low_cutoff_and_not_without_the_grid() -> None:
    year = year_of(limits(), np.zeros(3), np.zeros(3), reserve=np.array([0.05, 0.4, 0.4]), grid=np.array([1, 1, 0]) > 0)
    assert floors_kwh(year.limits, year.dispatch, year.switching).tolist() == pytest.approx([0.0, 3.0, 0.0])
    last = year.switching._replace(grid_from=0.3, grid_until=0.6)
    assert not floors_kwh(year.limits, year.dispatch, last).any()


@pytest.mark.by_hand
def test_energy_below_a_reserve_that_rises_is_hardly_there_when_it_does() -> None:
    """2 kWh of sun, half of it lost in each hour, then a reserve that only 5 kWh would reach: none of it can be used.

    The store of that level, 4 kWh above it, is at most 4/9 as full as the whole of 9 kWh: the bound uses 2 x 4/9 / 4.
    A store on its own would hold 2 / 4.
    """
    year = year_of(limits(kept=0.5), np.array([2.0, 0.0, 0.0, 0.0]), np.array([0.0, 0.0, 2.0, 0.0]))
    year = year._replace(dispatch=year.dispatch._replace(reserve=np.array([0.1, 0.1, 0.6, 0.6])))
    found = least_cost(year, hours(1.0, 1.0, 1.0, 1.0), 0.0).cost
    assert found == pytest.approx(2.0 - 2.0 * 4 / 9 / 4, abs=0.01)  # a little is left of it a round later


@pytest.mark.by_hand
def test_outage_may_use_the_reserve_and_leaves_what_may_stay_unserved() -> None:
    """Four hours at 0.10, then four without the grid and 3 kW of load: 9 of 12 kWh are in the battery, 3 unserved."""
    grid = np.repeat([True, False], 4)
    load_kw = np.repeat([0.0, 3.0], 4)
    year = year_of(limits(), np.zeros(8), load_kw, reserve=0.9, grid=grid, backed_kw=3.0)
    tariff = hours(*[0.1] * 8)
    assert least_cost(year, tariff, 0.0, unserved_kwh=3.0).cost == pytest.approx(0.9)
    assert least_cost(year, tariff, 0.0, unserved_kwh=5.0).cost == pytest.approx(0.7)
    with pytest.raises(RuntimeError, match="was not found"):
        least_cost(year, tariff, 0.0, unserved_kwh=2.0)


@pytest.mark.by_hand
def test_generator_serves_within_its_hours_at_its_best_burn() -> None:
    """The same with 1 kW of a generator: 3 kWh at 2.00 x (0.3 + 0.5 / 1) a kWh; half the hours give 2 kWh at most."""
    burns = Generator.model_validate({**GENERATOR, "kw": 1.0})
    grid, load_kw = np.repeat([True, False], 4), np.repeat([0.0, 3.0], 4)

    def cost(may_start: Any, unserved_kwh: float) -> float:
        year = year_of(
            limits(), np.zeros(8), load_kw, grid=grid, backed_kw=3.0, generator_may_start=np.asarray(may_start) > 0
        )._replace(switching=GENERATOR_1KW)
        return least_cost(year, hours(*[0.1] * 8), 0.0, burns, unserved_kwh).cost

    assert cost(np.ones(8), 0.0) == pytest.approx(0.9 + 3 * 1.6)
    assert cost([0, 0, 0, 0, 0, 0, 1, 1], 1.0) == pytest.approx(0.9 + 2 * 1.6)
    with pytest.raises(RuntimeError, match="was not found"):
        cost([0, 0, 0, 0, 0, 0, 1, 1], 0.0)
