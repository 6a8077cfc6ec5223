"""Years of weather for tests: one good year, as numbers and in each format that is read, and ways to spoil it."""

import json
from collections.abc import Callable
from datetime import date, timedelta
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.weather.test_read import GREENSBORO, read

Floats = NDArray[np.float64]
Sky = dict[str, Floats]
PLACE = {"latitude_deg": 36.1, "longitude_deg": -79.95, "elevation_m": 273.0, "utc_offset_h": -5.0}
COLUMNS = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "temp_air_c", "wind_speed_m_s")
SUN = COLUMNS[:3]
MARCH, JUNE, SEPTEMBER, OCTOBER = 59 * 24, 151 * 24, 243 * 24, 273 * 24
FEBRUARY = (np.arange(8760) >= 31 * 24) & (np.arange(8760) < MARCH)
DAYS = [date(2001, 1, 1) + timedelta(days=number) for number in range(365)]
LABELS = [(day.month, day.day, hour) for day in DAYS for hour in range(24)]


def good_sky() -> Sky:
    weather = read(GREENSBORO, "tmy3")
    return {name: getattr(weather, name) for name in COLUMNS}


SKY = good_sky()


GOOD: dict[str, Any] = {"format": "csv", "place": PLACE}


# Weather as numbers: what a CSV of named columns can hold.
def at(first: int, last: int, *names: str, value: float = 0.0) -> Sky:
    """Set columns from one hour up to another."""
    hours = np.arange(8760)
    return {**SKY, **{name: np.where((hours >= first) & (hours < last), value, SKY[name]) for name in names}}


def made(change: Callable[[str, Floats], Floats]) -> Sky:
    return {name: change(name, values) for name, values in SKY.items()}


def exchanged(one: str, other: str) -> Sky:
    return {**SKY, one: SKY[other], other: SKY[one]}


def scaled(factor: float) -> Sky:
    return made(lambda name, values: values * factor if name in SUN else values)


@cache
def good_csv() -> str:
    return as_csv(SKY)


def as_csv(sky: Sky) -> str:
    body = "\n".join(map("%g,%g,%g,%g,%g".__mod__, zip(*(sky[name].tolist() for name in COLUMNS), strict=True)))
    return ",".join(COLUMNS) + "\n" + body + "\n"


@cache
def epw(*numbers: str) -> str:
    """Write Greensboro as EPW with these fields behind the station's number."""
    head = ["LOCATION,Greensboro,NC,USA,none,723170," + ",".join(numbers), *["COMMENTS"] * 7]
    columns = (SKY[name].tolist() for name in ("temp_air_c", *SUN, "wind_speed_m_s"))
    body = [
        f"2001,{month},{day},{hour + 1},0,?,{temp:g},5,60,101325,0,0,300,{ghi:g},{dni:g},{dhi:g},0,0,0,0,180,{wind:g}"
        + ",0" * 13
        for (month, day, hour), temp, ghi, dni, dhi, wind in zip(LABELS, *columns, strict=True)
    ]
    return "\n".join([*head, *body]) + "\n"


@cache
def psm(minute: int = 30, zone: str = "-5") -> str:
    """Write Greensboro as the US radiation database does."""
    head = [
        "Source,Location ID,City,State,Country,Latitude,Longitude,Time Zone,Elevation,Local Time Zone",
        f"NSRDB,1,-,-,-,36.1,-79.95,{zone},273,-5",
        "Year,Month,Day,Hour,Minute,GHI,DNI,DHI,Temperature,Wind Speed",
    ]
    body = [
        f"2001,{month},{day},{hour},{minute},{ghi:g},{dni:g},{dhi:g},{temp:g},{wind:g}"
        for (month, day, hour), ghi, dni, dhi, temp, wind in zip(
            LABELS, *(SKY[name].tolist() for name in COLUMNS), strict=True
        )
    ]
    return "\n".join([*head, *body]) + "\n"


@cache
def leap_psm() -> str:
    """Write the same with a day more, a copy of the one before it."""
    lines = psm().splitlines()
    first = 3 + MARCH
    day = [line.replace("2001,2,28,", "2001,2,29,") for line in lines[first - 24 : first]]
    return "\n".join([*lines[:first], *day, *lines[first:]]) + "\n"


@cache
def pvgis(taken_h: float = 0.5) -> str:
    """Write Greensboro in UTC as the European Commission's typical years are."""
    in_utc = [np.roll(SKY[name], 5).tolist() for name in ("temp_air_c", *SUN, "wind_speed_m_s")]
    head = [
        "Latitude (decimal degrees): 36.100",
        "Longitude (decimal degrees): -79.950",
        "Elevation (m): 273.0",
        f"Irradiance Time Offset (h): {taken_h:g}",
        "month,year",
        *(f"{month},2001" for month in range(1, 13)),
        "time(UTC),T2m,G(h),Gb(n),Gd(h),WS10m",
    ]
    body = [
        f"2001{month:02d}{day:02d}:{hour:02d}00," + ",".join(f"{value:g}" for value in values)
        for (month, day, hour), *values in zip(LABELS, *in_utc, strict=True)
    ]
    return "\n".join([*head, *body, "", "T2m: 2-m air temperature (degree Celsius)"]) + "\n"


def pvgis_json(**values: Any) -> str:
    """Write the same as JSON, the first hour with values replaced."""
    names, *body = (line.split(",") for line in pvgis().splitlines()[17:-2])
    hours = [dict(zip(names, [row[0], *map(float, row[1:])], strict=True)) for row in body]
    hours[0] |= values
    location = {"latitude": 36.1, "longitude": -79.95, "elevation": 273.0, "irradiance_time_offset": 0.5}
    return json.dumps({"inputs": {"location": location}, "outputs": {"tmy_hourly": hours}})
