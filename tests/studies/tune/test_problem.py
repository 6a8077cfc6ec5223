"""What is refused, and what a search may change."""

from typing import Any

import pytest

from solarsim.dispatch.programmable import off_step
from solarsim.errors import InputError, ScenarioError
from solarsim.home import home_from
from solarsim.studies.tune._problem import (
    Asked,
    check_asked,
    machine_of,
    moves_of,
    plain_strategy,
    season_starts,
)
from solarsim.studies.tune._table import CAP, CEILING, CHARGE, RESERVE, SELL, SERVES, SURPLUS, calendar_of
from solarsim.studies.tune.tune import tune
from tests.builders import scenario
from tests.studies.tune.tasks import evening_home

MENU = {
    "slots": 6,
    "fill_day": False,
    "days_of_week": False,
    "seasons": 2,
    "reserve_in_slots": False,
    "level_step": 0.1,
}


@pytest.mark.parametrize(
    ("changes", "asked", "told"),
    [
        ({"battery": None}, Asked(), "has no battery, so there is nothing to tune"),
        ({}, Asked(reserve=1.0), r"^--reserve 1 must be a share from 0 to below 1; 0\.3 is 30%"),
        ({}, Asked(reserve=-0.1), r"^--reserve -0\.1 must be a share from 0 to below 1"),
        ({}, Asked(worth=-0.1), r"^--worth -0\.1 must be a share"),
        ({}, Asked(wear=-1.0), r"^--wear -1 must be a price of 0 or more"),
        ({}, Asked(runs=0), r"^--runs 0 must be 1 or more"),
        (
            {"arrangement": {"kind": "off_grid", "grid": "none"}, "grid": None},
            Asked(),
            "a home off the grid has nothing to tune: its battery serves the home whenever it can",
        ),
    ],
    ids=str,
)
def test_a_home_or_a_number_that_cannot_be_is_refused(changes: dict[str, Any], asked: Asked, told: str) -> None:
    changes = {key: value for key, value in changes.items() if key != "grid"}
    with pytest.raises(InputError, match=told):
        check_asked(evening_home(**changes), asked)


@pytest.mark.parametrize(
    ("reserve", "told"),
    [(0.05, r"below the off_grid_floor 0\.1"),
     (0.25, r"--reserve 0\.25 cannot be set: this inverter sets levels in steps of 0\.1")],
)  # fmt: skip
def test_a_reserve_must_go_with_the_home(reserve: float, told: str) -> None:
    home = evening_home(inverter__programmable=MENU, strategies__0__off_grid_floor=0.1)
    with pytest.raises(ScenarioError, match=told):
        plain_strategy(home, reserve)


def test_levels_of_the_first_strategy_that_cannot_be_set_are_named_as_its_own() -> None:
    menu = {**MENU, "level_step": 0.3}
    home = evening_home(inverter__programmable=menu, strategies__0__reserve=0.2)
    with pytest.raises(ScenarioError, match=r"the reserve 0\.2 of 'home first' cannot be set: .* steps of 0\.3; write"):
        plain_strategy(home, None)
    floor = evening_home(inverter__programmable=menu, strategies__0__off_grid_floor=0.1)
    with pytest.raises(ScenarioError, match=r"the off_grid_floor 0\.1 of 'home first' cannot be set"):
        plain_strategy(floor, 0.3)


def test_a_first_strategy_that_keeps_everything_needs_another_reserve() -> None:
    full = evening_home(strategies__0__reserve=1.0)
    with pytest.raises(ScenarioError, match="the reserve 1 of 'home first' leaves nothing of the battery to use"):
        plain_strategy(full, None)


def test_holidays_are_refused_where_a_menu_is_known() -> None:
    with pytest.raises(ScenarioError, match="--holidays: inverter clocks have no holidays"):
        check_asked(evening_home(inverter__programmable=MENU), Asked(holidays=True))
    check_asked(evening_home(), Asked(holidays=True))


def test_levels_are_steps_of_the_menu() -> None:
    seventh = 0.14285714  # by_hand: 1/7; its multiples are no round numbers
    home = home_from(evening_home(inverter__programmable={**MENU, "level_step": seventh}))
    machine = machine_of(home.scenario)
    calendar = calendar_of(home.timeline, home.rate_plan)
    moves = moves_of(home, plain_strategy(home.scenario, 0.0), machine, calendar, Asked())
    assert moves.values[CHARGE] == (0.0, *(pytest.approx(number / 7, abs=1e-6) for number in range(1, 7)), 1.0)
    assert not any(off_step(level, seventh) for level in moves.values[CHARGE])


@pytest.mark.parametrize(
    ("seasons", "told"),
    [
        ([("05-01", "09-30"), ("09-30", "11-15")], "--season 09-30/11-15 overlaps another season"),
        ([("02-30", "04-01")], "^--season 02-30/04-01: 02-30 does not exist$"),
        ([("04-01", "02-29")], "02-29 does not exist in a year of 365 days; write 02-28 or 03-01"),
        ([("2-1", "04-01")], "must be two dates MM-DD"),
        ([("02-01", "03-01"), ("06-01", "07-01")], "these are 4 seasons; at most 3 can be set"),
    ],
)
def test_seasons_must_be_apart_and_few(seasons: list[tuple[str, str]], told: str) -> None:
    home = evening_home()
    with pytest.raises(InputError, match=told):
        season_starts(Asked(seasons=seasons), machine_of(home))


def test_seasons_begin_where_they_are_asked_for() -> None:
    home = evening_home()
    # by_hand: 1 March is day 59 from 0, 1 November day 304; the year is a circle
    assert season_starts(Asked(seasons=[("11-01", "02-28")]), machine_of(home)) == (59, 304)


def test_only_what_can_have_an_effect_is_searched() -> None:
    home = home_from(evening_home())
    plain, calendar = plain_strategy(home.scenario, None), calendar_of(home.timeline, home.rate_plan)
    moves = moves_of(home, plain, machine_of(home.scenario), calendar, Asked())
    assert set(moves.values) == {SERVES, CHARGE, RESERVE, SURPLUS, SELL, CEILING}
    assert moves.values[CHARGE][:3] == (0.0, 0.15, 0.2)  # above the reserve of 0.10 in steps of 0.05
    menu = home_from(evening_home(inverter__programmable=MENU, rate_plan__export={"pay": "none"}))
    fewer = moves_of(menu, plain, machine_of(menu.scenario), calendar, Asked())
    assert set(fewer.values) == {SERVES, CHARGE}
    assert fewer.values[CHARGE] == (0.0, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
    assert fewer.days == (0,)
    assert (fewer.seasons, machine_of(menu.scenario).slots) == (2, 4)


def test_a_demand_charge_lets_import_caps_be_searched() -> None:
    demand = [{"name": "peak", "price": 9.0}]
    home = home_from(evening_home(rate_plan__demand=demand))
    plain, calendar = plain_strategy(home.scenario, None), calendar_of(home.timeline, home.rate_plan)
    assert CAP in moves_of(home, plain, machine_of(home.scenario), calendar, Asked()).values


@pytest.mark.slow
def test_prices_at_which_a_battery_saves_nothing_leave_nothing_to_tune() -> None:
    home = scenario(rate_plan__export={"pay": "same_as_import"})
    with pytest.raises(ScenarioError, match="nothing to tune: at these prices no control of the battery can save more"):
        tune(home, wear=0.0)


@pytest.mark.slow
def test_wear_that_eats_the_savings_is_named_with_the_way_out() -> None:
    with pytest.raises(ScenarioError, match=r"wear of 5 USD/kWh no control .* --wear 0 leaves wear out"):
        tune(evening_home(), wear=5.0)
