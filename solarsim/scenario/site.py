"""Where the house stands, by which clock and calendar, and under which typical year.

Every class is one table of the scenario file.
"""

from datetime import date
from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from solarsim.scenario.errors import nearest
from solarsim.scenario.fields import Frozen, Name, Share, no_repeats

_ABBREVIATIONS = {
    "EST": "America/New_York",
    "CST": "America/Chicago",
    "MST": "America/Denver",
    "PST": "America/Los_Angeles",
    "GMT": "Europe/London",
    "CET": "Europe/Berlin",
    "EET": "Europe/Helsinki",
    "AEST": "Australia/Sydney",
}


def _known_zone(zone: str) -> str:
    from zoneinfo import ZoneInfo, available_timezones

    if zone in _ABBREVIATIONS:
        raise ValueError(f"is an abbreviation without daylight saving; name a place: '{_ABBREVIATIONS[zone]}'")
    try:
        # A zone without a place ("EST", "localtime") has no daylight saving or is this machine's own.
        if zone.partition("/")[0] in ("posix", "right") or ("/" not in zone and zone != "UTC"):
            raise KeyError
        ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        hint = nearest(zone, sorted(name for name in available_timezones() if "/" in name))
        hint = hint if "mean" in hint else ", for example 'America/New_York'"
        raise ValueError(f"is not an IANA time zone{hint}") from None
    return zone


class Holidays(Frozen):
    """Which days count as holidays: a country's calendar, or dates.

    Attributes
    ----------
    country, subdivision : str, optional
        ISO 3166 codes.
    observed : bool, optional
        Whether a holiday that falls on a weekend also makes the weekday a holiday on which it is
        observed. Many tariffs do not follow that: read yours.
    names : tuple of str, optional
        Only these holidays of the country's calendar.
    dates : tuple of datetime.date, optional
        Exactly these days, in place of a country.
    """

    country: str | None = None
    subdivision: str | None = None
    observed: bool | None = None
    names: Annotated[tuple[str, ...], AfterValidator(no_repeats)] | None = None
    dates: tuple[date, ...] = ()

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        if (self.country is None) == (not self.dates):
            raise ValueError("needs either a country or a list of dates, and not both")
        alone = [key for key in ("subdivision", "observed", "names") if getattr(self, key) is not None]
        if self.country is None and alone:
            raise ValueError(f"{', '.join(alone)} belong to a country, not to a list of dates")
        if self.country is not None and self.observed is None:
            raise ValueError("'observed' must say whether weekend holidays move to a weekday (true or false)")
        return self


class Horizon(Frozen):
    """Hills, forests and houses far off, as a line around the site; straight between its points.

    Attributes
    ----------
    azimuth_deg : tuple of float
        Directions, clockwise from north, rising [deg].
    elevation_deg : tuple of float
        How high the horizon stands there [deg].
    """

    azimuth_deg: Annotated[tuple[Annotated[float, Field(ge=0, lt=360)], ...], Field(min_length=2)]
    elevation_deg: Annotated[tuple[Annotated[float, Field(ge=0, le=80)], ...], Field(min_length=2)]

    @model_validator(mode="after")
    def _points_in_order(self) -> Self:
        if len(self.azimuth_deg) != len(self.elevation_deg):
            raise ValueError(
                f"has {len(self.azimuth_deg)} azimuths and {len(self.elevation_deg)} elevations; they belong together"
            )
        for before, after in pairwise(self.azimuth_deg):
            if after <= before:
                raise ValueError(f"azimuth_deg must rise; {after:g} follows {before:g}")
        return self


class Site(Frozen):
    """Where the house stands, and the calendar year that fixes weekdays and clock changes."""

    name: Name
    time_zone: Annotated[str, AfterValidator(_known_zone)]
    calendar_year: Annotated[int, Field(ge=1990, le=2099)]
    albedo: Share
    holidays: Holidays | None = None
    horizon: Horizon | None = None

    @model_validator(mode="after")
    def _holidays_exist(self) -> Self:
        from solarsim.scenario.timeline import holiday_dates

        holiday_dates(self)
        return self


class CsvPlace(Frozen):
    """Where and by which clock a plain CSV of weather was taken.

    Attributes
    ----------
    latitude_deg, longitude_deg : float
        North and east positive [deg].
    elevation_m : float
        Above sea level [m].
    utc_offset_h : float
        The file's fixed clock minus UTC [h]; its first row is the hour from 00:00 to 01:00 on
        1 January.
    """

    latitude_deg: Annotated[float, Field(ge=-90, le=90)]
    longitude_deg: Annotated[float, Field(ge=-180, le=180)]
    elevation_m: Annotated[float, Field(ge=-450, le=6000)]
    utc_offset_h: Annotated[float, Field(ge=-12, le=14)]


class WeatherFile(Frozen):
    """Which typical year to read.

    Attributes
    ----------
    file : str
        Path, relative to the scenario file.
    format : str
        ``tmy3``, ``tm2``, ``epw``, or ``csv`` (8,760 rows with named columns).
    place : CsvPlace, optional
        Required for ``csv``, which states no place; refused for the others, which state their own.
    """

    file: str
    format: Literal["tmy3", "tm2", "epw", "csv"]
    place: CsvPlace | None = None

    @model_validator(mode="after")
    def _place_of_csv(self) -> Self:
        if self.format == "csv" and self.place is None:
            raise ValueError("a csv file states no place; write a table weather.place")
        if self.format != "csv" and self.place is not None:
            raise ValueError(f"a {self.format} file states its own place; leave weather.place out")
        return self
