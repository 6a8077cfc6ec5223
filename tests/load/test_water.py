"""Hot water and well water."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solarsim.errors import ScenarioError
from solarsim.load._days import day_of_step
from solarsim.load._part_load import PartLoad
from solarsim.load._water import WATER_USE, water_heater_load, well_pump_load
from tests.builders import scenario, timeline
from tests.load.parts import part, steps

WHERE = timeline()
DAY = day_of_step(WHERE)
HOUR = WHERE.minute_of_day // 60
NIGHT = [{"from": "23:00", "to": "05:00"}]


def heated(**changes: object) -> PartLoad:
    return water_heater_load(part("water_heater", **changes), WHERE)


def day_kwh(year: PartLoad) -> list[float]:
    return [float(kwh) for kwh in np.bincount(DAY, year.load_kw)]


@pytest.mark.by_hand
def test_200_liters_from_10_to_55_degrees_are_10_47_kwh() -> None:
    # 200 kg x 45 K x 4.186 kJ/(kg K) / 3600 = 10.465 kWh of heat; with an efficiency of 1 that is the electricity.
    assert day_kwh(heated()) == pytest.approx([10.465] * 365, abs=1e-6)
    # Through a COP of 3.5: 10.465 / 3.5 = 2.99 kWh.
    assert day_kwh(heated(efficiency=None, cop=3.5)) == pytest.approx([2.99] * 365, abs=1e-6)


@pytest.mark.by_hand
def test_1000_liters_lifted_by_50_m_are_0_13625_kwh_of_work() -> None:
    # 1000 kg x 9.81 m/s2 x 50 m / 3.6e6 J/kWh = 0.13625 kWh; through an efficiency of 0.5: 0.2725 kWh.
    year = well_pump_load(part("well_pump"), WHERE)
    assert day_kwh(year) == pytest.approx([0.2725] * 365, abs=1e-9)
    assert year.need_kwh * 0.5 == pytest.approx(0.13625 * 365)


@pytest.mark.by_hand
def test_months_have_their_own_water_and_temperature() -> None:
    # January 100 l from 5 C to 55 C: 100 x 50 x 4.186 / 3600 = 5.8139 kWh; July 300 l from 20 C: 12.2092 kWh.
    liters, inlet = [100.0] * 6 + [300.0] * 6, [5.0] * 6 + [20.0] * 6
    year = heated(liters_per_day=None, liters_per_day_by_month=liters, inlet_c=None, inlet_c_by_month=inlet)
    assert day_kwh(year)[10] == pytest.approx(5.8139, abs=5e-5)
    assert day_kwh(year)[200] == pytest.approx(12.2092, abs=5e-5)


@pytest.mark.trade
def test_shares_of_the_day_add_up_to_one() -> None:
    for name, share in WATER_USE.items():
        assert share.shape == (24,), name
        assert share.min() >= 0.0, name
        assert share.sum() == pytest.approx(1.0), name


@pytest.mark.by_hand
def test_strong_heater_without_windows_follows_the_water() -> None:
    """Also where the clock changes: the doubled hour draws twice, and the day's sum stays."""
    year = heated(heater_kw=20, water_use="evening")
    spring = DAY == 66
    np.testing.assert_allclose(year.load_kw[DAY == 10], 10.465 * WATER_USE["evening"], atol=1e-9)
    assert spring.sum() == 23
    assert year.load_kw[spring].sum() == pytest.approx(10.465)


@pytest.mark.by_hand
def test_heater_with_a_timer_heats_at_full_power_until_the_day_is_made_good() -> None:
    # 10.465 kWh with 3 kW from 23:00 on: three hours of 3 kWh and 1.465 kWh in the fourth, and on that the
    # water drawn meanwhile (at night almost nothing).
    year = heated(windows=NIGHT, water_use="evening")
    night = year.load_kw[(DAY == 50) & (HOUR == 23) | (DAY == 51) & (HOUR < 5)]
    assert night[:3].tolist() == [3.0, 3.0, 3.0]
    assert night.sum() == pytest.approx(10.465)
    assert year.load_kw[(HOUR >= 5) & (HOUR < 23)].max() == 0.0
    assert year.unmet_year_kwh == pytest.approx(0.0, abs=1e-9)


@pytest.mark.by_hand
def test_heater_that_is_too_weak_leaves_the_rest_unmet() -> None:
    # 1 kW in six hours a night; each of the 365 nights has six hours on the clock but two: 8 March has no
    # 02:00 and 1 November has 01:00 twice. 365 x 6 = 2190 kWh of 365 x 10.465 = 3819.7 kWh.
    year = heated(windows=NIGHT, heater_kw=1)
    assert year.delivered_kwh == pytest.approx(2190.0)
    assert year.unmet_year_kwh == pytest.approx(365 * 10.465 - 2190.0)
    assert year.unmet_days(DAY) == 365


@pytest.mark.by_hand
def test_tank_holds_one_day() -> None:
    """Heated on weekdays only, the water of the second day of a weekend is missing, of the first is not."""
    year = heated(windows=[{"days": ["weekday"]}], heater_kw=20)
    lost = np.bincount(DAY, year.unmet_kwh, minlength=365)
    weekday = WHERE.weekday[HOUR == 12]
    assert lost[weekday == 5].max() == pytest.approx(0.0, abs=1e-9)
    assert lost[weekday == 6] == pytest.approx(10.465, abs=1e-6)


def test_change_of_month_gives_nothing_up() -> None:
    liters = [300.0 if month % 2 else 20.0 for month in range(12)]
    year = heated(windows=NIGHT, liters_per_day=None, liters_per_day_by_month=liters)
    assert year.unmet_year_kwh == pytest.approx(0.0, abs=1e-6)


@settings(max_examples=40)
@given(steps(10, 400), st.sampled_from(sorted(WATER_USE)), st.sampled_from([None, NIGHT]))
def test_twice_the_liters_take_twice_the_energy(liters: float, use: str, when: object) -> None:
    once = heated(liters_per_day=liters, water_use=use, windows=when, heater_kw=50)
    twice = heated(liters_per_day=2 * liters, water_use=use, windows=when, heater_kw=50)
    assert once.unmet_year_kwh == pytest.approx(0.0, abs=1e-6)
    assert twice.load_kw.sum() == pytest.approx(2 * once.load_kw.sum(), rel=1e-9)
    if when is None:
        np.testing.assert_allclose(twice.load_kw, 2 * once.load_kw, atol=1e-9)


@settings(max_examples=40)
@given(steps(10, 400), steps(0.2, 6), st.sampled_from(sorted(WATER_USE)), st.sampled_from([None, NIGHT]))
def test_energy_from_one_night_to_the_next_is_the_day_s_need_when_it_fits(
    liters: float, heater_kw: float, use: str, when: object
) -> None:
    """A day of heating goes from the end of the timer's hours to their next end."""
    year = heated(liters_per_day=liters, heater_kw=heater_kw, water_use=use, windows=when)
    assert year.load_kw.max() <= heater_kw
    assert year.need_kwh == pytest.approx(year.delivered_kwh + year.unmet_year_kwh)
    share = WATER_USE[use][HOUR]
    drawn = year.need_kwh / 365 * share / np.bincount(DAY, share)[DAY]
    if when is not None and year.need_kwh / 365 <= 4.9 * heater_kw:
        ends = np.flatnonzero(HOUR == 5)
        for first, last in pairwise(ends):
            assert year.load_kw[first:last].sum() == pytest.approx(drawn[first:last].sum())
        assert year.unmet_year_kwh == pytest.approx(0.0, abs=1e-6)


@pytest.mark.by_hand
def test_quarter_hours_take_the_same_energy() -> None:
    quarters = scenario().site.timeline(0.25)
    heater = part("water_heater", windows=NIGHT)
    assert water_heater_load(heater, quarters).load_kw.sum() / 4 == pytest.approx(365 * 10.465)


def test_house_without_water_takes_nothing() -> None:
    assert heated(liters_per_day=0).load_kw.max() == 0.0


@pytest.mark.parametrize("kind", ["water_heater", "well_pump"])
def test_window_that_never_holds_is_refused(kind: str) -> None:
    idle = part(kind, windows=[{"days": ["holiday"]}])
    with pytest.raises(ScenarioError, match=r"windows: the 1st window \(holiday\) holds in no hour of 2026"):
        water_heater_load(idle, WHERE) if kind == "water_heater" else well_pump_load(idle, WHERE)
