"""A strategy's year: its table, hourly CSV, JSON, and what its picture contains (a person looks at how it reads)."""

import csv
import io
import json
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from rich.table import Table

from solarsim.errors import OutputError, ScenarioError, UnknownNameError
from solarsim.ledger.flows import COLUMNS, HOURLY
from solarsim.run import Run
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.flows import FlowsYear, flows
from solarsim.views.figure import figure_bytes
from solarsim.views.flows import csv as hourly_csv
from solarsim.views.flows import figure, page
from solarsim.views.flows_figure import SHADE
from solarsim.views.json_text import to_json
from tests.builders import scenario, timeline
from tests.homes_without_grid import storm, storm_home
from tests.views.test_tables import shown


def year_of(comparison: Comparison, run: Run | None = None) -> FlowsYear:
    """Return what ``flows`` returns of a run that is known."""
    return FlowsYear(comparison.home, run or comparison.runs[0], comparison.scenario, comparison.currency)


@pytest.mark.parametrize("width", [80, 100])
def test_months_add_up_to_the_year(demo_comparison: Comparison, width: int) -> None:
    (table,) = [part for part in page(year_of(demo_comparison)) if isinstance(part, Table)]
    lines = shown(table, width)
    assert max(map(len, lines)) <= width
    assert "…" not in "".join(lines)
    assert [line.split()[0] for line in lines if line[1:4].strip().isalpha()][-13:-1] == [
        "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"
    ]  # fmt: skip
    assert lines[-2].split()[0] == "Year"
    assert lines[-2].split()[-1] == "399.75"


def test_csv_gives_the_flows_back_to_a_millionth_of_a_watt(demo_comparison: Comparison) -> None:
    year = year_of(demo_comparison)
    rows = list(csv.DictReader(io.StringIO(hourly_csv(year))))
    assert len(rows) == 8760
    assert rows[0]["time"] == rows[0]["local_time"] == "2026-01-01T00:00:00-05:00"
    by_time = {row["time"]: row["local_time"] for row in rows}
    assert by_time["2026-07-03T15:00:00-05:00"] == "2026-07-03T16:00:00-04:00"
    # Each row's two times are one moment, and the clock of New York is that of the operating system's zone data.
    for row in rows[::97]:
        moment = datetime.fromisoformat(row["time"])
        assert row["local_time"] == moment.astimezone(ZoneInfo("America/New_York")).isoformat()
    for name in ("load_kw", "pv_available_kw", "battery_kwh", "soc", "import_price"):
        np.testing.assert_allclose([float(row[name]) for row in rows], year.run.flows[name], atol=1e-9)


def test_csv_gives_every_column_back_without_minus_zeros(demo_comparison: Comparison) -> None:
    run = demo_comparison.runs[0]
    spoiled = replace(run.flows, given={**run.flows.given, "unserved_kw": np.full(8760, -1e-12)})
    there = replace(run, ledger=replace(run.ledger, _flows=spoiled))
    header, *lines = hourly_csv(year_of(demo_comparison, there)).splitlines()
    assert header.split(",") == list(HOURLY)
    names = [name for name in COLUMNS if name not in ("source", "temperature_blocked_kw")]
    assert header.split(",")[1:-1] == names
    table = np.array([[float(value) for value in line.split(",")[1:-1]] for line in lines])
    for place, name in enumerate(names):
        np.testing.assert_allclose(table[:, place], run.flows[name], atol=1e-9, err_msg=name)
    assert not any("-0.0," in line for line in lines)


def test_json_holds_the_year_and_each_month(demo_comparison: Comparison) -> None:
    run = demo_comparison.runs[0]
    found = json.loads(to_json(year_of(demo_comparison).record()))
    assert [month["month"] for month in found["months"]] == list(range(1, 13))
    assert sum(month["bill"] for month in found["months"]) == pytest.approx(found["strategy"]["annual_bill"])
    for month in found["months"]:
        assert month["import_kwh"] == pytest.approx(run.monthly()["import_kwh"][month["month"]])


def test_month_shows_all_series_with_units(demo_comparison: Comparison) -> None:
    run = next(run for run in demo_comparison.runs if run.strategy == "zero export")
    drawn = figure(year_of(demo_comparison, run), month=7)
    legends = [legend for panel in drawn.axes if (legend := panel.get_legend())]
    labels = {text.get_text() for legend in legends for text in legend.get_texts()}
    assert len(legends) == 3
    assert labels == {
        "highest import price:\n0.34 USD/kWh", "PV available (DC)", "clipped and curtailed", "load and standby",
        "discharge", "charge", "import", "export", "state of charge", "discharge floor",
    }  # fmt: skip
    assert [panel.get_ylabel() for panel in drawn.axes] == [
        "kW", "kW   charge, export  |  discharge, import", "state of charge, %",
    ]  # fmt: skip
    assert "Jul 2026, wall-clock time in America/New_York" in drawn.axes[-1].get_xlabel()


def test_picture_shows_the_numbers_of_the_table(demo_comparison: Comparison) -> None:
    """Each series of July, drawn against the hours of the table: value, sign and place in time."""
    run = next(run for run in demo_comparison.runs if run.strategy == "zero export")
    july = run.flows.timeline.month == 7
    f = {name: run.flows[name][july] for name in COLUMNS}
    power, meter, last = figure(year_of(demo_comparison, run), month=7).axes
    drawn = {str(p.get_label()): p for panel in (power, meter, last) for p in panel.patches if hasattr(p, "get_data")}
    gives = f["battery_to_load_kw"] + f["battery_to_grid_kw"]
    taken = np.maximum(run.flows.battery_change_kwh[july], 0.0)
    expected = {
        "PV available (DC)": (f["pv_available_kw"], 0.0),
        "clipped and curtailed": (f["pv_available_kw"], f["pv_available_kw"] - f["clipped_kw"] - f["curtailed_kw"]),
        "load and standby": (f["load_kw"] + f["standby_kw"], 0.0),
        "discharge": (gives, 0.0),
        "charge": (-taken, 0.0),
        "import": (gives + f["import_kw"], gives),
        "export": (-taken - f["export_kw"], -taken),
    }
    for label, (values, baseline) in expected.items():
        data = drawn[label].get_data()
        np.testing.assert_allclose(data.values, values, err_msg=label)
        np.testing.assert_allclose(data.baseline + 0 * values, baseline + 0 * values, err_msg=label)
    (soc,) = [line for line in last.lines if line.get_label() == "state of charge"]
    np.testing.assert_allclose(np.asarray(soc.get_ydata(), np.float64), f["soc"] * 100)
    np.testing.assert_allclose(np.asarray(soc.get_xdata(), np.float64), drawn["import"].get_data().edges[1:])


def test_peak_hours_are_shaded_where_prices_differ(demo_comparison: Comparison) -> None:
    # 23 weekdays of July 2026 without the 4th, which is a Saturday: 23 windows of 5 hours.
    shaded = [
        patch for patch in figure(year_of(demo_comparison), month=7).axes[2].patches if patch.get_alpha() == SHADE
    ]
    assert len(shaded) == 23
    assert all(patch.get_width() == pytest.approx(5 / 24) for patch in shaded)  # type: ignore[attr-defined]


def test_month_spans_a_month_where_summer_time_covers_new_year(demo_comparison: Comparison) -> None:
    run = demo_comparison.runs[0]
    there = replace(run, ledger=replace(run.ledger, _flows=replace(run.flows, timeline=timeline("Australia/Sydney"))))
    low, high = figure(year_of(demo_comparison, there), month=1).axes[2].get_xlim()
    assert high - low == pytest.approx(31.0)


def test_price_that_is_the_rule_is_not_shaded_and_no_battery_has_no_panel() -> None:
    drawn = figure(flows(scenario(battery=None)), month=7)
    assert len(drawn.axes) == 2
    assert all(patch.get_alpha() != SHADE for panel in drawn.axes for patch in panel.patches)


def test_no_day_is_labelled_beyond_the_month(demo_comparison: Comparison) -> None:
    last = figure(year_of(demo_comparison), month=1).axes[-1]
    assert len(last.get_xticks()) == 16  # 1, 3, ... 31 January
    assert max(last.get_xticks()) < last.get_xlim()[1]


@pytest.mark.parametrize("month", [3, 11])
def test_months_of_clock_changes_are_drawn(demo_comparison: Comparison, month: int) -> None:
    assert figure_bytes(figure(year_of(demo_comparison), month=month), Path("x.png")).startswith(b"\x89PNG")


@pytest.mark.parametrize(("name", "begins"), [("x.svg", b"<?xml"), ("x.pdf", b"%PDF"), ("x.PNG", b"\x89PNG")])
def test_format_follows_the_suffix(demo_comparison: Comparison, name: str, begins: bytes) -> None:
    assert figure_bytes(figure(year_of(demo_comparison), month=1), Path(name)).startswith(begins)


def test_other_suffix_is_refused(demo_comparison: Comparison) -> None:
    with pytest.raises(OutputError, match=r"ends with \.png, \.svg or \.pdf"):
        figure_bytes(figure(year_of(demo_comparison), month=1), Path("x.bmp"))


def test_days_add_up_to_the_months(demo_comparison: Comparison) -> None:
    year = year_of(demo_comparison)
    days = year.days()
    assert [days[0].day, days[-1].day, len(days)] == ["2026-01-01", "2026-12-31", 365]
    for month in (3, 7):
        own = year.days(month)
        assert sum(each.import_kwh for each in own) == pytest.approx(year.months[month - 1].import_kwh)
        assert all(each.day[5:7] == f"{month:02d}" for each in own)
    soc = year.run.flows["soc"]
    assert min(each.soc_lowest or 0.0 for each in days) == soc.min()
    assert max(each.soc_highest or 0.0 for each in days) == soc.max()


@pytest.mark.parametrize("width", [80, 100])
def test_days_of_a_month_are_a_table(demo_comparison: Comparison, width: int) -> None:
    (table,) = [part for part in page(year_of(demo_comparison), daily=True, month=2) if isinstance(part, Table)]
    lines = shown(table, width)
    assert max(map(len, lines)) <= width
    assert sum(line.strip().startswith("Feb ") for line in lines) == 28


def test_week_by_default_is_the_one_with_the_highest_import(demo_comparison: Comparison) -> None:
    year = year_of(demo_comparison)
    first = year.hardest_week()
    assert first.weekday() == 0
    weekly = year.run.hourly()["import_kw"].tz_convert("America/New_York").resample("W-SUN").sum()
    assert str(weekly.idxmax())[:10] == str(first + timedelta(days=6))
    drawn = figure(year)
    low, high = drawn.axes[-1].get_xlim()
    assert high - low == pytest.approx(7.0)
    assert f"{first.day}, 2026" in drawn.axes[-1].get_xlabel()


def test_week_by_default_is_the_one_with_the_most_unserved_and_outages_and_generator_show() -> None:
    year = flows(storm(), None, storm_home())
    drawn = figure(year)
    inside = year.steps_of_days(year.hardest_week(), 7)
    unserved = year.run.flows["unserved_kw"]
    assert unserved[inside].sum() > 0.0
    assert unserved[inside].sum() == pytest.approx(
        max(unserved[year.steps_of_days(date.fromisoformat(each.day), 7)].sum() for each in year.days()[4::7])
    )
    labels = {text.get_text() for panel in drawn.axes if (box := panel.get_legend()) for text in box.get_texts()}
    assert {"outage", "unserved", "generator"} <= labels


def test_day_has_its_hours_and_a_day_of_clock_change_one_less(demo_comparison: Comparison) -> None:
    year = year_of(demo_comparison)
    assert year.steps_of_days(date(2026, 7, 3), 1).size == 24
    assert year.steps_of_days(date(2026, 3, 8), 1).size == 23
    assert year.steps_of_days(date(2026, 12, 29), 7).size == 72
    assert "Friday, Jul 3, 2026" in figure(year, day=date(2026, 7, 3)).axes[-1].get_xlabel()
    with pytest.raises(ScenarioError, match="2025-07-03 is not in 2026"):
        figure(year, day=date(2025, 7, 3))


@pytest.mark.parametrize("calendar_year", [2026, 2028])  # the second is a leap year
def test_map_of_the_year_has_each_hour_in_its_place(calendar_year: int) -> None:
    year = flows(scenario(site__calendar_year=calendar_year))
    (image,) = figure(year, column="import_kw").axes[0].images
    shown_kw = np.asarray(image.get_array())
    assert shown_kw.shape == (24, 365)
    hours, timeline = year.run.flows["import_kw"], year.timeline
    for number in (0, 1400, 1500, 4000, 8759):
        wall = timeline.wall[number].astype(datetime)
        of_year = wall.replace(year=2026).timetuple().tm_yday - 1  # of 365 days
        assert shown_kw[wall.hour, of_year] == hours[number]


def test_unknown_column_is_refused(demo_comparison: Comparison) -> None:
    with pytest.raises(UnknownNameError, match="did you mean 'import_kw'"):
        figure(year_of(demo_comparison), column="import")
