"""Questions about the place: the home's name, coordinates, time zone and weather."""

import os
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from solarsim.errors import ScenarioError, file_bytes
from solarsim.scenario.questions.question import (
    NUMBER,
    Phrase,
    Question,
    Setting,
    Tables,
    measured,
    place_of,
    place_words,
    shown,
)
from solarsim.scenario.questions.zones import fits, likely_zone
from solarsim.scenario.site import Place, known_zone
from solarsim.units import number_from

_MEANS = re.compile(rf"means\s+(?:{measured('m|ft')}\s+)?([^/]*)/([^/]*)(?:/([^/]*))?", re.IGNORECASE)
#: Answers that lead to a file of weather: the nearest packaged one, or a service.
NEAREST, GET = "nearest", "get"
_EXAMPLE = "means 273 m 2.1 2.9 ... 1.9 / 3.5 5.2 ... 4.8 (kWh/m2 of a mean day / C)"
_SEED = 1
#: In place of weather that is not known yet: it is only validated, never run.
_NOT_YET = {"format": "monthly", "ghi_kwh_m2_day": [1.0] * 12, "temp_air_c": [10.0] * 12, "seed": _SEED}


def _put_name(text: str, tables: Tables, _: Setting) -> None:
    tables["name"] = text


def _name_found(tables: Mapping[str, Any]) -> str | None:
    return str(tables["name"])


def _put_at(text: str, tables: Tables, setting: Setting) -> None:
    phrase = Phrase(text.replace(",", ", "), "36.1, -79.95 273 m")
    elevation_m = phrase.measure(measured("m|ft"), "m")
    latitude_deg = phrase.measure(measured("[NS]"), "latitude")
    longitude_deg = phrase.measure(measured("[EW]"), "longitude")
    if latitude_deg is None:
        latitude_deg = phrase.need(phrase.number(NUMBER), "the latitude (degrees, north positive)")
    if longitude_deg is None:
        longitude_deg = phrase.need(phrase.number(NUMBER), "the longitude (degrees, east positive)")
    phrase.done()
    place = _checked(latitude_deg, longitude_deg, 0.0 if elevation_m is None else elevation_m)
    tables["description"] = place_words(place.latitude_deg, place.longitude_deg, elevation_m)
    tables["site"] = {
        "name": _compass_place(place),
        "time_zone": likely_zone(place.latitude_deg, place.longitude_deg),
        "calendar_year": setting.year,
        "albedo": 0.2,
    }
    tables["weather"] = {**_NOT_YET, "place": place.model_dump()}


def _checked(latitude_deg: float, longitude_deg: float, elevation_m: float) -> Place:
    """Return a place on Earth; refused by the ranges of its own fields."""
    from pydantic import ValidationError

    from solarsim.scenario._problems import problem_lines

    raw = {"latitude_deg": latitude_deg, "longitude_deg": longitude_deg, "elevation_m": elevation_m}
    try:
        return Place.model_validate(raw)
    except ValidationError as error:
        raise ScenarioError(*problem_lines(Place, error.errors(include_url=False), raw)) from None


def _compass_place(place: Place) -> str:
    north = "N" if place.latitude_deg >= 0 else "S"
    east = "E" if place.longitude_deg >= 0 else "W"
    return f"{abs(place.latitude_deg):.2f} {north}, {abs(place.longitude_deg):.2f} {east}"


def _at_found(tables: Mapping[str, Any]) -> str | None:
    place = place_of(tables)
    if place is None:
        return None
    height = "" if place[2] is None else f" {shown(place[2])} m"
    return f"{shown(place[0])}, {shown(place[1])}{height}"


def _put_zone(text: str, tables: Tables, _: Setting) -> None:
    zone, place = text.strip(), place_of(tables)
    tables["site"]["time_zone"] = zone
    try:
        known_zone(zone)
    except ValueError:
        return  # the scenario's own rule refuses it
    if place is not None and not fits(zone, place[1]):
        raise ScenarioError(
            f"{zone!r} is the clock of another part of the world than longitude {place[1]:g}; for example:"
            f" {likely_zone(*place[:2])}"
        )


def _zone_found(tables: Mapping[str, Any]) -> str | None:
    return str(tables["site"]["time_zone"])


def _put_weather(text: str, tables: Tables, setting: Setting) -> None:
    means = _MEANS.fullmatch(text.strip())
    if means is not None:
        if means[1] is not None:
            latitude_deg, longitude_deg, _ = place_of(tables) or (0.0, 0.0, None)
            tables["description"] = place_words(latitude_deg, longitude_deg, number_from(means[1], "m"))
        tables["weather"] = _from_means(means[2], means[3], means[4], tables)
    elif text.split()[:1] == ["means"]:
        raise ScenarioError(f"{text!r} has no slash between light and temperatures; for example: {_EXAMPLE}")
    elif setting.weather is not None:
        tables["weather"] = dict(setting.weather)


def _from_means(light: str, warmth: str, wind: str | None, tables: Tables) -> Tables:
    """Return the table of twelve monthly means; without wind the air is still."""
    place = place_of(tables)
    if place is None or place[2] is None:
        raise ScenarioError(
            "monthly means need the elevation of the place: write it after the word, for example: means 273 m 2.1 ..."
        )
    fahrenheit = re.search(r"\bF\b", warmth, re.IGNORECASE)
    temperatures = [float(each) for each in _twelve(re.sub(r"\b[CF]\b", "", warmth, flags=re.IGNORECASE))]
    if fahrenheit:
        temperatures = [round(number_from(f"{each} F", "C"), 2) for each in temperatures]
    return {
        "format": "monthly",
        "place": dict(zip(("latitude_deg", "longitude_deg", "elevation_m"), place, strict=True)),
        "ghi_kwh_m2_day": [float(each) for each in _twelve(light)],
        "temp_air_c": temperatures,
        **({} if wind is None else {"wind_speed_m_s": [float(each) for each in _twelve(wind)]}),
        "seed": _SEED,
    }


def _twelve(text: str) -> list[str]:
    numbers = text.replace(",", " ").split()
    if len(numbers) != 12 or not all(re.fullmatch(NUMBER, each) for each in numbers):
        raise ScenarioError(
            f"{' '.join(numbers) or 'nothing'!r} must be twelve numbers, January to December; for example: {_EXAMPLE}"
        )
    return numbers


def _weather_found(tables: Mapping[str, Any]) -> str | None:
    weather = tables.get("weather", {})
    if weather.get("format") != "monthly":
        return None if "file" not in weather else str(weather["file"])
    if "ghi_kwh_m2_day" not in weather or weather.get("seed") != _SEED:
        return None
    keys = [key for key in ("ghi_kwh_m2_day", "temp_air_c", "wind_speed_m_s") if key in weather]
    return f"means {' / '.join(' '.join(map(shown, weather[key])) for key in keys)}"


def whole_path(text: str, setting: Setting) -> str:
    """Return the whole path of a file that an answer names, refused where there is no such file."""
    path = setting.folder.absolute() / os.path.expanduser(text.strip().strip("'\""))
    file_bytes(path, ScenarioError)
    return str(Path(os.path.normpath(path)))


def _zone_default(tables: Tables, _: Setting) -> str:
    return str(tables["site"]["time_zone"])


PLACE = (
    Question("name", _put_name, _name_found, lambda *_: "My home"),
    Question("at", _put_at, _at_found, lambda *_: "36.1, -79.95 273 m"),
    Question("zone", _put_zone, _zone_found, _zone_default),
    Question("weather", _put_weather, _weather_found, lambda *_: GET),
)
