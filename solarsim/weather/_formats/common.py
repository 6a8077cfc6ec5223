"""What all readers of weather files check and build in the same way: a header and 8,760 rows in, ``Weather`` out."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import WeatherError
from solarsim.scenario.csv_columns import number_of
from solarsim.scenario.site import MONTH_DAYS
from solarsim.weather.typical_year import HOURS, Weather

if TYPE_CHECKING:
    import pandas as pd

Floats = NDArray[np.float64]
SKY = ["ghi", "dni", "dhi", "temp_air", "wind_speed"]
_FIELDS = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "temp_air_c", "wind_speed_m_s")
# Typical months come from different years: one common year without a leap day puts them in order.
ORDER_YEAR = 2001
#: What pvlib's readers let through of pandas, numpy and Python when a file is broken.
READER_ERRORS = (ArithmeticError, AttributeError, LookupError, TypeError, ValueError)


def weather_of(place: str, header: Mapping[str, object], sky: "pd.DataFrame", years: list[str], path: Path) -> Weather:
    """Return the weather of a header of pvlib's, and of columns in the order of ``SKY``, in the file's own clock."""
    facts = {
        "latitude_deg": stated(header["latitude"], "latitude", path),
        "longitude_deg": stated(header["longitude"], "longitude", path),
        "elevation_m": stated(header["altitude"], "elevation", path),
        "utc_offset_h": stated(header["TZ"], "UTC offset", path),
    }
    columns = np.ascontiguousarray(sky.to_numpy(np.float64).T)
    return weather_of_columns(place, facts, dict(zip(_FIELDS, columns, strict=True)), years)


def all_numbers(table: "pd.DataFrame") -> bool:
    """Return whether every column was read as numbers; text of which Python would make some (``1_000``) is text."""
    return all(dtype.kind in "iuf" for dtype in table.dtypes)


def weather_of_columns(
    place: str, facts: Mapping[str, float], columns: Mapping[str, Floats], years: list[str], notes: tuple[str, ...] = ()
) -> Weather:
    """Return the weather of facts and columns, named as its own fields are, in the file's own clock."""
    return Weather(
        place=place,
        latitude_deg=facts["latitude_deg"],
        longitude_deg=facts["longitude_deg"],
        elevation_m=facts["elevation_m"],
        utc_offset_h=facts["utc_offset_h"],
        ghi_w_m2=columns["ghi_w_m2"],
        dni_w_m2=columns["dni_w_m2"],
        dhi_w_m2=columns["dhi_w_m2"],
        temp_air_c=columns["temp_air_c"],
        wind_speed_m_s=columns["wind_speed_m_s"],
        notes=notes,
        year_of_month=year_of_month(years),
    )


def at_middle(values: Floats, taken_h: float) -> Floats:
    """Return what a column of instants is in the middle of its hours: straight lines from one instant to the next.

    ``taken_h`` is when in its hour each instant was taken; the last hour of the year is followed by the first.
    """
    later = 0.5 - taken_h
    beside = np.roll(values, -1 if later >= 0 else 1)
    return np.asarray(values + abs(later) * (beside - values), np.float64)


def mean_of_halves(values: Floats) -> Floats:
    """Return hourly means of instants at the full and the half hour, by straight lines from one to the next."""
    full, half = values.reshape(-1, 2).T
    return np.asarray((full + 2 * half + np.roll(full, -1)) / 4, np.float64)


def year_of_month(years: list[str]) -> tuple[int, ...]:
    """Return the calendar year from which each month was taken, by its tenth day; none where rows have no year."""
    tenth = (np.arange(f"{ORDER_YEAR}-01", f"{ORDER_YEAR + 1}-01", dtype="datetime64[M]")).astype("datetime64[D]")
    rows = (tenth - np.datetime64(f"{ORDER_YEAR}-01-01") + 9).astype(int) * 24
    written = [years[row].strip() for row in rows.tolist()] if years else [""]
    return tuple(map(int, written)) if all(each.isdecimal() for each in written) else ()


def stated(value: object, what: str, path: Path, line: int = 1) -> float:
    """Return a number of a file's first lines."""
    number = number_of(str(value).strip())
    if number is None:
        raise WeatherError(f"{path}: line {line}: {what} is {value!r}, must be a number")
    return number


def check_row_count(rows: int, path: Path) -> None:
    """Refuse a file that is not a year of 8,760 hours."""
    if rows != HOURS:
        steps = {17520: "half hours", 35040: "quarter hours"}.get(rows)
        cut = " (cut short?)" if rows < HOURS else f" ({steps}? average them to hours)" if steps else ""
        raise WeatherError(f"{path}: has {rows} hours, a typical year has {HOURS}{cut}")


def check_labels(labels: list[tuple[int, int, int]], path: Path) -> None:
    """Refuse rows whose month, day and hour from 1 to 24 do not run through a year."""
    right = [
        (month, day, hour)
        for month, days in enumerate(MONTH_DAYS, start=1)
        for day in range(1, days + 1)
        for hour in range(1, 25)
    ]
    for row, (found, wanted) in enumerate(zip(labels, right, strict=True), start=1):
        if found != wanted:
            shown, due = ("month {}, day {}, hour {}".format(*each) for each in (found, wanted))
            raise WeatherError(f"{path}: row {row} is out of order: it is labeled {shown}, must be {due}")


def check_order(index: "pd.DatetimeIndex", path: Path) -> None:
    """Refuse labels of the end of each hour that do not run from January to December of ``ORDER_YEAR``."""
    hours = (
        index.tz_localize(None).to_numpy().astype("datetime64[h]") - np.datetime64(f"{ORDER_YEAR}-01-01T00")
    ).astype(int)
    wrong = np.flatnonzero(hours != np.arange(1, hours.size + 1))
    if wrong.size:
        raise WeatherError(f"{path}: row {wrong[0] + 1} is out of order: it is labeled {index[wrong[0]]:%d %B %H:%M}")
