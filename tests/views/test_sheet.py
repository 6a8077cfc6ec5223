"""A settings sheet on paper."""

from typing import Any

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
    shown = text(sheet(scenario(battery=None)))
    assert "sunny, " in shown
    assert "No battery: only an export limit has an effect." in shown
    assert " 0% " not in shown


def test_picture_has_a_week_of_each_season_with_prices_and_direct_labels(winter: Sheet) -> None:
    drawn: Any = figure(winter)
    titles = [panel.get_title(loc="left") for panel in drawn.axes if panel.get_title(loc="left")]
    assert [title.partition(":")[0] for title in titles] == ["Nov-Feb", "Mar, Apr, Oct", "May-Sep"]
    first = drawn.axes[0]
    assert [each.get_text() for each in first.texts] == ["state of charge", "discharge floor", "charges from the grid"]
    styles = {line.get_linestyle() for line in first.lines[:1]} | {patch.get_linestyle() for patch in first.patches}
    assert {"-", "--"} <= styles
    assert any("import price" in panel.get_ylabel() for panel in drawn.axes)
