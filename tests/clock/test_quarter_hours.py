"""Half and quarter hours on the wall clock: windows at clock changes, zones that stand or change by half an hour."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from solarsim.clock.timeline import Timeline
from solarsim.clock.windows import Window, steps_in_window
from solarsim.load._days import DAYS, of_each_day
from tests.builders import timeline

LORD_HOWE = "Australia/Lord_Howe"


def walls(where: Timeline, window: dict[str, str], day: str) -> list[str]:
    """Tell what the clock shows in the steps of a wall-clock day that a window covers."""
    chosen = steps_in_window(Window.model_validate(window), where) & (
        where.wall.astype("datetime64[D]") == np.datetime64(day)
    )
    return [text[11:16] for text in np.datetime_as_string(where.wall[chosen], unit="m").tolist()]


@pytest.mark.second_opinion
@pytest.mark.parametrize(
    ("zone", "minutes"), [("America/New_York", 15), ("Europe/Berlin", 15), (LORD_HOWE, 30), ("Asia/Kathmandu", 15)]
)
def test_wall_clock_is_the_standard_library_s(zone: str, minutes: int) -> None:
    where = timeline(zone, 2025, step_minutes=minutes)
    assert len(where) == 8760 * 60 // minutes
    for place in [*range(0, len(where), 29), *np.flatnonzero(np.diff(where.wall_offset_h)).tolist()]:
        start = datetime.fromtimestamp(int(where.utc_start[place].astype(np.int64)), UTC).astimezone(ZoneInfo(zone))
        assert (where.month[place], where.weekday[place]) == (start.month, start.weekday())
        assert where.minute_of_day[place] == start.hour * 60 + start.minute


@pytest.mark.published
def test_quarter_hours_around_american_clock_changes() -> None:
    """Clocks skip 02:00 to 03:00 on 9 March 2025 and show 01:00 to 02:00 twice on 2 November (IANA time zone data)."""
    where = timeline("America/New_York", 2025, step_minutes=15)
    window = {"from": "01:30", "to": "03:15"}
    assert walls(where, window, "2025-03-09") == ["01:30", "01:45", "03:00"]
    assert walls(where, window, "2025-11-02") == [
        *["01:30", "01:45"] * 2, "02:00", "02:15", "02:30", "02:45", "03:00"
    ]  # fmt: skip
    assert len(walls(where, window, "2025-07-01")) == 7


@pytest.mark.published
def test_half_hours_around_lord_howe_s_clock_changes() -> None:
    """Clocks skip 02:00 to 02:30 on 5 October 2025 and show 01:30 to 02:00 twice on 6 April (IANA time zone data)."""
    where = timeline(LORD_HOWE, 2025, step_minutes=30)
    window = {"from": "01:00", "to": "03:00"}
    assert walls(where, window, "2025-10-05") == ["01:00", "01:30", "02:30"]
    assert walls(where, window, "2025-04-06") == ["01:00", "01:30", "01:30", "02:00", "02:30"]
    assert where.labels[1] == "2025-01-01T00:30:00+10:30"


@pytest.mark.parametrize("minutes", [60, 30, 15])
@pytest.mark.parametrize("zone", [LORD_HOWE, "Asia/Kolkata", "America/New_York", "Australia/Sydney"])
def test_each_day_has_one_noon_at_every_step(zone: str, minutes: int) -> None:
    """The month and kind of each day are read at its noon; in Lord Howe's summer no hourly step begins then."""
    where = timeline(zone, 2025, step_minutes=minutes)
    months = of_each_day(where.month, where)
    assert np.bincount(months)[1:].tolist() == [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
    assert months.size == DAYS
