"""Who may serve when the grid fails: arrangement, outages and transfer laid onto the year. All numbers by hand."""

from datetime import datetime
from typing import Any

import numpy as np
import pytest

from solarsim.clock.windows import Window
from solarsim.dispatch.strategy import dispatch_from
from solarsim.dispatch.supply import Supply, islanded, supply_from, with_supply
from solarsim.errors import ScenarioError
from solarsim.scenario.backup.backup import Arrangement, Generator, Outage
from solarsim.scenario.strategy import Strategy
from tests.builders import timeline

pytestmark = pytest.mark.by_hand
WHERE = timeline()
DEMAND, CRITICAL = np.full(8760, 2.0), np.full(8760, 0.5)
HYBRID: dict[str, Any] = {"kind": "hybrid", "backed_up": "all", "transfer": "automatic", "transfer_seconds": 0.0}
FIRST = 13 * 24 + 18


def outage(start: str, hours: int) -> Outage:
    return Outage.model_validate({"from": datetime.fromisoformat(start), "hours": hours})


def daily(start: str, end: str) -> Window:
    return Window.model_validate({"from": start, "to": end})


EVENING = outage("2026-01-14T18:00", 4)


def supply(*events: Outage, generator: Generator | None = None, **arrangement: Any) -> Supply:
    return supply_from(Arrangement(**arrangement), events, generator, WHERE, DEMAND, CRITICAL)


def test_the_grid_is_out_in_the_hours_of_an_outage() -> None:
    found = supply(EVENING, **HYBRID)
    assert np.flatnonzero(~found.grid).tolist() == [FIRST, FIRST + 1, FIRST + 2, FIRST + 3]
    assert (found.backed_kw == DEMAND).all()
    assert found.stays_connected


def test_an_outage_goes_by_the_wall_clock() -> None:
    july = outage("2026-07-04T18:00", 1)
    place = int(np.flatnonzero(~supply(july, **HYBRID).grid)[0])
    assert str(WHERE.wall[place]) == "2026-07-04T18:00:00"
    assert place == (184 * 24 + 17)  # 4 July is day 184 from 0; 18:00 daylight saving is 17:00 standard time


def test_only_the_critical_part_stands_behind_the_panel() -> None:
    found = supply(**{**HYBRID, "backed_up": "critical"})
    assert (found.backed_kw == CRITICAL).all()


def test_transfer_takes_its_minutes_from_the_first_hour() -> None:
    found = supply(EVENING, **{**HYBRID, "transfer_seconds": 900.0})
    assert found.transfer_kw[FIRST : FIRST + 2].tolist() == [1.5, 2.0]
    assert (found.backed_kw == DEMAND).all()


@pytest.mark.parametrize(
    ("minutes", "seconds", "served_kw"),
    [
        (30, 900.0, [1.0, 2.0, 2.0]),  # half of a half hour
        (15, 450.0, [1.0, 2.0, 2.0]),
        (15, 900.0, [0.0, 2.0, 2.0]),
        (15, 1800.0, [0.0, 0.0, 2.0]),  # two quarter hours, not one
        (15, 1350.0, [0.0, 1.0, 2.0]),
        (60, 3600.0, [0.0, 2.0, 2.0]),
    ],
)
def test_transfer_takes_its_time_whatever_the_step(minutes: int, seconds: float, served_kw: list[float]) -> None:
    where = timeline(step_minutes=minutes)
    demand, arrangement = np.full(len(where), 2.0), Arrangement(**{**HYBRID, "transfer_seconds": seconds})
    found = supply_from(arrangement, (EVENING,), None, where, demand, demand)
    first = int(np.flatnonzero(~found.grid)[0])
    assert (~found.grid).sum() == 4 * 60 // minutes
    assert found.transfer_kw[first : first + 3] == pytest.approx(np.array(served_kw))
    assert found.transfer_kw[first - 1] == found.transfer_kw[first + 3] == 2.0
    lost_h = (found.backed_kw - found.transfer_kw).sum() * where.step_h / 2.0
    assert lost_h == pytest.approx(seconds / 3600)


def test_transfer_by_hand_in_quarter_hours_begins_when_somebody_is_there() -> None:
    where = timeline(step_minutes=15)
    by_hand = {"transfer": "by_hand", "transfer_seconds": 1350.0, "at_home": (daily("18:30", "06:00"),)}
    demand = np.full(len(where), 2.0)
    found = supply_from(Arrangement(**{**HYBRID, **by_hand}), (EVENING,), None, where, demand, demand)
    first = int(np.flatnonzero(~found.grid)[0])
    assert found.transfer_kw[first : first + 5].tolist() == [0.0, 0.0, 0.0, 1.0, 2.0]


def test_another_load_loses_the_same_share_to_the_transfer() -> None:
    found = supply(EVENING, **{**HYBRID, "transfer_seconds": 900.0}).later(2.0, np.full(8760, 0.5))
    assert (found.backed_kw == 3.5).all()  # 1.5 of load twice, 0.5 of standby once
    assert found.transfer_kw[FIRST : FIRST + 2].tolist() == [0.75 * 3.5, 3.5]


def test_by_hand_the_home_stays_dark_until_somebody_is_there() -> None:
    at_home = (daily("20:00", "06:00"),)
    found = supply(EVENING, **{**HYBRID, "transfer": "by_hand", "transfer_seconds": 1800.0, "at_home": at_home})
    assert found.transfer_kw[FIRST : FIRST + 4].tolist() == [0.0, 0.0, 1.0, 2.0]
    away = (Window(months=(7,)),)
    found = supply(EVENING, **{**HYBRID, "transfer": "by_hand", "transfer_seconds": 1800.0, "at_home": away})
    assert not found.transfer_kw[FIRST : FIRST + 4].any()


def test_grid_tied_serves_nothing_and_off_grid_everything() -> None:
    assert not supply(kind="grid_tied").backed_kw.any()
    alone = supply(kind="off_grid", grid="none")
    assert not alone.grid.any()
    assert (alone.transfer_kw == DEMAND).all()
    assert not alone.stays_connected


def test_a_home_off_the_grid_never_exports_and_rests_its_battery_while_it_is_on_the_grid() -> None:
    rule = Strategy(name="r", surplus_to="grid", battery_serves_load=True, reserve=0.2, sell_down_to=0.5)
    dispatch = with_supply(dispatch_from(rule, None, WHERE), supply(kind="off_grid", grid="first"))
    assert dispatch.grid.all()
    assert not dispatch.serves_load.any()
    assert not dispatch.export_limit_kw.any()
    assert (dispatch.sell_to == 1.0).all()
    kept = with_supply(dispatch_from(rule, None, WHERE), supply(**HYBRID))
    assert kept.serves_load.all()
    assert (kept.sell_to == 0.5).all()


def test_an_island_has_no_grid_and_no_transfer() -> None:
    found = supply(EVENING, **{**HYBRID, "transfer_seconds": 3600.0})
    rule = Strategy(name="r", surplus_to="battery", battery_serves_load=True, reserve=0.2)
    dispatch = islanded(with_supply(dispatch_from(rule, None, WHERE), found), found)
    assert not dispatch.grid.any()
    assert (dispatch.backed_kw == 2.0).all()


def generator(**keys: Any) -> Generator:
    return Generator(
        kw=4.0, start_at=0.2, stop_at=0.6, least_run_h=1.0, charge_kw=3.0, liters_per_h=0.5, liters_per_kwh=0.3,
        fuel_price=1.5, **keys,
    )  # fmt: skip


def test_a_generator_has_quiet_hours() -> None:
    may = supply(generator=generator(may_start=(daily("08:00", "20:00"),)), **HYBRID).generator_may_start
    assert may.sum() == 365 * 12
    assert not supply(**HYBRID).generator_may_start.any()


@pytest.mark.parametrize(
    ("events", "told"),
    [
        ([("2026-01-14T18:00", 4), ("2026-01-14T20:00", 1)], "the one from 2026-01-14 20:00 on overlaps another"),
        ([("2025-01-14T18:00", 4)], "2025-01-14 18:00 is not a time of the wall clock in 2026"),
        ([("2026-03-08T02:00", 4)], "2026-03-08 02:00 is not a time of the wall clock in 2026"),
    ],
)
def test_outages_that_cannot_be_are_refused(events: list[tuple[str, int]], told: str) -> None:
    with pytest.raises(ScenarioError, match=told):
        supply(*(outage(*event) for event in events), **HYBRID)


def test_a_window_that_never_holds_is_refused() -> None:
    holiday = (Window(days=("holiday",)),)
    with pytest.raises(
        ScenarioError, match=r"arrangement\.at_home: the 1st window \(holiday\) holds in no hour of 2026"
    ):
        supply(**{**HYBRID, "transfer": "by_hand", "at_home": holiday})


def test_the_tank_is_filled_only_when_the_windows_say_so() -> None:
    daily_fill = generator(tank_liters=20.0, refill=(daily("08:00", "09:00"),))
    assert supply(generator=daily_fill, **HYBRID).tank_filled.sum() == 365
    assert not supply(generator=generator(tank_liters=20.0), **HYBRID).tank_filled.any()
