"""A home of one's own from answers: each is tried as it is given; all of them make the files of a scenario."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any

from solarsim.errors import LoadError, ScenarioError, WeatherError
from solarsim.ledger.rate_plan_hours import hours_from
from solarsim.scenario.copies import packaged_folders, with_copies, with_schema
from solarsim.scenario.model import Scenario
from solarsim.scenario.questions.annotated import annotated_text
from solarsim.scenario.questions.answers import (
    GET,
    NEAREST,
    QUESTIONS,
    Setting,
    answers_from,
    default_of,
    home_from,
    questions_for,
)
from solarsim.scenario.questions.question import place_of
from solarsim.scenario.questions.zones import distance_km
from solarsim.studies.load import load_year
from solarsim.studies.weather import Place, WeatherYears, weather_file_year, weather_year
from solarsim.weather.read import format_of_file

#: A packaged file further away is of another climate (common practice, no source).
NEAR_KM, TOO_FAR_KM = 50.0, 300.0
_WITHOUT_IT = "without it: the path of a weather file, or means with twelve months"
_BEHIND_THE_NAME = "here the key and its value follow the file's name, for example: data.csv clock wall"
Fetch = Callable[[Scenario], Mapping[str, Any]]


@dataclass(frozen=True)
class Station:
    """A packaged weather file.

    Attributes
    ----------
    path : pathlib.Path
        The file.
    format : str
        As in ``weather.format``.
    name : str
        Of the station.
    away_km : float
        From the home [km].
    """

    path: Path
    format: str
    name: str
    away_km: float


@dataclass(frozen=True)
class Draft:
    """Answers that were given, and what was found from them.

    Attributes
    ----------
    setting : Setting
        What they are read against.
    answers : mapping of str to str
        The words of each, by its question.
    """

    setting: Setting
    answers: Mapping[str, str] = field(default_factory=dict)

    @property
    def asked(self) -> tuple[str, ...]:
        """Names of the questions that are asked, as far as the answers decide it."""
        return questions_for(self.answers, self.setting)

    def default(self, name: str) -> str:
        """Return the answer that is offered to a question; for weather the nearest packaged file where one is near."""
        if name == "weather":
            station = nearest_station(home_from(self.answers, self.setting))
            return NEAREST if station.away_km <= NEAR_KM else GET
        return default_of(name, self.answers, self.setting)

    def with_default(self, name: str) -> "Draft":
        """Return the draft with the answer that is offered to a question, not tried."""
        return replace(self, answers={**self.answers, name: self.default(name)})


def nearest_station(home: Scenario) -> Station:
    """Return the packaged weather file that is nearest to a home.

    Parameters
    ----------
    home : Scenario
        With its coordinates.

    Returns
    -------
    Station
        However far it is.

    Raises
    ------
    ScenarioError
        The home's tables do not hold its coordinates.
    """
    here = place_of(home.tables)
    if here is None:
        raise ScenarioError("at: the coordinates are missing")
    stations = [
        Station(path, kind, place.name, distance_km(here[:2], (place.latitude_deg, place.longitude_deg)))
        for path, kind, place in _stations()
    ]
    return min(stations, key=lambda each: each.away_km)


@cache
def _stations() -> tuple[tuple[Path, str, Place], ...]:
    """Return every packaged weather file, its format and its place."""
    known = ((path, format_of_file(path)) for path in sorted(packaged_folders()[1].iterdir()))
    return tuple(
        (path, kind, weather_file_year(path, kind).years[0].place)
        for path, kind in known
        if kind is not None and kind != "csv"
    )


def answered(draft: Draft, name: str, words: str, fetch: Fetch) -> tuple[Draft, tuple[str, ...]]:
    """Add one answer, after trying it: by the scenario's rules, and with the files that it names.

    Parameters
    ----------
    draft : Draft
        The answers to the questions before.
    name : str
        The question.
    words : str
        Its answer.
    fetch : callable
        Takes the home as far as it is known, and returns the table ``weather`` of a file that it has fetched.

    Returns
    -------
    tuple
        The draft with the answer as it was understood, and notes on what was found.

    Raises
    ------
    InputError
        The answer cannot be read, is outside what is allowed, or its file does not hold what it must.
    """
    setting = draft.setting
    if name == "weather":
        setting = replace(setting, weather=_weather_table(draft, words, fetch))
    given = {**draft.answers, name: words}
    try:
        home = home_from(given, setting)
    except ScenarioError as error:
        raise ScenarioError(*_each_once(error.problems)) from None
    notes = _tried(name, home)
    understood = answers_from(home.tables, setting.folder)[name]
    kept = words if understood is None or name == "weather" else understood
    return Draft(setting, {**given, name: kept}), notes


def _each_once(problems: tuple[str, ...]) -> list[str]:
    """Return problems of which those of further keys that follow from the same answer are left out."""
    first: dict[str, str] = {}
    for problem in problems:
        first.setdefault(problem.partition(": ")[2] or problem, problem)
    return list(first.values())


def _weather_table(draft: Draft, words: str, fetch: Fetch) -> Mapping[str, Any] | None:
    """Return the table of the weather file that an answer leads to; None for monthly means, which need none."""
    home = home_from(draft.answers, draft.setting)
    first = (words.split() or [""])[0].lower()
    if first == "means":
        return None
    if first == GET and len(words.split()) == 1:
        try:
            return fetch(home)
        except WeatherError as error:
            raise WeatherError(*(f"{problem}; {_WITHOUT_IT}" for problem in error.problems)) from None
    if first == NEAREST and len(words.split()) == 1:
        station = nearest_station(home)
        if station.away_km > TOO_FAR_KM:
            raise WeatherError(
                f"{NEAREST}: {station.name} is {station.away_km:,.0f} km away, too far; allowed: {GET}, the path of a"
                f" weather file, or means with twelve months (at most {TOO_FAR_KM:.0f} km)"
            )
        return {"file": str(station.path), "format": station.format}
    return _table_of_file(draft, words, home)


def _table_of_file(draft: Draft, words: str, home: Scenario) -> Mapping[str, Any]:
    path = draft.setting.folder.absolute() / Path(words.strip().strip("'\"")).expanduser()
    if not path.exists():
        raise WeatherError(
            f"{words!r}: is no file; allowed: {NEAREST}, {GET}, the path of a weather file, or means with twelve months"
        )
    kind = format_of_file(path)
    if kind is None:
        raise WeatherError(f"{path}: is of no known format of weather files: epw, tmy3, tm2, psm, pvgis or csv")
    if kind != "csv":
        return {"file": str(path), "format": kind}
    place = place_of(home.tables)
    if place is None or place[2] is None:
        raise WeatherError(
            f"{path}: a csv states no elevation; go back and write it after the coordinates, for example 36.1, -79.95"
            " 273 m"
        )
    keys = dict(zip(("latitude_deg", "longitude_deg", "elevation_m"), place, strict=True))
    return {
        "file": str(path),
        "format": kind,
        "place": {**keys, "utc_offset_h": home.site.timeline().utc_offset_h},
    }


def _tried(name: str, home: Scenario) -> tuple[str, ...]:
    """Return what was found in the files of an answer, or refuse them; a price plan must cover every hour once."""
    if name == "weather":
        return _weather_words(weather_year(home))
    if name == "kwh":
        return _load_words(home)
    if name == "house":
        return _house_words(home)
    if name in ("rates", "holidays"):
        hours_from(home.rate_plan, home.site.timeline())
        return home.rate_plan.doubts
    return home.notes if name == QUESTIONS[-1].name else ()


def _load_words(home: Scenario) -> tuple[str, ...]:
    """Return what a meter's file holds; nothing of bills, which are as they were typed."""
    if home.load.meter is None:
        return load_year(home).notes
    try:
        year = load_year(home)
    except LoadError as error:
        raise LoadError(*(f"{problem}; {_BEHIND_THE_NAME}" for problem in error.problems)) from None
    return (f"{year.load_kwh:,.0f} kWh a year", *year.notes)


def _house_words(home: Scenario) -> tuple[str, ...]:
    """Return what the parts of the house make of the load."""
    if home.load.parts is None:
        return ()
    year = load_year(home)
    told = (*weather_year(home).notes, *load_year(home.changed({"load.parts": None})).notes)
    return (f"{year.load_kwh:,.0f} kWh a year in all", *(note for note in year.notes if note not in told))


def _weather_words(found: WeatherYears) -> tuple[str, ...]:
    year = found.years[0]
    return (
        f"{year.place.name}, {year.place.latitude_deg:.2f}, {year.place.longitude_deg:.2f}:"
        f" {year.annual.ghi_kwh_m2:,.0f} kWh/m2 a year, mean {year.annual.temp_mean_c:.1f} C",
        *found.notes,
    )


def files_of(draft: Draft, file: Path, fetched: Path) -> dict[Path, bytes]:
    """Return the files of a home: the annotated scenario, what it needs beside it, and the schema of editors.

    Parameters
    ----------
    draft : Draft
        All answers.
    file : pathlib.Path
        Where the scenario is to be.
    fetched : pathlib.Path
        The folder that fetched weather is in.

    Returns
    -------
    dict of pathlib.Path to bytes
        The content of each, the scenario first.

    Raises
    ------
    InputError
        The answers do not make a valid home.
    """
    home = home_from(draft.answers, draft.setting)
    copied = (*packaged_folders(), fetched)
    tables, files = with_copies(home.tables, draft.setting.folder, file.parent, copied)
    return with_schema(annotated_text(tables), file, files)
