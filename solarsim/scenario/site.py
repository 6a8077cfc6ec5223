"""Where the house stands, by which clock and calendar, and under which sky.

Every class is one table of the scenario file.
"""

from itertools import pairwise
from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from solarsim.clock.holidays import Holidays, holidays_in
from solarsim.clock.timeline import Timeline, timeline_for
from solarsim.errors import nearest
from solarsim.fields import Frozen, Months12, Name, Share, no_repeats

#: Lowest and highest value of what places a weather file or a house on Earth.
ON_EARTH = {
    "latitude_deg": (-90.0, 90.0),
    "longitude_deg": (-180.0, 180.0),
    "elevation_m": (-450.0, 6000.0),
    "utc_offset_h": (-12.0, 14.0),
}
#: Lengths that a step of a run may have [min].
STEP_MINUTES = (60, 30, 15)
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_WINDIEST_M_S = 30.0
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


def _known_step(minutes: int) -> int:
    if minutes not in STEP_MINUTES:
        raise ValueError(f"must be one of {', '.join(map(str, STEP_MINUTES))}")
    return minutes


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
    """Where the house stands, the calendar year that fixes weekdays and clock changes, and the steps of a run.

    Attributes
    ----------
    name, time_zone : str
        For a person; IANA.
    calendar_year : int
        Of weekdays, holidays and clock changes.
    step_minutes : int
        Length of a step of the run: 60, 30 or 15 [min]. An hour unless finer steps are asked for.
    albedo : float
        Of the ground, 0-1.
    holidays : Holidays, optional
        Which days count.
    horizon : Horizon, optional
        What stands far off.
    """

    name: Name
    time_zone: Annotated[str, AfterValidator(_known_zone)]
    calendar_year: Annotated[int, Field(ge=1990, le=2099)]
    step_minutes: Annotated[int, AfterValidator(_known_step)] = 60
    albedo: Share
    holidays: Holidays | None = None
    horizon: Horizon | None = None

    @model_validator(mode="after")
    def _holidays_exist(self) -> Self:
        if self.holidays is not None:
            holidays_in(self.holidays, self.calendar_year)
        return self

    def timeline(self, step_h: float | None = None) -> Timeline:
        """Lay out the steps of the site's calendar year, in its own steps or in others [h]."""
        return timeline_for(self.time_zone, self.calendar_year, step_h or self.step_minutes / 60, self.holidays)


def _within(name: str) -> Any:
    low, high = ON_EARTH[name]
    return Field(ge=low, le=high)


class Place(Frozen):
    """Where a year of weather is to be made for.

    Attributes
    ----------
    latitude_deg, longitude_deg : float
        North and east positive [deg].
    elevation_m : float
        Above sea level [m].
    """

    latitude_deg: Annotated[float, _within("latitude_deg")]
    longitude_deg: Annotated[float, _within("longitude_deg")]
    elevation_m: Annotated[float, _within("elevation_m")]


class CsvPlace(Place):
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

    utc_offset_h: Annotated[float, _within("utc_offset_h")]


class WeatherFile(Frozen):
    """Which year of weather to read.

    Attributes
    ----------
    file : str
        Path, relative to the scenario file: the year that runs take.
    format : str
        ``tmy3``, ``tm2``, ``epw``, or ``csv`` (8,760 rows with named columns).
    place : CsvPlace, optional
        Required for ``csv``, which states no place; refused for the others, which state their own.
    other_files : tuple of str, optional
        Files of further years of the same place, in the same format: shown beside the first, and
        run only by what asks for several years.
    """

    file: str
    format: Literal["tmy3", "tm2", "epw", "csv"]
    place: CsvPlace | None = None
    other_files: Annotated[tuple[str, ...], AfterValidator(no_repeats)] | None = None

    @property
    def files(self) -> tuple[str, ...]:
        """Every file, the one that runs take first."""
        return (self.file, *(self.other_files or ()))

    @model_validator(mode="after")
    def _place_of_csv(self) -> Self:
        if self.format == "csv" and self.place is None:
            raise ValueError("a csv file states no place; write a table weather.place")
        if self.format != "csv" and self.place is not None:
            raise ValueError(f"a {self.format} file states its own place; leave weather.place out")
        if self.file in self.files[1:]:
            raise ValueError(f"other_files names {self.file!r}, which is the file itself")
        return self


_Celsius12 = Annotated[tuple[Annotated[float, Field(ge=-60, le=50)], ...], Field(min_length=12, max_length=12)]


class MonthlyMeans(Frozen):
    """Twelve monthly means from which a typical year is made, for a place without a file.

    Attributes
    ----------
    format : str
        ``monthly``.
    place : Place
        Where; the clock is the site's.
    ghi_kwh_m2_day : tuple of float, optional
        Global horizontal irradiation of a mean day of each month [kWh/m2].
    ghi_kwh_m2 : tuple of float, optional
        The same of each whole month [kWh/m2], in place of ``ghi_kwh_m2_day``.
    temp_air_c : tuple of float
        Mean air temperature of each month [C].
    wind_speed_m_s : tuple of float, optional
        Mean wind at 10 m of each month [m/s]. Without it the air stands still, and modules run hotter.
    seed : int
        Which of the equally likely years: the same number gives the same year.
    """

    format: Literal["monthly"]
    place: Place
    ghi_kwh_m2_day: Months12 | None = None
    ghi_kwh_m2: Months12 | None = None
    temp_air_c: _Celsius12
    wind_speed_m_s: Months12 | None = None
    seed: Annotated[int, Field(ge=0, le=2**31 - 1)]

    @property
    def files(self) -> tuple[str, ...]:
        """None: it needs no file."""
        return ()

    @property
    def monthly_ghi_kwh_m2(self) -> tuple[float, ...]:
        """Global horizontal irradiation of each month [kWh/m2], in whichever key it was written."""
        if self.ghi_kwh_m2 is not None:
            return self.ghi_kwh_m2
        return tuple(day * days for day, days in zip(self.ghi_kwh_m2_day or (), MONTH_DAYS, strict=True))

    @model_validator(mode="after")
    def _one_irradiation(self) -> Self:
        if (self.ghi_kwh_m2_day is None) == (self.ghi_kwh_m2 is None):
            raise ValueError("needs either ghi_kwh_m2_day or ghi_kwh_m2 (of a whole month), and not both")
        if max(self.wind_speed_m_s or (0.0,)) > _WINDIEST_M_S:
            raise ValueError(f"wind_speed_m_s: no month has a mean of more than {_WINDIEST_M_S:g} m/s")
        return self


WeatherSource = Annotated[WeatherFile | MonthlyMeans, Field(discriminator="format")]
