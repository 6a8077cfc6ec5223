"""Heating and cooling by degree-hours."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solarsim.errors import ScenarioError
from solarsim.load._days import day_of_step
from solarsim.load._heating_cooling import air_conditioner_load, heat_pump_load
from solarsim.load._part_load import PartLoad
from solarsim.weather.typical_year import HOURS
from tests.builders import scenario, timeline
from tests.load.parts import part, steps, weather

WHERE = timeline()
HOUR = WHERE.minute_of_day // 60


def heated(temp_c: Any = 10.0, **changes: Any) -> PartLoad:
    return heat_pump_load(part("heat_pump", **changes), WHERE, weather(temp_c))


def cooled(temp_c: Any = 30.0, ghi_w_m2: Any = 0.0, **changes: Any) -> PartLoad:
    return air_conditioner_load(part("air_conditioner", **changes), WHERE, weather(temp_c, ghi_w_m2))


@pytest.mark.by_hand
def test_degree_hours_of_a_constant_temperature() -> None:
    # 18 - 7 = 11 K over 8760 h are 96,360 Kh; x 0.2 kW/K = 19,272 kWh of heat; at the datasheet's COP of 4: 4,818 kWh.
    year = heated(7.0)
    assert year.need_kwh == pytest.approx(19_272.0)
    assert year.load_kw.sum() == pytest.approx(4_818.0)
    assert year.counted_as == "heat"
    # 35 - 22 = 13 K x 0.2 kW/K = 2.6 kW of cooling; at the datasheet's 3.0: 0.8667 kW.
    assert cooled(35.0).load_kw == pytest.approx(2.6 / 3.0)


@pytest.mark.by_hand
def test_cop_lies_on_the_line_through_the_two_points() -> None:
    # Between -7 C (2.6) and 7 C (4.0) the line rises 0.1 per degree: 3.3 at 0 C; 3.6 kW of heat take 1.0909 kW.
    assert heated(0.0).load_kw == pytest.approx(3.6 / 3.3)
    # Between 27 C (4.6) and 35 C (3.0) it falls 0.2 per degree: 4.0 at 30 C; 1.6 kW take 0.4 kW.
    assert cooled(30.0).load_kw == pytest.approx(0.4)
    swapped = [{"at_c": 7, "cop": 4.0}, {"at_c": -7, "cop": 2.6}]
    assert heated(0.0, points=swapped).load_kw == pytest.approx(3.6 / 3.3)


@pytest.mark.by_hand
def test_cop_is_never_below_one() -> None:
    # The line reaches 1 at -23 C and would be 0.3 at -30 C: 48 K x 0.05 kW/K = 2.4 kW of heat take 2.4 kW.
    assert heated(-30.0, ua_kw_per_k=0.05).load_kw == pytest.approx(2.4)


@pytest.mark.by_hand
def test_us_datasheet_counts_cooling_in_btu() -> None:
    # EER 10.236426 Btu/Wh / 3.412142 Btu/Wh = 3.0.
    points = [{"at_c": 35, "eer_btu_per_wh": 10.236426}, {"at_c": 27, "cop": 4.6}]
    assert cooled(35.0, points=points).load_kw == pytest.approx(2.6 / 3.0, rel=1e-6)


@pytest.mark.by_hand
def test_backup_gives_what_the_heat_pump_cannot() -> None:
    # -7 C: 25 K x 0.2 = 5 kW of heat; 1 kW x 2.6 = 2.6 kW from the heat pump, 2.4 kW from resistance or not at all.
    backed, alone = heated(-7.0, max_kw=1, backup=True), heated(-7.0, max_kw=1, backup=False)
    assert backed.load_kw == pytest.approx(1.0 + 2.4)
    assert backed.backup_kwh == pytest.approx(2.4 * HOURS)
    assert backed.unmet_year_kwh == 0.0
    assert alone.load_kw == pytest.approx(1.0)
    assert alone.unmet_year_kwh == pytest.approx(2.4 * HOURS)
    assert alone.unmet_days(day_of_step(WHERE)) == 365


@pytest.mark.by_hand
def test_air_conditioner_stops_at_its_limit() -> None:
    # 35 C: 0.5 kW x 3.0 = 1.5 kW of the 2.6 kW wanted.
    year = cooled(35.0, max_kw=0.5)
    assert year.load_kw == pytest.approx(0.5)
    assert year.unmet_kwh == pytest.approx(1.1)


@pytest.mark.by_hand
def test_sun_that_comes_in_is_cooled_less_what_the_house_loses() -> None:
    # 30 C: 8 K x 0.2 = 1.6 kW, and 800 W/m2 on 3 m2 are 2.4 kW: 4.0 kW at 4.0 take 1.0 kW.
    assert cooled(30.0, 800.0, sun_m2=3).load_kw == pytest.approx(1.0)
    # 15 C: the house loses 7 K x 0.2 = 1.4 kW of the 2.4 kW: 1.0 kW at 4.6 + 12 x 0.2 = 7.0.
    assert cooled(15.0, 800.0, sun_m2=3).load_kw == pytest.approx(1.0 / 7.0)
    assert cooled(15.0, 400.0, sun_m2=3).load_kw.max() == 0.0


@pytest.mark.by_hand
def test_setbacks_have_their_own_base_and_may_switch_off() -> None:
    night, summer = {"from": "22:00", "to": "06:00", "base_c": 15}, {"months": [6, 7, 8], "off": True}
    year = heated(7.0, setbacks=[summer, night])
    june, dark = WHERE.month == 6, (HOUR >= 22) | (HOUR < 6)
    assert year.load_kw[june].max() == 0.0
    winter = WHERE.month == 1
    assert year.load_kw[winter & ~dark] == pytest.approx(2.2 / 4.0)
    assert year.load_kw[winter & dark] == pytest.approx(1.6 / 4.0)
    hot = cooled(35.0, 500.0, sun_m2=1, setbacks=[{"months": [1], "off": True}, {"months": [7], "base_c": 27}])
    assert hot.load_kw[winter].max() == 0.0
    assert hot.load_kw[WHERE.month == 7] == pytest.approx((1.6 + 0.5) / 3.0)


def test_neither_heats_nor_cools_at_its_base() -> None:
    assert heated(18.0).load_kw.max() == 0.0
    assert cooled(22.0).load_kw.max() == 0.0


def test_quarter_hours_take_each_hour_s_weather() -> None:
    quarters = scenario().site.timeline(0.25)
    temp_c = np.linspace(-5.0, 25.0, HOURS)
    year = heat_pump_load(part("heat_pump"), quarters, weather(temp_c))
    np.testing.assert_allclose(year.load_kw[::4], heated(temp_c).load_kw)
    assert year.need_kwh == pytest.approx(heated(temp_c).need_kwh)


def test_setback_that_never_governs_is_refused() -> None:
    with pytest.raises(ScenarioError, match=r"setbacks: the 2nd window \(Jul\) never holds"):
        heated(setbacks=[{"months": [7], "off": True}, {"months": [7], "base_c": 12}])


YEARS_C = st.lists(steps(-35, 42), min_size=24, max_size=24).map(lambda day: np.tile(day, 365))


@settings(max_examples=60)
@given(YEARS_C, steps(0, 10), steps(0.1, 6), st.booleans())
def test_colder_never_needs_less_heat(temp_c: Any, colder_k: float, max_kw: float, backup: bool) -> None:
    mild = heated(temp_c, max_kw=max_kw, backup=backup)
    cold = heated(temp_c - colder_k, max_kw=max_kw, backup=backup)
    assert cold.need_kwh >= mild.need_kwh
    assert (cold.load_kw >= mild.load_kw - 1e-12).all()  # the COP falls with the cold too


@settings(max_examples=60)
@given(YEARS_C, steps(0.1, 6), steps(0, 5), st.booleans())
def test_balance_closes_and_limits_hold(temp_c: Any, max_kw: float, sun_m2: float, backup: bool) -> None:
    warm, cool = heated(temp_c, max_kw=max_kw, backup=backup), cooled(temp_c, 700.0, max_kw=max_kw, sun_m2=sun_m2)
    for year in (warm, cool):
        assert year.load_kw.min() >= 0.0
        assert year.unmet_kwh.min() >= 0.0
        assert year.need_kwh == pytest.approx(year.delivered_kwh + year.unmet_year_kwh)
    assert cool.load_kw.max() <= max_kw
    assert warm.load_kw.sum() - warm.backup_kwh <= max_kw * HOURS + 1e-6
    assert backup or warm.load_kw.max() <= max_kw


@settings(max_examples=30)
@given(YEARS_C, steps(0, 18))
def test_setback_never_needs_more(temp_c: Any, base_c: float) -> None:
    lowered = heated(temp_c, setbacks=[{"from": "22:00", "to": "06:00", "base_c": base_c}])
    assert lowered.need_kwh <= heated(temp_c).need_kwh + 1e-9
