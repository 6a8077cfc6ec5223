"""The load by itself: sums, base and peak, its map and its mean days."""

import numpy as np
import pytest

from solarsim.studies.load import LoadYear, load_year
from tests.builders import scenario

FRIDGE = {"kind": "appliance", "name": "fridge", "critical": True, "power_w": 100.0, "always_duty": 0.5}
OVEN = {
    "kind": "appliance", "name": "oven", "critical": False, "power_w": 2000.0,
    "windows": [{"from": "18:00", "to": "19:00", "duty": 1.0}],
}  # fmt: skip


@pytest.fixture(scope="module")
def house() -> LoadYear:
    return load_year(scenario(load={"monthly_kwh": [310.0] * 12, "shape": "evenings", "parts": [FRIDGE, OVEN]}))


@pytest.mark.by_hand
def test_sums_base_and_peak(house: LoadYear) -> None:
    assert house.load_kwh == pytest.approx(12 * 310 + 0.05 * 8760 + 2.0 * 365)
    assert house.critical_kwh == pytest.approx(0.05 * 8760)
    parts = {part.name: part.load_kwh for part in house.parts}
    assert parts == pytest.approx({"all else": 3720.0, "oven": 730.0, "fridge": 438.0})
    assert sum(part.share for part in house.parts) == pytest.approx(1.0)
    assert [part.critical for part in house.parts] == [False, False, True]
    assert house.months[0].load_kwh == pytest.approx(310 + 0.05 * 744 + 62)
    assert house.months[0].daily_kwh == pytest.approx(house.months[0].load_kwh / 31)
    assert sum(month.load_kwh for month in house.months) == pytest.approx(house.load_kwh)
    assert house.peak_load_time.endswith("18:00")
    assert max(month.peak_load_kw for month in house.months) == house.peak_load_kw == house.load_kw.max()
    assert (house.load_kw < house.base_load_kw).mean() == pytest.approx(0.05, abs=0.001)
    assert min(month.base_load_kw for month in house.months) < house.base_load_kw
    assert max(month.base_load_kw for month in house.months) > house.base_load_kw


@pytest.mark.by_hand
def test_map_stands_on_the_wall_clock(house: LoadYear) -> None:
    by_hour = house.by_hour_and_day()
    assert by_hour.shape == (24, 365)
    assert np.argwhere(np.isnan(by_hour)).tolist() == [[2, 66]]  # 8 March 2026, 02:00: skipped
    assert (by_hour[18] - by_hour[17] > 1.5).all(), "the oven runs from 18:00 by the wall clock all year"


@pytest.mark.by_hand
def test_mean_days_by_season(house: LoadYear) -> None:
    assert [day.months for day in house.mean_days] == [(1, 2, 12), (3, 4, 5, 10, 11), (6, 7, 8, 9)]
    free_day = house.timeline.day_kind > 0
    for day in house.mean_days:
        here = np.isin(house.timeline.month, day.months) & (house.timeline.minute_of_day == 18 * 60)
        assert day.weekday_kw[18] == pytest.approx(house.load_kw[here & ~free_day].mean())
        assert day.weekend_kw[18] == pytest.approx(house.load_kw[here & free_day].mean())
        assert day.weekday_kw.size == day.weekend_kw.size == 24
        assert day.weekday_kw[18] > 2.05, "oven and fridge"
        assert day.weekday_kw[3] < 1.0
