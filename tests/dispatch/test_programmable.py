"""What cannot be programmed, and why."""

from typing import Any

import pytest

from solarsim.dispatch.programmable import misfits
from solarsim.home import home_from
from solarsim.scenario.programmable import Programmable
from tests.builders import scenario, timeline
from tests.dispatch.test_slots import NO_HOLIDAYS, WITH_HOLIDAYS, strategy

WIDE: dict[str, Any] = {
    "slots": 6, "fill_day": False, "days_of_week": True, "seasons": 4, "reserve_in_slots": True, "level_step": 0.01,
}  # fmt: skip
NIGHT = {"from": "23:00", "to": "05:00", "charge_from_grid_to": 0.7}
EVENING = {"days": ("mon-fri",), "from": "16:00", "to": "20:00", "reserve": 0.1}
SUMMER = {"months": (6, 7, 8), "surplus_to": "grid"}


@pytest.mark.parametrize(
    ("machine", "windows", "told"),
    [
        ({}, (NIGHT, EVENING, SUMMER), []),
        ({"slots": 1}, (NIGHT, EVENING), ["this inverter has 1 time slot; the strategy needs 2"]),
        # 05-16, 16-20 on two kinds of days, 20-23, 23-05.
        ({"slots": 4, "fill_day": True}, (NIGHT, EVENING), ["this inverter has 4 time slots; the strategy needs 5"]),
        # In summer the night and the rest of the day.
        ({"slots": 1}, (NIGHT, SUMMER), ["this inverter has 1 time slot; the strategy needs 2 (Jun-Aug)"]),
        (
            {"seasons": 1},
            (SUMMER,),
            [
                "this inverter has one table for the whole year; the strategy needs 2, so its settings would have to be"
                " changed by hand on Jun 1 and Sep 1"
            ],
        ),
        (
            {"days_of_week": False},
            (EVENING,),
            ["this inverter cannot set slots by day of the week; the strategy has slots on Monday to Friday"],
        ),
        (
            {"reserve_in_slots": False},
            (EVENING,),
            ["this inverter has one reserve for all slots; the strategy has 0.1 and 0.2"],
        ),
        (
            {"level_step": 0.05},
            ({**NIGHT, "charge_from_grid_to": 0.72},),
            ["this inverter sets levels in steps of 0.05; the strategy has charge_from_grid_to 0.72"],
        ),
    ],
    ids=str,
)
@pytest.mark.by_hand
def test_each_limit_of_the_menu(machine: dict[str, Any], windows: tuple[dict[str, Any], ...], told: list[str]) -> None:
    assert misfits(strategy(*windows), Programmable(**{**WIDE, **machine}), NO_HOLIDAYS) == told


def test_holidays_can_be_keyed_in_nowhere() -> None:
    weekday = strategy({**EVENING, "days": ("weekday",)})
    assert misfits(weekday, Programmable(**WIDE), NO_HOLIDAYS) == []
    assert misfits(weekday, Programmable(**WIDE), WITH_HOLIDAYS) == [
        "inverter clocks have no holidays; use days such as mon-fri instead of weekday"
    ]
    assert misfits(strategy(EVENING), Programmable(**WIDE), WITH_HOLIDAYS) == []


def test_every_step_of_a_level_that_a_float_can_miss_is_one() -> None:
    for number in range(1, 21):
        level = round(number * 0.05, 2)
        asked = strategy(reserve=level, sell_down_to=1.0)
        assert misfits(asked, Programmable(**{**WIDE, "level_step": 0.05}), timeline()) == []
    # Full can be programmed whatever the step: 1 is no multiple of 0.15.
    assert misfits(strategy(reserve=0.3), Programmable(**{**WIDE, "level_step": 0.15}), timeline()) == []


def test_what_cannot_be_keyed_in_is_a_note_of_the_home() -> None:
    home = home_from(
        scenario(
            inverter__programmable={**WIDE, "slots": 1}, strategies__0__windows=[NIGHT, {**EVENING, "reserve": 0.3}]
        )
    )
    told = "'home first' cannot be programmed: this inverter has 1 time slot; the strategy needs 2"
    assert told in home.notes()
