"""An electric car that is charged at home."""

from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from solarsim.clock.windows import Window, steps_in_window
from solarsim.errors import ScenarioError
from solarsim.load._days import day_of_step
from solarsim.load._electric_car import car_load
from solarsim.load._part_load import PartLoad
from tests.builders import scenario, timeline
from tests.load.parts import part, steps

WHERE = timeline()
DAY = day_of_step(WHERE)
HOUR = WHERE.minute_of_day // 60
NIGHT = [{"from": "23:00", "to": "05:00"}]
LATE = [{"from": "03:00", "to": "05:00"}]


def charged(**changes: Any) -> PartLoad:
    return car_load(part("electric_car", **changes), WHERE)


def in_window(window: dict[str, Any]) -> NDArray[np.bool_]:
    return steps_in_window(Window.model_validate(window), WHERE)


def stay(year: PartLoad, day: int) -> dict[int, float]:
    """Give the wall power of the stay from 18:00 of a day on, by hour of the clock, where there is any."""
    first = int(np.flatnonzero((day == DAY) & (HOUR == 18))[0])
    return {int(HOUR[i]): float(year.load_kw[i]) for i in range(first, first + 13) if year.load_kw[i] > 1e-9}


@pytest.mark.by_hand
def test_40_km_at_0_18_are_7_2_kwh_in_the_battery_and_8_at_the_wall() -> None:
    # 40 km x 0.18 kWh/km = 7.2 kWh; 7.2 / 0.9 = 8.0 kWh: two hours at 4 kW from the plug-in at 18:00 on.
    year = charged()
    assert year.need_kwh * 0.9 / 365 == pytest.approx(7.2)
    assert np.bincount(DAY, year.load_kw) == pytest.approx(8.0)
    assert stay(year, 20) == pytest.approx({18: 4.0, 19: 4.0})


@pytest.mark.by_hand
def test_weekends_and_holidays_have_their_own_kilometres() -> None:
    from datetime import date

    where = timeline(holidays={"dates": (date(2026, 11, 26),)})
    year = car_load(part("electric_car", km_per_day={"weekday": 40, "weekend": 10}), where)
    # 2026 has 261 weekdays; one of them is the holiday: (260 x 40 + 105 x 10) km x 0.18 / 0.9 = 2290 kWh.
    assert year.load_kw.sum() == pytest.approx(2290.0)
    day = np.bincount(DAY, year.load_kw)
    assert day[329] == pytest.approx(2.0)  # 26 November: 10 km x 0.18 / 0.9
    assert day[330] == pytest.approx(8.0)


@pytest.mark.by_hand
def test_waiting_car_charges_in_its_window_if_the_need_fits() -> None:
    # 8 kWh at 4 kW are two hours of the window.
    assert stay(charged(waits_for=NIGHT), 20) == pytest.approx({23: 4.0, 0: 4.0})
    assert stay(charged(waits_for=LATE), 20) == pytest.approx({3: 4.0, 4: 4.0})


@pytest.mark.by_hand
def test_what_the_window_cannot_hold_comes_right_after_and_the_rest_before() -> None:
    # 8 kWh at 2 kW are four hours: two in the window, two after it (the car leaves at 07:00).
    assert stay(charged(waits_for=LATE, charger_kw=2), 20) == pytest.approx({3: 2.0, 4: 2.0, 5: 2.0, 6: 2.0})
    # At 1.6 kW five hours: the fifth is the first of the stay.
    slow = stay(charged(waits_for=LATE, charger_kw=1.6), 20)
    assert slow == pytest.approx({18: 1.6, 3: 1.6, 4: 1.6, 5: 1.6, 6: 1.6})


@pytest.mark.by_hand
def test_stay_without_an_hour_of_the_window_charges_at_once() -> None:
    # Half of the ten hours away lie before the stay at noon: 4 kWh are missing then, and one hour brings them.
    year = charged(plugged_in=[{"from": "12:00", "to": "13:00"}, {"from": "18:00", "to": "07:00"}], waits_for=NIGHT)
    noon = year.load_kw[(HOUR == 12) & (DAY == 20)]
    assert noon == pytest.approx(4.0)


@pytest.mark.by_hand
def test_unmet_need_is_carried_on_to_the_weekend() -> None:
    # Plugged in on Saturdays only, from midnight to 23:00; 7 days x 8 kWh = 56 kWh at 4 kW are 14 hours.
    year = charged(plugged_in=[{"days": ["sat"], "from": "00:00", "to": "23:00"}])
    saturdays = np.flatnonzero((WHERE.weekday == 5) & (HOUR == 12))
    assert np.bincount(DAY, year.load_kw)[DAY[saturdays[3]]] == pytest.approx(56.0)
    assert year.load_kw[WHERE.weekday != 5].max() == 0.0
    assert year.unmet_year_kwh == pytest.approx(0.0, abs=1e-9)


@pytest.mark.by_hand
def test_hours_too_short_leave_a_rest_that_is_told() -> None:
    # One hour a night at 4 kW of 8 kWh: 365 x 4 = 1460 kWh delivered, as many unmet, once the battery is down.
    year = charged(plugged_in=[{"from": "03:00", "to": "04:00"}])
    assert year.delivered_kwh == pytest.approx(1460.0)
    assert year.unmet_year_kwh == pytest.approx(1460.0)
    assert year.unmet_days(DAY) == 365


@pytest.mark.by_hand
def test_battery_caps_what_can_be_charged_after_a_day() -> None:
    # 400 km x 0.18 = 72 kWh, of which a battery of 45 kWh can miss 45: 50 kWh at the wall, 30 unmet a day.
    year = charged(km_per_day={"weekday": 400, "weekend": 400}, battery_kwh=45, charger_kw=7)
    assert np.bincount(DAY, year.load_kw) == pytest.approx(50.0)
    assert year.unmet_year_kwh == pytest.approx(365 * 30.0)


@pytest.mark.by_hand
def test_holiday_at_home_lasts_over_days() -> None:
    """A car that is not driven on weekends may stay plugged in."""
    year = charged(
        km_per_day={"weekday": 40, "weekend": 0},
        plugged_in=[{"days": ["weekday"], "from": "18:00", "to": "07:00"}, {"days": ["weekend"]}],
    )
    assert year.unmet_year_kwh == pytest.approx(0.0, abs=1e-9)
    assert year.load_kw.sum() == pytest.approx(261 * 8.0)  # 261 weekdays of 8 kWh at the wall


def test_people_plug_in_by_the_wall_clock() -> None:
    year = charged(waits_for=NIGHT)
    for month in (1, 7):
        assert set(HOUR[(year.load_kw > 1e-9) & (WHERE.month == month)].tolist()) == {23, 0}


def test_car_that_stands_still_takes_nothing() -> None:
    assert charged(km_per_day={"weekday": 0, "weekend": 0}, plugged_in=[{}]).load_kw.max() == 0.0


@pytest.mark.by_hand
def test_quarter_hours_take_the_same_energy() -> None:
    quarters = scenario().site.timeline(0.25)
    car = part("electric_car", waits_for=LATE, charger_kw=1.6)
    year = car_load(car, quarters)
    assert year.load_kw.sum() / 4 == pytest.approx(365 * 8.0)
    assert year.load_kw.max() <= 1.6


@settings(max_examples=60)
@given(
    st.fixed_dictionaries({"weekday": steps(0, 300), "weekend": steps(0, 300)}),
    steps(1, 11),
    steps(15, 90),
    st.integers(13, 22),
    st.integers(4, 9),
    st.sampled_from([[], NIGHT, LATE]),
)
def test_whatever_is_asked_balance_closes_and_limits_hold(
    km: dict[str, float], charger_kw: float, battery_kwh: float, home: int, leave: int, wait: list[dict[str, str]]
) -> None:
    plugged_in = {"from": f"{home}:00", "to": f"0{leave}:00"}
    year = charged(
        km_per_day=km, charger_kw=charger_kw, battery_kwh=battery_kwh, plugged_in=[plugged_in], waits_for=wait
    )
    assert year.load_kw.min() >= 0.0
    assert year.load_kw.max() <= charger_kw
    assert year.load_kw[~in_window(plugged_in)].max() == 0.0
    assert year.need_kwh == pytest.approx(year.delivered_kwh + year.unmet_year_kwh)
    assert year.load_kw.sum() == pytest.approx(year.delivered_kwh)
    # From one departure to the next: the need of the day between, if the stay and the battery hold it.
    day_kwh = np.where(WHERE.weekday[HOUR == 12] < 5, km["weekday"], km["weekend"]) * 0.18 / 0.9
    hours = 24 - home + leave
    if day_kwh.max() <= min((hours - 1) * charger_kw, battery_kwh / 0.9):
        leaves = np.flatnonzero(leave == HOUR)
        for number, (first, last) in enumerate(pairwise(leaves)):
            assert year.load_kw[first:last].sum() == pytest.approx(day_kwh[number], abs=1e-9)


@settings(max_examples=40)
@given(steps(5, 120), steps(3, 11))
def test_waiting_moves_the_energy_and_keeps_its_sum(km: float, charger_kw: float) -> None:
    km_per_day = {"weekday": km, "weekend": km / 2}
    at_once = charged(km_per_day=km_per_day, charger_kw=charger_kw)
    waiting = charged(km_per_day=km_per_day, charger_kw=charger_kw, waits_for=NIGHT)
    assert waiting.load_kw.sum() == pytest.approx(at_once.load_kw.sum())
    if km * 0.2 <= 5 * charger_kw:  # even the night of spring has five hours
        assert waiting.load_kw[~in_window(NIGHT[0])].max() == 0.0


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"plugged_in": [{"days": ["weekday"], "from": "18:00", "to": "07:00"}, {"days": ["weekend"]}]},
         r"plugged in all day on 2026-01-03, but driven 40 km; leave the hours of the drive out"),
        ({"plugged_in": [{}]}, r"plugged in all day on 2026-01-01"),
        ({"plugged_in": [{"days": ["holiday"]}]}, r"plugged_in: the 1st window \(holiday\) holds in no hour of 2026"),
        ({"waits_for": [{"from": "09:00", "to": "12:00"}]}, "waits_for: the car is never plugged in"),
        ({"waits_for": [*NIGHT, {"days": ["holiday"]}]}, r"waits_for: the 2nd window \(holiday\) holds in no hour"),
    ],
)  # fmt: skip
def test_cars_that_cannot_be_are_refused(changes: dict[str, Any], told: str) -> None:
    with pytest.raises(ScenarioError, match=told):
        charged(**changes)
