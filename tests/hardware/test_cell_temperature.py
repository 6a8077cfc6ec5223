"""The cells' temperature and what it allows, by hand."""

import numpy as np
import pytest

from solarsim.engine.records import cells_at_ease
from solarsim.hardware.cell_temperature import _charge_limit, _lagged, _thermal, bank_over_year
from solarsim.hardware.limits import limits_from
from solarsim.scenario.battery.battery import Battery
from tests.builders import limits, scenario

pytestmark = pytest.mark.by_hand


def bank(**keys: object) -> Battery:
    """Give 10 kWh of iron phosphate outdoors, with keys replaced."""
    keys = {"chemistry": "lfp", "place": "outdoor", **keys}
    found = scenario(**{f"battery__{key}": value for key, value in keys.items()}).battery
    assert found is not None
    return found


def test_a_body_follows_a_step_by_its_time_constant() -> None:
    # A year of 0 C whose last 5 of 200 h are 10 C; after one time constant 1 - 1/e of the way.
    air = np.concatenate([np.zeros(195), np.full(5, 10.0)])
    mean, duty = _lagged(air, 5.0, 1.0)
    # Mean of the last hour: 10 (1 - 5 (exp(-4/5) - exp(-1)))
    assert mean[-1] == pytest.approx(10.0 * (1.0 - 5.0 * (np.exp(-0.8) - np.exp(-1.0))))
    # The circle: the first hour still holds the warmth of the last.
    assert mean[0] == pytest.approx(10.0 * (1.0 - np.exp(-1.0)) * 5.0 * (1.0 - np.exp(-0.2)))
    assert duty.max() == 0.0


def test_a_body_in_constant_air_has_its_temperature() -> None:
    assert _lagged(np.full(50, -7.0), 24.0, 1.0)[0] == pytest.approx(-7.0)


def test_a_heater_holds_its_temperature_with_the_power_that_leaks_away() -> None:
    # Air -5 C, hold 3 C; a heater that could lift by 16 C runs at half.
    mean, duty = _lagged(np.full(100, -5.0), 4.0, 1.0, rise_c=16.0, hold_c=3.0)
    assert mean[-1] == pytest.approx(3.0)
    assert duty[-1] == pytest.approx(0.5)


def test_a_heater_that_is_too_weak_does_what_it_can() -> None:
    mean, duty = _lagged(np.full(100, -20.0), 4.0, 1.0, rise_c=10.0, hold_c=3.0)
    assert mean[-1] == pytest.approx(-10.0)
    assert duty[-1] == 1.0


def test_a_heater_rests_while_it_is_warm() -> None:
    assert _lagged(np.full(10, 4.0), 4.0, 1.0, rise_c=16.0, hold_c=3.0)[1].max() == 0.0


def test_a_bank_is_a_cube_that_holds_warmth() -> None:
    # 10 kWh x 7 l = 70 l; 6 x 0.07^(2/3) = 1.0191 m2 x 5 = 5.0955 W/K; 28 Wh/K / 5.0955 = 5.4950 h
    assert _thermal(bank()) == pytest.approx((5.0955, 5.4950), abs=1e-4)


def test_limits_of_charging_by_temperature() -> None:
    # 10 kWh, 5 kW: none at or below 0 C and at or above 45 C, 0.2 C = 2 kW below 10 C.
    cell_c = np.array([-10.0, 0.0, 0.1, 9.9, 10.0, 44.9, 45.0])
    assert _charge_limit(bank(), 5.0, cell_c).tolist() == [0.0, 0.0, 2.0, 2.0, 5.0, 5.0, 0.0]
    assert _charge_limit(bank(), 1.5, cell_c).tolist() == [0.0, 0.0, 1.5, 1.5, 1.5, 1.5, 0.0]


def test_a_bank_without_chemistry_is_always_at_ease() -> None:
    home = scenario()
    found = bank_over_year(home.battery, limits(), np.full(24, -30.0))
    assert found.temperature_c is None
    for one, other in zip(found.cells, cells_at_ease(limits(), 24), strict=True):
        np.testing.assert_array_equal(one, other)


def test_indoors_the_room_decides_and_in_a_garage_a_day_of_weather() -> None:
    outdoor = np.tile(np.repeat([-10.0, 10.0], 12), 20)
    room, garage, open_air = (
        bank_over_year(bank(**where), limits(), outdoor).temperature_c
        for where in ({"place": "indoor", "room_c": 18.0}, {"place": "garage"}, {"place": "outdoor"})
    )
    assert room is not None
    assert garage is not None
    assert open_air is not None
    assert room == pytest.approx(18.0)
    assert np.ptp(garage) < np.ptp(open_air) < 20.0
    assert garage.mean() == pytest.approx(0.0, abs=0.01)


def test_a_heater_s_power_stands_in_the_cells_series_and_lets_them_charge() -> None:
    # 5.0955 W/K x 13 K = 66.2 W hold 3 C in air of -10 C.
    heated = bank(heater={"w": 150.0, "below_c": 3.0})
    cold, warm = (bank_over_year(each, limits(), np.full(100, -10.0)).cells for each in (bank(), heated))
    assert cold.charge_kw.max() == cold.heater_kw.max() == 0.0
    assert warm.heater_kw[-1] == pytest.approx(0.0662, abs=1e-4)
    assert warm.charge_kw[-1] == 2.0


def test_discharging_has_its_limits_too() -> None:
    cells = bank_over_year(bank(), limits(), np.concatenate([np.full(200, -40.0), np.full(200, 0.0)])).cells
    assert cells.discharge_kw[199] == 0.0
    assert cells.discharge_kw[399] == 3.0


def test_what_a_preset_limits_gives_way_to_what_is_written() -> None:
    none = {"max_charge_kw": None, "max_discharge_kw": None}
    for keys, charge, discharge in (
        (none, 5.0, 10.0),
        ({}, 5.0, 5.0),
        ({"max_charge_kw": 8.0}, 8.0, 5.0),
        ({"max_charge_kw": 8.0, "charge_c_rate": 0.3}, 3.0, 5.0),
        ({**none, "charge_c_rate": 0.7, "discharge_c_rate": 0.4}, 7.0, 4.0),
    ):
        home = scenario(
            battery__chemistry="lfp", battery__place="indoor", **{f"battery__{k}": v for k, v in keys.items()}
        )
        found = limits_from(home.inverter, home.battery, 1.0)
        assert (found.charge_kw, found.discharge_kw) == (charge, discharge), keys


def test_taper_and_peukert_enter_the_limits() -> None:
    home = scenario(
        battery__chemistry="flooded_lead_acid", battery__place="garage", battery__taper_from=0.7, battery__peukert=1.3
    )
    found = limits_from(home.inverter, home.battery, 1.0)
    # (1 - 0.7) x 10 kWh; 10 kWh over 20 h
    assert found.taper_kwh == pytest.approx(3.0)
    assert (found.peukert, found.rated_kw) == (1.3, 0.5)
