"""The load by itself: sums, base and peak, its map and its mean days."""

from typing import Any

import numpy as np
import pytest

from solarsim.home import home_from
from solarsim.studies.load import LoadYear, load_year
from tests.builders import scenario

FRIDGE = {
    "kind": "appliance",
    "name": "fridge",
    "critical": True,
    "in_bills": False,
    "power_w": 100.0,
    "always_duty": 0.5,
}
OVEN = {
    "kind": "appliance", "name": "oven", "critical": False, "in_bills": False, "power_w": 2000.0,
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
    assert [part.critical_share for part in house.parts] == [0.0, 0.0, 1.0]
    assert [part.backed_up_share for part in house.parts] == [None] * 3, "without [arrangement] there are no outages"
    assert house.backed_up_kwh is None
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
    by_hour = house.timeline.by_hour_and_day(house.load_kw)
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


@pytest.mark.parametrize(("kind", "shares"), [("all", [1, 1, 1]), ("critical", [0.25, 0, 1]), (None, [0, 0, 0])])
def test_each_part_is_backed_up_as_outages_counts_it(kind: str | None, shares: list[float]) -> None:
    """The parts add up to the home's own supply, from which ``outages`` counts."""
    load = {"monthly_kwh": [310.0] * 12, "shape": "evenings", "critical_share": 0.25, "parts": [FRIDGE, OVEN]}
    hybrid = {"kind": "hybrid", "backed_up": kind, "transfer": "automatic", "transfer_seconds": 0.0}
    home = home_from(scenario(load=load, arrangement=hybrid if kind else {"kind": "grid_tied"}))
    house = load_year(home.scenario)
    assert [part.backed_up_share for part in house.parts] == shares
    assert home.supply is not None
    standby_kwh = 8.76 * home.scenario.inverter.standby_w if kind else 0.0  # a hybrid backs it up
    backed_up_kwh = sum(part.load_kwh * share for part, share in zip(house.parts, shares, strict=True))
    assert home.supply.backed_kw.sum() == pytest.approx(backed_up_kwh + standby_kwh, rel=1e-9)
    assert house.backed_up_kwh == pytest.approx(backed_up_kwh)


def plugged(*windows: dict[str, Any], **site: Any) -> dict[tuple[str, str, int], tuple[int, ...]]:
    car = {
        "kind": "electric_car", "name": "car", "critical": False, "km_per_day": {"weekday": 40, "weekend": 20},
        "kwh_per_km": 0.18, "charging_efficiency": 0.9, "charger_kw": 7.0, "battery_kwh": 60.0, "plugged_in": windows,
    }  # fmt: skip
    found = load_year(scenario(load={"parts": [car]}, **site)).plugged_in
    assert {stay.car for stay in found} == {"car"}
    return {(stay.start, stay.end, stay.days_later): stay.stays_by_weekday for stay in found}


@pytest.mark.by_hand
def test_a_car_s_nights_are_told_from_their_windows() -> None:
    """In 2026, which begins and ends on a Thursday: 53 Thursdays, 52 of every other day; the year is a circle."""
    assert plugged({"from": "18:00", "to": "07:00"}) == {("18:00", "07:00", 1): (52, 52, 52, 53, 52, 52, 52)}
    friday = plugged(
        {"days": ["fri"], "from": "18:00", "to": "24:00"}, {"days": ["sat"], "from": "00:00", "to": "07:00"}
    )
    assert friday == {("18:00", "07:00", 1): (0, 0, 0, 0, 52, 0, 0)}
    # Friday alone has its own early hours, not those of Saturday; Thursday's evening is followed by them.
    assert plugged({"days": ["fri"], "from": "18:00", "to": "07:00"}) == {
        ("00:00", "07:00", 0): (0, 0, 0, 0, 52, 0, 0),
        ("18:00", "24:00", 0): (0, 0, 0, 0, 52, 0, 0),
    }
    thursday = plugged({"days": ["thu", "fri"], "from": "18:00", "to": "07:00"})
    assert thursday[("18:00", "07:00", 1)] == (0, 0, 0, 53, 0, 0, 0)  # the last one ends on 1 January, a Thursday
    assert plugged({"days": ["sun"], "from": "09:00", "to": "15:00"}) == {("09:00", "15:00", 0): (0,) * 6 + (52,)}
