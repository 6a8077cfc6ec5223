"""A settings sheet on paper."""

from typing import Any

import numpy as np
import pytest

from solarsim.home import Home
from solarsim.studies.sheet.sheet import Sheet, sheet
from solarsim.views.sheet import figure, text
from tests.builders import scenario


@pytest.fixture(scope="module")
def winter(demo_home: Home) -> Sheet:
    return sheet(demo_home.scenario, "winter night charge", demo_home)


def test_printed_page_is_80_columns_wide_and_one_page_long(winter: Sheet) -> None:
    lines = text(winter).splitlines()
    assert max(map(len, lines)) <= 80
    assert len(lines) <= 60  # of Letter and A4 in 10 points (common practice, no source)
    assert all(line == line.rstrip() for line in lines)


def test_page_tells_slots_of_the_base_only_where_they_are_keyed_in(winter: Sheet) -> None:
    shown = " ".join(text(winter).split())
    assert "charge from the grid to 70%; do not discharge." in shown
    assert "base settings." not in shown
    assert "Solar: PV available, before clipping and curtailment." in shown
    menu = {
        "slots": 4, "fill_day": True, "days_of_week": True, "seasons": 4, "reserve_in_slots": True, "level_step": 0.01
    }  # fmt: skip
    window = {"from": "23:00", "to": "05:00", "charge_from_grid_to": 0.5}
    filled = " ".join(text(sheet(scenario(inverter__programmable=menu, strategies__0__windows=[window]))).split())
    assert "From 05:00 to 23:00 every day: base settings." in filled
    assert "It can be programmed into this inverter" in filled


def test_every_figure_of_a_day_is_in_full(winter: Sheet) -> None:
    shown = text(winter)
    for day in winter.days:
        assert day.soc_highest is not None
        assert f"{100 * day.soc_highest:.0f}% {day.soc_highest_at}" in shown
        assert f"{day.load_kwh:.1f}" in shown


def test_a_home_without_battery_has_a_sheet_without_charge() -> None:
    night = [{"from": "23:00", "to": "05:00", "charge_from_grid_to": 0.7, "battery_serves_load": False}]
    shown = " ".join(text(sheet(scenario(battery=None, strategies__0__windows=night))).split())
    assert "sunny, " in shown
    assert "No battery, and no export limit that the inverter could exceed: there is nothing to program." in shown
    for absent in ("charge", "level", "Base settings", "must support", "daylight", " 0% "):
        assert absent not in shown
    limited = " ".join(text(sheet(scenario(battery=None, strategies__0__export_limit_kw=0.0))).split())
    assert "No battery: only the export limit has an effect. Base settings: Export nothing." in limited


def test_times_of_a_level_that_hardly_moves_are_left_out() -> None:
    full = sheet(scenario(strategies__0__battery_serves_load=False))
    cloudy = full.days[1]
    assert cloudy.soc_highest is not None
    assert cloudy.soc_lowest is not None
    assert cloudy.soc_highest - cloudy.soc_lowest < 0.02
    row = next(line for line in text(full).splitlines() if " cloudy" in line)
    assert row.split()[-2:] == [f"{100 * cloudy.soc_lowest:.0f}%", f"{100 * cloudy.soc_highest:.0f}%"]


def test_a_picture_has_rows_only_for_what_happens() -> None:
    drawn: Any = figure(sheet(scenario()))
    assert [each.get_text() for each in drawn.axes[0].get_yticklabels()] == ["0%", "50%", "100%"]
    bare: Any = figure(sheet(scenario(battery=None)))
    assert not bare.legends
    assert not bare.axes[0].get_yticklabels()


def test_picture_has_a_week_of_each_season_with_prices_and_direct_labels(winter: Sheet) -> None:
    drawn: Any = figure(winter)
    titles = [panel.get_title(loc="left") for panel in drawn.axes if panel.get_title(loc="left")]
    assert [title.partition(":")[0] for title in titles] == ["Nov-Feb", "Mar, Apr, Oct", "May-Sep"]
    first = drawn.axes[0]
    assert not first.texts  # no words on the marks
    (legend,) = drawn.legends
    assert [each.get_text() for each in legend.get_texts()] == ["state of charge", "discharge floor"]
    for panel in drawn.axes[:3]:
        rows = [each.get_text() for each in panel.get_yticklabels()]
        assert rows[-2:] == ["charges from grid", "must not discharge"]
    for panel, week in zip(drawn.axes[:3], winter.weeks, strict=True):
        bars = panel.collections[-1].get_paths()
        assert len(bars) == 1 + int((np.diff(week.idle.astype(int)) == 1).sum())  # the week begins within one
    styles = {line.get_linestyle() for line in first.lines[:1]} | {patch.get_linestyle() for patch in first.patches}
    assert {"-", "--"} <= styles
    assert any("import price" in panel.get_ylabel() for panel in drawn.axes)


def test_a_long_need_is_indented_behind_its_dash() -> None:
    windows = [{"from": "16:00", "to": "20:00", "sell_down_to": 0.4}]
    lines = text(sheet(scenario(strategies__0__windows=windows))).splitlines()
    number = lines.index("  - selling from the battery down to a level, by slot, where the utility permits")
    assert lines[number + 1] == "    it"
