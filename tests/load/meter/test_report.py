"""What a person is told of a meter's year: gaps, a home with solar of its own, doubts."""

from dataclasses import replace

import numpy as np
import pytest

from solarsim.errors import LoadError
from solarsim.load.meter import Hole, MeterHours, hours_from, load_from_meter
from tests.builders import timeline
from tests.load.meter.series import at, metered, readings, wall_of, with_holes, year_of

PHOENIX = "America/Phoenix"


# Gaps


@pytest.mark.by_hand
def test_missing_hours_take_the_median_of_their_like() -> None:
    """Summer weekdays at 18:00 draw 2 kWh, one of them 50, weekends 3, all else 1; 8 July is a Tuesday."""
    hours = year_of(PHOENIX, 2025, 1.0)
    wall = wall_of(hours)
    day = wall.astype("datetime64[D]")
    summer_evening = (day >= np.datetime64("2025-06-01")) & (day < np.datetime64("2025-09-01"))
    summer_evening &= wall.astype("datetime64[h]").astype(np.int64) % 24 == 18
    weekend = (day.astype(np.int64) + 3) % 7 >= 5
    kwh = np.where(summer_evening, np.where(weekend, 3.0, 2.0), 1.0)
    kwh[wall == np.datetime64("2025-07-09T18:00")] = 50.0
    gone = np.isin(wall, np.array(["2025-07-08T18:00", "2025-07-12T18:00", "2025-07-08T19:00"], "datetime64[s]"))
    where = timeline(PHOENIX, 2025)
    got = load_from_meter(with_holes(replace(hours, import_kwh=kwh), gone), where)
    assert got.load_kw[at(where, "2025-07-08T18:00", "2025-07-12T18:00", "2025-07-08T19:00")].tolist() == [2, 3, 1]
    assert got.report.holes == (Hole("2025-07-08 18:00 MST", 2), Hole("2025-07-12 18:00 MST", 1))
    assert (got.report.filled_hours, got.report.filled_kwh, got.report.calendar_kwh) == (3.0, 6.0, 0.0)
    assert (got.report.hours, got.report.hours_read) == (8760, 8757)


@pytest.mark.by_hand
def test_like_hours_are_of_the_same_three_months() -> None:
    """December to February draws 1, March to May 2, June to August 3, September to November 4: noons at the edges."""
    hours = year_of(PHOENIX, 2025)
    wall = wall_of(hours)
    month = wall.astype("datetime64[M]").astype(np.int64) % 12 + 1
    gone = np.array(
        [f"2025-{day}T12:00" for day in
         ("02-28", "03-01", "05-30", "06-02", "08-29", "09-01", "11-28", "12-01")], "datetime64[s]"
    )  # fmt: skip
    where = timeline(PHOENIX, 2025)
    got = load_from_meter(
        with_holes(replace(hours, import_kwh=np.asarray(month % 12 // 3 + 1, np.float64)), np.isin(wall, gone)), where
    )
    assert got.load_kw[np.isin(where.wall, gone)].tolist() == [1, 2, 2, 3, 3, 4, 4, 1]


def test_more_than_a_tenth_missing_is_refused() -> None:
    hours = year_of(PHOENIX, 2025)
    chosen = np.arange(8760) % 10 == 0
    assert load_from_meter(with_holes(hours, chosen), timeline(PHOENIX, 2025)).report.hours_read == 7884
    chosen[1] = True
    with pytest.raises(LoadError, match=r"^877 of the 8760 hours from 2025-01-01 to 2025-12-31 have no usable reading"):
        load_from_meter(with_holes(hours, chosen), timeline(PHOENIX, 2025))


def test_an_hour_that_was_never_read_is_refused() -> None:
    hours = year_of(PHOENIX, 2025)
    three = np.arange(8760) % 24 == 3
    with pytest.raises(LoadError, match="the hour of 03:00 was never read on weekdays from December to February, so"):
        load_from_meter(with_holes(hours, three), timeline(PHOENIX, 2025))


@pytest.mark.parametrize(("days", "enough"), [(350, True), (349, False)])
def test_less_than_a_year_is_refused_and_monthly_bills_are_named(days: int, enough: bool) -> None:
    last = str(np.datetime64("2025-01-01") + days - 1)
    hours = metered(PHOENIX, "2025-01-01", last)
    if enough:
        assert load_from_meter(hours, timeline(PHOENIX, 2026)).report.hours == 24 * 350
    else:
        told = f"on 349 whole days from 2025-01-01 to {last}, a year needs at least 350: .* write monthly_kwh"
        with pytest.raises(LoadError, match=told):
            load_from_meter(hours, timeline(PHOENIX, 2026))


def test_a_few_hours_are_refused_too() -> None:
    hours = hours_from(readings(["2025-01-01T12:00", "2025-01-01T13:00"], 1.0), PHOENIX)
    with pytest.raises(LoadError, match="was read on 0 whole days"):
        load_from_meter(hours, timeline(PHOENIX, 2026))


# A home that already has solar


def test_export_without_production_is_refused() -> None:
    hours = metered(PHOENIX, "2025-01-01", "2025-12-31", 1.0, 0.125)
    with pytest.raises(
        LoadError, match=r"the meter recorded an export of 1,095.0 kWh from 2025-01-01 to 2025-12-31: a home"
    ):
        load_from_meter(hours, timeline(PHOENIX, 2025))


@pytest.mark.by_hand
def test_impossible_hours_are_listed_and_filled_and_small_ones_raised() -> None:
    """Import 1, export 0.5, production 0.25: 0.75. Without production and import: -0.5; with 0.48 of it: -0.02."""
    hours = metered(PHOENIX, "2025-01-01", "2025-12-31", 1.0, 0.5)
    kwh, sun = hours.import_kwh.copy(), np.full(8760, 0.25)
    kwh[100:103] = 0.0
    sun[100:103] = [0.0, 0.48, np.nan]
    where = timeline(PHOENIX, 2025)
    got = load_from_meter(replace(hours, import_kwh=kwh), where, sun)
    assert got.load_kw[99:104].tolist() == [0.75, 0.75, 0.0, 0.75, 0.75]
    assert got.report.impossible == (Hole("2025-01-05 04:00 MST", 1),)
    assert got.report.holes == (Hole("2025-01-05 06:00 MST", 1),)
    assert got.report.raised_kwh == pytest.approx(0.02)
    assert got.report.filled_hours == 2
    assert got.report.read_kwh == 0.75 * 8757


def test_production_that_does_not_belong_to_the_meter_is_refused() -> None:
    hours = metered(PHOENIX, "2025-01-01", "2025-12-31", 0.0, 0.5)
    where = timeline(PHOENIX, 2025)
    with pytest.raises(LoadError, match=r"is below -0.05 kWh in 8760 of the 8760 hours .* check that production is of"):
        load_from_meter(hours, where, np.zeros(8760))
    with pytest.raises(
        LoadError, match="production has 8759 hours, the meter has 8760 from 2025-01-01T07:00:00 UTC on"
    ):
        load_from_meter(hours, where, np.zeros(8759))
    with pytest.raises(LoadError, match="production is infinite in hour 1"):
        load_from_meter(hours, where, np.full(8760, np.inf))


# The report


@pytest.mark.by_hand
def test_report_knows_base_load_and_peak() -> None:
    hours = year_of(PHOENIX, 2025, 0.5)
    kwh = hours.import_kwh.copy()
    kwh[::10] = 0.25  # a tenth of the hours: the 5th percentile is among them
    kwh[24 * 200 + 18] = 7.0  # 20 July is day 201
    report = load_from_meter(replace(hours, import_kwh=kwh), timeline(PHOENIX, 2025)).report
    assert (report.base_load_kw, report.peak_kw, report.peak_hour) == (0.25, 7.0, "2025-07-20 18:00 MST")
    assert report.estimated_share == 0.0


@pytest.mark.by_hand
def test_report_says_what_was_read_and_laid() -> None:
    """2026 takes Thursday 2 January 2025 twice, for 1 January and 31 December, and Wednesday 1 January not at all."""
    hours = year_of(PHOENIX, 2025, 1.0)
    kwh = hours.import_kwh.copy()
    kwh[:24] = 4.0
    kwh[24:48] = 2.0
    report = load_from_meter(replace(hours, import_kwh=kwh), timeline(PHOENIX, 2026)).report
    # Read: 363 days of 24, one of 96, one of 48. Laid: 363 days of 24, two of 48.
    assert (report.read_kwh, report.laid_kwh, report.filled_kwh) == (8856.0, 8808.0, 0.0)
    assert report.calendar_kwh == -48.0
    assert report.notes[-1] == (
        "8,856.0 kWh were read; 2026 has 8,808.0 kWh: -48.0 kWh (0.5%) come from days that"
        " its calendar uses twice or not at all."
    )


def drawing() -> MeterHours:
    """Give a year without anything doubtful: 0.5 to 1.5 kWh an hour."""
    hours = year_of(PHOENIX, 2025)
    return replace(hours, import_kwh=hours.import_kwh / 2 + 0.5)


def warned(hours: MeterHours) -> tuple[str, ...]:
    return load_from_meter(hours, timeline(PHOENIX, 2025)).report.warnings


@pytest.mark.trade
def test_doubtful_readings_are_told() -> None:
    plain = drawing()
    assert warned(plain) == ()
    assert "a year is high for a home" in warned(replace(plain, import_kwh=plain.import_kwh * 10))[0]
    assert "a year is low for a home" in warned(replace(plain, import_kwh=plain.import_kwh / 100))[0]
    assert "40% of the hours read are 0" in warned(
        replace(plain, import_kwh=np.where(np.arange(8760) % 5 < 2, 0.0, plain.import_kwh))
    )[0]  # fmt: skip
    assert (
        "20% of the hours read are estimates of the utility"
        in warned(replace(plain, estimated_share=np.full(8760, 0.2)))[0]
    )


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("begin", "value", "when"),
    [(240, 0.75, "2025-01-11 00:00"), (0, 0.0, "2025-01-01 00:00"), (8712, 0.0, "2025-12-30 00:00")],
)
def test_a_meter_that_stands_still_is_told(begin: int, value: float, when: str) -> None:
    kwh = drawing().import_kwh.copy()
    kwh[begin : begin + 48] = value
    assert warned(replace(drawing(), import_kwh=kwh)) == (
        f"The load is {value:g} kWh in each of 48 hours in a row from {when} MST: the meter may have stopped.",
    )
    for other in (1.25, np.nan):
        kwh[begin + 20] = other
        assert warned(replace(drawing(), import_kwh=kwh)) == ()
    kwh[begin : begin + 48] = value
    kwh[begin + 47] = 1.25
    assert warned(replace(drawing(), import_kwh=kwh)) == ()


def test_more_than_1000_kwh_in_an_hour_is_refused() -> None:
    kwh = drawing().import_kwh.copy()
    kwh[12] = 1500.0
    with pytest.raises(LoadError, match=r"the hour of 2025-01-01 12:00 MST has 1,500 kWh, must be at most 200"):
        warned(replace(drawing(), import_kwh=kwh))


def test_notes_of_the_hours_come_first() -> None:
    hours = replace(year_of(PHOENIX, 2025, 1.0), notes=("Read.",))
    assert load_from_meter(hours, timeline(PHOENIX, 2025)).report.notes == (
        "Read.",
        "8,760.0 kWh were read; 2025 has 8,760.0 kWh: +0.0 kWh (0.0%) come from days that"
        " its calendar uses twice or not at all.",
    )
