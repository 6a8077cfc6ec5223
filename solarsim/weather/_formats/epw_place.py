"""Where an EPW file was recorded: the fields of its first line and its own radiation in, place and clock out.

Files are found with fields behind the elevation and with decimal commas, which split a number into two fields. Where
more than one reading is possible, the sun decides: GHI = DHI + DNI cos(zenith) holds for the right one.
"""

from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import NamedTuple

from solarsim.errors import WeatherError
from solarsim.scenario.csv_columns import number_of
from solarsim.scenario.site import ON_EARTH, CsvPlace
from solarsim.weather._formats.common import stated
from solarsim.weather.label_check import OFFSETS_MIN, WARN_ABOVE_MIN, label_gaps_w_m2
from solarsim.weather.typical_year import Weather

_NAMES, _HEADER_FIELDS = 6, 10
_CLEARLY_BETTER = 0.5
_SAME_ELEVATION_M = 100.0  # a hundred meters of air change no result


class Reading(NamedTuple):
    """One way to read the numbers of a first line, in its order."""

    latitude_deg: float
    longitude_deg: float
    utc_offset_h: float
    elevation_m: float


def settled(weather: Weather, fields: list[str], path: Path) -> Weather:
    """Return the weather with the place that its first line states, with a note where that had to be found out."""
    if len(fields) == _HEADER_FIELDS:
        plain = zip(Reading._fields, fields[_NAMES:], strict=True)
        return _at(weather, Reading(*(stated(text, name, path) for name, text in plain)))
    readings = _readings(fields[_NAMES:])
    if not readings:
        raise WeatherError(
            f"{path}: line 1 has {len(fields)} fields, must have {_HEADER_FIELDS}, and cannot be read"
            " as latitude, longitude, time zone and elevation; write them as weather.place in the scenario"
        )
    found = readings[0] if len(readings) == 1 else _by_the_sun(weather, readings, path)
    note = f"{path}: line 1 has {len(fields)} fields; it was read as {_words(found)}"
    if len(readings) > 1:
        note += f", the only one of {len(readings)} readings that fits the sun"
    return replace(_at(weather, found), notes=(*weather.notes, note))


def placed(weather: Weather, fields: list[str], place: CsvPlace, path: Path) -> Weather:
    """Return the weather at the place that the user states, with a note where the first line states another."""
    stated_place = Reading(place.latitude_deg, place.longitude_deg, place.utc_offset_h, place.elevation_m)
    found = _at(weather, stated_place)
    if stated_place in _readings(fields[_NAMES:]):
        return found
    note = f"{path}: weather.place is used, not line 1: {_words(stated_place)}"
    return replace(found, notes=(*weather.notes, note))


def _at(weather: Weather, place: Reading) -> Weather:
    return replace(
        weather,
        latitude_deg=place.latitude_deg,
        longitude_deg=place.longitude_deg,
        utc_offset_h=place.utc_offset_h,
        elevation_m=place.elevation_m,
    )


def _readings(numbers: list[str]) -> list[Reading]:
    """Return each way to read the four numbers, with decimal commas or without; fields behind them only if none is."""
    whole: list[Reading] = []
    cut: list[Reading] = []
    for split in product((True, False), repeat=len(Reading._fields)):
        parts = [part.strip() for part in numbers]
        if len(parts) < len(split) + sum(split):
            continue
        texts = [_joined(parts.pop(0), parts.pop(0)) if is_split else parts.pop(0) for is_split in split]
        found = [number_of(text) for text in texts]
        values = [
            value
            for name, value in zip(Reading._fields, found, strict=True)
            if value is not None and _is_on_earth(name, value)
        ]
        if len(values) == len(split):
            (cut if any(parts) else whole).append(Reading(*values))
    return whole or cut


def _joined(integer: str, decimals: str) -> str:
    """Return a number of its two parts; no number where they are none of one, such as ``5.5`` and ``216``."""
    return f"{integer}.{decimals}" if decimals.isdecimal() else ""


def _is_on_earth(name: str, value: float) -> bool:
    low, high = ON_EARTH[name]
    return low <= value <= high and (name != "utc_offset_h" or value % 0.25 == 0)


def _by_the_sun(weather: Weather, readings: list[Reading], path: Path) -> Reading:
    """Return the one reading whose sun fits the radiation; refuse where none or several do."""
    right, near = list(OFFSETS_MIN).index(0), abs(OFFSETS_MIN) <= WARN_ABOVE_MIN
    judged = []
    for reading in readings:
        gaps = label_gaps_w_m2(_at(weather, reading))
        if gaps is not None:
            judged.append((float(gaps[right]), bool(near[gaps.argmin()]), reading))
    judged.sort(key=lambda each: each[0])
    if judged and judged[0][1]:
        gap, _, best = judged[0]
        rivals = [reading for other, _, reading in judged[1:] if other * _CLEARLY_BETTER <= gap]
        if all(_same_to_us(best, reading) for reading in rivals):
            return best
    ways = "; or ".join(_words(reading) for reading in readings[:3])
    more = f"; or {len(readings) - 3} more" if len(readings) > 3 else ""
    raise WeatherError(
        f"{path}: line 1 can be read as {ways}{more}, and its radiation does not tell which; write the right one as"
        " weather.place in the scenario"
    )


def _same_to_us(one: Reading, other: Reading) -> bool:
    return one[:3] == other[:3] and abs(one.elevation_m - other.elevation_m) <= _SAME_ELEVATION_M


def _words(place: Reading) -> str:
    return (
        f"latitude {place.latitude_deg:g}, longitude {place.longitude_deg:g}, UTC{place.utc_offset_h:+g} h,"
        f" {place.elevation_m:g} m"
    )
