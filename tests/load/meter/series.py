"""Meter series for tests: true time from the standard library, energy in parts of 1,024 so that sums are exact."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.load.meter import MeterHours, Readings, hours_from

ZONES = (
    "America/New_York",
    "Europe/Berlin",
    "Europe/Dublin",
    "Australia/Sydney",
    "America/Phoenix",
    "Asia/Kolkata",
    "Australia/Lord_Howe",
)


def instants(zone: str, first: str, last: str, minutes: int = 60) -> NDArray[np.datetime64]:
    """Give the starts, in UTC, of all intervals of the wall-clock days from the first to the last."""
    day = timedelta(days=1)
    begin, end = (datetime.fromisoformat(each) for each in (first, last))
    edges = [int(each.replace(tzinfo=ZoneInfo(zone)).timestamp()) for each in (begin, end + day)]
    return np.array(range(edges[0], edges[1], minutes * 60)).astype("datetime64[s]")


@lru_cache(maxsize=64)
def _wall(zone: str, first: int, last: int, step: int) -> NDArray[np.datetime64]:
    where = ZoneInfo(zone)
    return np.array(
        [datetime.fromtimestamp(each, UTC).astimezone(where).replace(tzinfo=None) for each in range(first, last, step)],
        "datetime64[s]",
    )


def on_the_wall(utc: NDArray[np.datetime64], zone: str) -> NDArray[np.datetime64]:
    """Tell what a clock on the wall shows at evenly spaced instants, by the standard library alone."""
    seconds = utc.astype(np.int64)
    step = int(seconds[1] - seconds[0])
    return _wall(zone, int(seconds[0]), int(seconds[-1]) + 1, step)


def drawn_kwh(size: int, seed: int) -> NDArray[np.float64]:
    """Draw energies of 0 to 2 kWh in parts of 1,024: any order of adding gives the same sum."""
    return np.random.default_rng(seed).integers(0, 2048, size) / 1024


def readings(
    start: NDArray[np.datetime64] | list[str],
    kwh: NDArray[np.float64] | Sequence[float] | float,
    clock: str = "utc",
    minutes: float | Sequence[float] = 60,
    export: NDArray[np.float64] | Sequence[float] | float = 0.0,
    estimated: NDArray[np.bool_] | bool = False,
) -> Readings:
    """Give readings, with one value for all where one is given."""
    starts = np.array(start, "datetime64[s]")
    return Readings(
        start=starts,
        duration_s=np.broadcast_to(np.array(minutes) * 60, starts.shape).astype(np.int64),
        import_kwh=np.broadcast_to(np.array(kwh, np.float64), starts.shape).copy(),
        export_kwh=np.broadcast_to(np.array(export, np.float64), starts.shape).copy(),
        estimated=np.broadcast_to(np.array(estimated), starts.shape).copy(),
        clock="wall" if clock == "wall" else "utc",
    )


def metered(
    zone: str,
    first: str,
    last: str,
    kwh: NDArray[np.float64] | float | None = None,
    export: NDArray[np.float64] | float = 0.0,
) -> MeterHours:
    """Give hours of standard time over wall-clock days, with drawn or given energies."""
    minutes = 30 if zone == "Australia/Lord_Howe" else 60  # its days do not begin with an hour of standard time
    utc = instants(zone, first, last, minutes)
    return hours_from(readings(utc, drawn_kwh(utc.size, 1) if kwh is None else kwh, "utc", minutes, export), zone)


def year_of(zone: str, year: int, kwh: NDArray[np.float64] | float | None = None) -> MeterHours:
    """Give the hours of a wall-clock year."""
    return metered(zone, f"{year}-01-01", f"{year}-12-31", kwh)


def with_holes(hours: MeterHours, chosen: NDArray[np.bool_]) -> MeterHours:
    """Take readings out of hours."""
    return replace(
        hours,
        import_kwh=np.where(chosen, np.nan, hours.import_kwh),
        export_kwh=np.where(chosen, np.nan, hours.export_kwh),
    )


def wall_of(hours: MeterHours) -> NDArray[np.datetime64]:
    """Tell what the wall clock shows at the start of each hour."""
    return on_the_wall(hours.start_utc, hours.zone)


def at(where: Timeline, *starts: str) -> NDArray[np.int64]:
    """Find steps by the wall clock."""
    return np.array([np.flatnonzero(where.wall == np.datetime64(start))[0] for start in starts])


def coded(hours: MeterHours) -> MeterHours:
    """Write into each hour which wall-clock day of the file and which hour it is: (32 day + hour) / 1024."""
    wall = wall_of(hours)
    day = (wall.astype("datetime64[D]") - wall[0].astype("datetime64[D]")).astype(np.int64)
    return replace(hours, import_kwh=(32 * day + wall.astype("datetime64[h]").astype(np.int64) % 24) / 1024)


def decoded(load_kw: NDArray[np.float64], first: str) -> tuple[NDArray[np.datetime64], NDArray[np.int64]]:
    """Read back which day and hour a step was taken from, where the file's first day is known."""
    code = np.round(load_kw * 1024).astype(np.int64)
    return np.datetime64(first) + code // 32, code % 32
