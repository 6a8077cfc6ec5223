"""What a settings sheet tells, and that it is what runs."""

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import pytest

from solarsim.dispatch.slots import tables_from
from solarsim.dispatch.strategy import dispatch_from
from solarsim.home import Home, home_from
from solarsim.studies.sheet._sentences import needs, slot_sentence
from solarsim.studies.sheet.sheet import Sheet, setting_words, sheet, window_sentence
from tests.builders import scenario, timeline
from tests.dispatch.test_slots import strategy

NIGHT = {"from": "23:00", "to": "05:00", "charge_from_grid_to": 0.7, "battery_serves_load": False}
SEASONS = {
    "name": "two rates",
    "currency": "USD",
    "customer_charge_per_month": 10.0,
    "export": {"pay": "none"},
    "rates": [
        {"name": "summer", "import_price": 0.3, "windows": [{"months": [6, 7, 8]}]},
        {"name": "other", "import_price": 0.2},
    ],
}


def told(*windows: dict[str, Any], **base: Any) -> list[str]:
    """Return the sentences of all slots that are not those of the base."""
    changes = {f"strategies__0__{key}": value for key, value in base.items()}
    home = scenario(strategies__0__windows=list(windows), **changes, battery__nominal_v=51.2)
    tables = tables_from(home.strategies[0], timeline())
    slots = [slot for season in tables.seasons for slot in season.slots if not slot.is_base]
    return [slot_sentence(slot, tables, home.battery_v) for slot in slots]


@pytest.fixture(scope="module")
def winter(demo_home: Home) -> Sheet:
    return sheet(demo_home.scenario, "winter night charge", demo_home)


def test_each_setting_is_told_in_words() -> None:
    evening = {"days": ["mon-fri"], "from": "16:00", "to": "20:00"}
    assert told({**NIGHT, "grid_charge_kw": 3.0}) == [
        "From 23:00 to 05:00 every day: charge from the grid to 70% at up to 3 kW; do not discharge."
    ]
    # 60 A x 51.2 V = 3.072 kW
    assert told({**NIGHT, "grid_charge_a": 60.0}) == [
        "From 23:00 to 05:00 every day: charge from the grid to 70% at up to 60 A (3.07 kW); do not discharge."
    ]
    assert told({**evening, "sell_down_to": 0.4, "sell_limit_kw": 2.5, "surplus_to": "grid"}) == [
        "From 16:00 to 20:00 on Monday to Friday: surplus solar goes to the grid first; sell from the battery to the"
        " grid down to 40% at up to 2.5 kW."
    ]
    assert told({**evening, "import_cap_kw": 2.0, "battery_serves_load": False, "discharge_limit_kw": 1.5}) == [
        "From 16:00 to 20:00 on Monday to Friday: discharge only to limit import to 2 kW, down to 10% at up to 1.5 kW."
    ]
    assert told({"months": [8], "reserve": 0.6, "solar_ceiling": 0.9, "export_limit_kw": 0.0}) == [
        "All day every day: stop solar charging at 90%; keep at least 60%; export nothing."
    ]


def test_a_slot_says_what_it_switches_off() -> None:
    assert told({"from": "05:00", "to": "23:00", "charge_from_grid_to": 0.0}, charge_from_grid_to=0.7) == [
        "From 05:00 to 23:00 every day: do not charge from the grid; serve the home from the battery down to 10%."
    ]


def test_one_wording_for_every_way_not_to_discharge() -> None:
    night = {"from": "23:00", "to": "05:00"}
    no_more = "From 23:00 to 05:00 every day: do not discharge."
    assert told({**night, "reserve": 1.0}) == [no_more]
    assert told({**night, "battery_serves_load": False}) == [no_more]
    assert told({**night, "discharge_limit_kw": 0.0}) == [no_more]
    assert told({**night, "charge_from_grid_to": 1.0}) == [
        "From 23:00 to 05:00 every day: charge from the grid to 100%; do not discharge."
    ]
    # The cap comes before the order to charge: the battery covers demand above it down to the reserve.
    assert told({**night, "charge_from_grid_to": 1.0, "import_cap_kw": 2.0}) == [
        "From 23:00 to 05:00 every day: charge from the grid to 100%; discharge only to limit import to 2 kW, down to"
        " 10%."
    ]


def test_a_floor_above_the_base_s_is_what_to_keep_and_one_below_it_is_told_in_full() -> None:
    evening = {"from": "19:00", "to": "00:00"}
    assert told({**evening, "charge_from_grid_to": 0.4}) == [
        "From 19:00 to 24:00 every day: charge from the grid to 40%; keep at least 40%."
    ]
    assert told({**evening, "reserve": 0.2}, reserve=0.6) == [
        "From 19:00 to 24:00 every day: serve the home from the battery down to 20%."
    ]
    assert told({**evening, "battery_serves_load": False, "sell_down_to": 0.4}) == [
        "From 19:00 to 24:00 every day: sell from the battery to the grid down to 40%; keep at least 40%."
    ]


def test_a_slot_does_not_repeat_the_base_but_says_what_it_ends() -> None:
    evening = {"from": "16:00", "to": "20:00"}
    base = {"charge_from_grid_to": 0.3, "sell_down_to": 0.5, "off_grid_floor": 0.1}
    assert told({**evening, "surplus_to": "grid"}, **base) == [
        "From 16:00 to 20:00 every day: surplus solar goes to the grid first."
    ]
    assert told({**evening, "sell_down_to": 1.0, "off_grid_floor": 0.0}, **base) == [
        "From 16:00 to 20:00 every day: do not sell from the battery; in an outage stop at the low cutoff."
    ]
    # A limit of what is not done anyway has no effect.
    assert told({**evening, "grid_charge_kw": 2.0}) == ["From 16:00 to 20:00 every day: base settings."]


def test_midnight_as_an_end_is_24_for_a_window_too(demo_home: Home) -> None:
    late = {"from": "19:00", "to": "00:00", "reserve": 0.6}
    home = scenario(strategies__0__windows=[late])
    (window,) = home.strategies[0].windows
    with_home = replace(demo_home, scenario=home)
    assert window_sentence(home.strategies[0], window, with_home) == "From 19:00 to 24:00 every day: keep at least 60%."


def test_hours_across_midnight_on_some_days_are_two_spans_of_these_days(demo_home: Home) -> None:
    night = {"from": "14:00", "to": "06:00", "reserve": 0.6}
    home = scenario(strategies__0__windows=[{**night, "days": ["mon-fri"]}, {**night, "reserve": 0.5}])
    with_home = replace(demo_home, scenario=home)
    chosen = home.strategies[0]
    assert [window_sentence(chosen, window, with_home) for window in chosen.windows] == [
        "From 00:00 to 06:00 and from 14:00 to 24:00 on Monday to Friday: keep at least 60%.",
        "From 14:00 to 06:00 every day: keep at least 50%.",
    ]


def test_each_setting_of_a_window_has_words_of_its_own(demo_home: Home) -> None:
    window = {"from": "23:00", "to": "05:00", "charge_from_grid_to": 0.35, "battery_serves_load": False}
    changes = {"surplus_to": "grid", "sell_down_to": 0.6}
    home = scenario(strategies__0__windows=[window, {**changes, "from": "17:00", "to": "19:00"}])
    with_home = replace(demo_home, scenario=home)
    chosen = home.strategies[0]
    told = [[setting_words(chosen, each, key, with_home) for key in sorted(each.changes())] for each in chosen.windows]
    assert told == [
        ["do not discharge", "charge from the grid to 35%"],
        ["sell from the battery to the grid down to 60%", "surplus solar goes to the grid first"],
    ]


def test_slots_of_the_same_days_stand_together() -> None:
    workdays = {"days": ["mon-fri"], "reserve": 0.6}
    weekend = {"days": ["sat-sun"], "battery_serves_load": False}
    found = told({**workdays, "from": "00:00", "to": "06:00"}, {**workdays, "from": "20:00", "to": "24:00"}, weekend)
    assert [sentence.partition(" on ")[2] for sentence in found] == [
        "Monday to Friday: keep at least 60%.",
        "Monday to Friday: keep at least 60%.",
        "Saturday and Sunday: do not discharge.",
    ]


def test_needs_name_what_the_menu_must_have(winter: Sheet) -> None:
    assert winter.needs == (
        "1 time slot in addition to the base settings, or 2 slots that fill the day",
        "2 tables by season, or settings changed by hand on Mar 1 and Nov 1",
        "charging from the grid to a level, by slot",
        "discharge permitted or not, by slot",
    )
    assert winter.misfits is None


def test_needs_name_the_one_case_of_a_given_menu_and_no_reserve_that_has_no_effect() -> None:
    menu = {"slots": 4, "days_of_week": True, "seasons": 1, "reserve_in_slots": True, "level_step": 0.05}
    window = {"from": "23:00", "to": "05:00", "reserve": 1.0}

    def needed(fill_day: bool) -> tuple[str, ...]:
        home = scenario(inverter__programmable={**menu, "fill_day": fill_day}, strategies__0__windows=[window])
        return sheet(home).needs

    assert needed(fill_day=True) == ("2 slots that fill the day", "discharge permitted or not, by slot")
    assert needed(fill_day=False)[0] == "1 time slot in addition to the base settings"


def test_daylight_saving_is_told_only_with_time_slots() -> None:
    for windows in ([], [{"months": [8], "reserve": 0.6}]):
        assert sheet(scenario(strategies__0__windows=windows)).clock == ()


def test_days_are_of_those_to_which_the_season_s_slots_apply(demo_home: Home) -> None:
    found = sheet(demo_home.scenario, "hold for the peak", demo_home)
    holidays = {"2026-01-01", "2026-05-25", "2026-07-04", "2026-09-07", "2026-11-26", "2026-12-25"}  # of the demo
    for day in found.days:
        assert date.fromisoformat(day.date).weekday() < 5
        assert day.date not in holidays


def test_a_few_holidays_do_not_stand_for_a_season() -> None:
    windows = [{"days": ["holiday"], "reserve": 0.9}, {"days": ["weekday"], "reserve": 0.6}]
    home = scenario(site__holidays={"country": "US", "observed": False}, strategies__0__windows=windows)
    assert all(date.fromisoformat(day.date).weekday() < 5 for day in sheet(home).days)


def test_without_a_battery_the_export_limit_is_all_that_is_programmed() -> None:
    bare = sheet(scenario(battery=None, strategies__0__windows=[NIGHT]))
    assert (bare.base, bare.needs, bare.has_orders) == ("No export limit.", (), False)
    assert all(slot.is_base for season in bare.seasons for slot in season.slots)
    noon = {"from": "11:00", "to": "14:00", "export_limit_kw": 1.0, "reserve": 0.5}
    limited = sheet(scenario(battery=None, strategies__0__windows=[{**NIGHT, "to": "12:00"}, noon]))
    shown = [slot.sentence for slot in limited.seasons[0].slots if not slot.is_base]
    assert shown == ["From 12:00 to 14:00 every day: limit export to 1 kW."]  # until 12:00 the first window governs
    assert limited.has_orders
    limits = dispatch_from(limited.typed_back(), None, limited.home.timeline).export_limit_kw
    np.testing.assert_array_equal(limits, limited.home.dispatches["home first"].export_limit_kw)


def test_a_week_says_when_the_battery_must_not_discharge(winter: Sheet) -> None:
    for week in winter.weeks:
        hour = winter.home.timeline.minute_of_day[week.steps] // 60
        np.testing.assert_array_equal(week.idle, (hour >= 23) | (hour < 5))
        assert winter.run.flows["battery_to_load_kw"][week.steps][week.idle].max() == 0.0


def test_daylight_saving_is_dated(winter: Sheet) -> None:
    # Second Sunday of March and first Sunday of November 2026 (US rule).
    assert "forward 60 minutes on Mar 8, 2026, back on Nov 1, 2026" in winter.clock[0]
    phoenix = sheet(scenario(site__time_zone="America/Phoenix", strategies__0__windows=[NIGHT]))
    assert phoenix.clock == ("The clock of America/Phoenix does not change in 2026.",)


def test_days_are_by_season_of_strategy_and_prices_and_sum_the_hours(winter: Sheet) -> None:
    assert [day.season for day in winter.days[::2]] == ["Nov-Feb", "Mar, Apr, Oct", "May-Sep"]
    hours = winter.run.hourly().tz_convert("America/New_York")
    for day in winter.days:
        rows = hours.loc[day.date]
        assert len(rows) == 24
        assert rows["import_kw"].sum() == pytest.approx(day.import_kwh)
        assert rows["grid_to_battery_kw"].sum() == pytest.approx(day.grid_to_battery_kwh)
        assert rows["soc"].min() == pytest.approx(day.soc_lowest)
    daily = hours["pv_available_kw"].groupby(pd.DatetimeIndex(hours.index).date).sum()
    summer = daily[[date.month in range(5, 10) for date in daily.index]]
    sunny, cloudy = winter.days[-2:]
    # Rank 0.9 and 0.1 of 153 days.
    assert (summer < sunny.pv_available_kwh - 1e-6).sum() == round(0.9 * 152)
    assert (summer < cloudy.pv_available_kwh - 1e-6).sum() == round(0.1 * 152)


def test_a_week_is_seven_days_from_a_monday_within_its_season(winter: Sheet) -> None:
    for week, first_month in zip(winter.weeks, ((11, 12, 1, 2), (3, 4, 10), range(5, 10)), strict=True):
        wall = winter.home.timeline.wall[week.steps]
        assert winter.home.timeline.weekday[week.steps[0]] == 0
        assert str(wall[0])[:10] == week.first_day
        assert set(winter.home.timeline.month[week.steps]) <= set(first_month)
        assert abs(week.steps.size - 168) <= 1


def test_prices_alone_make_seasons_too() -> None:
    found = sheet(scenario(rate_plan=SEASONS))
    assert [day.season for day in found.days] == ["Sep-May", "Sep-May", "Jun-Aug", "Jun-Aug"]
    assert len(found.seasons) == 1


def test_typed_back_it_is_the_same_dispatch(winter: Sheet) -> None:
    grid = winter.home.scenario.grid
    back = dispatch_from(winter.typed_back(), grid, winter.home.timeline, winter.home.scenario.battery_v)
    ours = dispatch_from(winter.home.scenario.strategy("winter night charge"), grid, winter.home.timeline)
    for one, other in zip(ours, back, strict=True):
        np.testing.assert_array_equal(one, other)


def test_misfits_are_told_where_the_menu_is_written() -> None:
    menu = {
        "slots": 1, "fill_day": True, "days_of_week": False, "seasons": 1, "reserve_in_slots": True, "level_step": 0.05
    }  # fmt: skip
    home = home_from(scenario(inverter__programmable=menu, strategies__0__windows=[NIGHT]))
    found = sheet(home.scenario, home=home)
    assert found.misfits == ("this inverter has 1 time slot; the strategy needs 2",)
    assert found.fills_day
    assert any("this inverter has 1 time slot" in note for note in found.notes)


def test_the_utility_s_export_limit_is_keyed_in_where_the_inverter_can_exceed_it(winter: Sheet) -> None:
    assert "export" not in winter.base  # 6 kW of both
    selling = {"from": "16:00", "to": "20:00", "sell_down_to": 0.4, "export_limit_kw": 4.0}
    limited = sheet(scenario(grid={"export_limit_kw": 3.0}, strategies__0__windows=[selling]))
    assert limited.base.endswith("do not sell from the battery; limit export to 3 kW.")
    assert "limit export" not in limited.seasons[0].slots[0].sentence
    none = sheet(scenario(grid={"export_limit_kw": 0.0}, strategies__0__windows=[selling]))
    assert none.base.endswith("export nothing.")
    assert not any("sell" in slot.sentence for slot in none.seasons[0].slots)


def needed(*windows: dict[str, Any], **base: Any) -> tuple[str, ...]:
    """Return what the menu must have beyond time slots."""
    found = needs(tables_from(strategy(*windows, **base), timeline()), None, has_battery=True)
    return tuple(need for need in found if "time slot" not in need and "tables by season" not in need)


EVENING = {"from": "16:00", "to": "20:00"}
SELLING = "selling from the battery down to a level"


@pytest.mark.parametrize(
    ("slot", "base", "told"),
    [
        ({"surplus_to": "grid"}, {}, ("sending surplus solar to the grid before the battery, by slot",)),
        ({}, {"surplus_to": "grid"}, ("sending surplus solar to the grid before the battery",)),
        ({}, {"solar_ceiling": 0.9}, ("a ceiling for solar charging",)),
        ({"solar_ceiling": 0.9}, {}, ("a ceiling for solar charging, by slot",)),
        ({}, {"battery_serves_load": False}, ("no discharge while the grid is available",)),
        (
            {"grid_charge_kw": 2.0},
            {"charge_from_grid_to": 0.3},
            ("charging from the grid to a level", "a power or current limit for charging from the grid, by slot"),
        ),
        ({"grid_charge_kw": 2.0}, {}, ()),  # nothing is charged from the grid
        ({"discharge_limit_a": 20.0}, {}, ("a power or current limit for discharging, by slot",)),
        ({"reserve": 0.6}, {}, ("a reserve for each slot",)),
        (
            {"sell_down_to": 0.4, "sell_limit_kw": 2.0},
            {},
            (f"{SELLING}, by slot, where the utility permits it", "a power limit for selling"),
        ),
        (
            {"sell_limit_kw": 2.0},
            {"sell_down_to": 0.4},
            (f"{SELLING}, where the utility permits it", "a power limit for selling, by slot"),
        ),
        ({"import_cap_kw": 3.0}, {}, ("an import limit, by slot, with a sensor at the meter",)),
        ({}, {"export_limit_kw": 3.0}, ("an export limit, with a sensor at the meter",)),
        (
            {"export_limit_kw": 0.0},
            {"zero_export_bias_kw": 0.1},
            (
                "an export limit, by slot, with a sensor at the meter",
                "a small import that is kept while nothing is exported",
            ),
        ),
        ({}, {"load_served": "backed_up"}, ("serving only the backed-up loads",)),
        ({"load_served": "backed_up"}, {}, ("serving only the backed-up loads, by slot",)),
        (
            {"off_grid_floor": 0.3, "reserve": 0.3},
            {},
            (
                "a reserve for each slot",
                "a low limit off the grid that is separate from the one on the grid, by slot",
            ),
        ),
    ],
    ids=str,
)  # fmt: skip
def test_each_setting_that_is_not_the_usual_one_is_a_need(
    slot: dict[str, Any], base: dict[str, Any], told: tuple[str, ...]
) -> None:
    assert needed(*([{**EVENING, **slot}] if slot else []), **base) == told


def test_a_setting_that_differs_only_by_season_is_needed_by_season() -> None:
    assert needed({"months": (6, 7, 8), "surplus_to": "grid"}) == (
        "sending surplus solar to the grid before the battery, by season",
    )


def test_one_table_and_two_seasons_is_one_truth() -> None:
    menu = {
        "slots": 4, "fill_day": False, "days_of_week": True, "seasons": 1, "reserve_in_slots": True, "level_step": 0.05
    }  # fmt: skip
    summer = [{"months": [6, 7, 8], "surplus_to": "grid"}]
    found = sheet(scenario(inverter__programmable=menu, strategies__0__windows=summer))
    assert found.needs[0] == "2 tables by season"
    assert found.misfits == (
        "this inverter has one table for the whole year; the strategy needs 2, so its settings would have to be changed"
        " by hand on Jun 1 and Sep 1",
    )
    assert sheet(scenario(strategies__0__windows=summer)).needs[0] == (
        "2 tables by season, or settings changed by hand on Jun 1 and Sep 1"
    )
