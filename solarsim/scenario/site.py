"""Where the home is, by which clock and calendar, and under which sky.

Every class is one table of the scenario file.
"""

from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from solarsim.clock.holidays import Holidays, holidays_in
from solarsim.clock.timeline import Timeline, timeline_for
from solarsim.errors import nearest
from solarsim.fields import FileName, Frozen, Name, Share, field, no_repeats

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

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


def known_zone(zone: str) -> str:
    """Return an IANA time zone of a place as it is written.

    Parameters
    ----------
    zone : str
        The name.

    Returns
    -------
    str
        The same.

    Raises
    ------
    ValueError
        It is none, or one without daylight saving or of this machine; the nearest or an example is named.
    """
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
    """Hills, forests and houses far off, as a line around the site; straight between its points."""

    azimuth_deg: Annotated[tuple[Annotated[float, Field(ge=0, lt=360)], ...], Field(min_length=2)] = field(
        "directions, clockwise from north, rising", "deg", dimension="azimuth"
    )
    elevation_deg: Annotated[tuple[Annotated[float, Field(ge=0, le=80)], ...], Field(min_length=2)] = field(
        "height of the horizon in each of these directions", "deg"
    )

    def elevation_at(self, azimuth_deg: "NDArray[np.float64]") -> "NDArray[np.float64]":
        """Return the height of the horizon in some directions; straight lines between its points [deg]."""
        import numpy as np

        return np.asarray(np.interp(azimuth_deg, self.azimuth_deg, self.elevation_deg, period=360.0))

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
    """Where the home is, the calendar year that fixes weekdays and clock changes, and the steps of a run."""

    name: Name = field("the place, for headings", "text")
    time_zone: Annotated[str, AfterValidator(known_zone)] = field(
        "IANA time zone, such as America/New_York: rate plans and strategies follow its wall clock", "text"
    )
    calendar_year: int = field("year of weekdays, holidays and clock changes", "year", ge=1990, le=2099)
    step_minutes: Annotated[int, AfterValidator(_known_step)] = field(
        "length of a step of the run: 60, 30 or 15", "min", default=60
    )
    albedo: Share = field(
        "share of light that the ground reflects: 0.2 for grass, 0.6 and more for snow", "1", usual=(0.02, 0.9)
    )
    design_low_c: float | None = field(
        "lowest air temperature for which strings are designed, from local records or code: their voltage is highest"
        " then; default: the lowest of the weather file",
        "C",
        ge=-60,
        le=30,
        default=None,
    )
    holidays: Holidays | None = field("which days are holidays", "table", default=None)
    design_high_c: float | None = field(
        "design value of the highest air temperature, as for conductors: for the command wiring",
        "C",
        ge=-10,
        le=60,
        default=None,
    )
    horizon: Horizon | None = field("what is far off and shades the whole site", "table", default=None)

    @model_validator(mode="after")
    def _temperatures_in_order(self) -> Self:
        low_c, high_c = self.design_low_c, self.design_high_c
        if low_c is not None and high_c is not None and low_c >= high_c:
            raise ValueError(f"design_low_c {low_c:g} must be below design_high_c {high_c:g}")
        return self

    @model_validator(mode="after")
    def _holidays_exist(self) -> Self:
        if self.holidays is not None:
            holidays_in(self.holidays, self.calendar_year)
        return self

    def timeline(self, step_h: float | None = None) -> Timeline:
        """Return the steps of the site's calendar year, in its own steps or in others [h]."""
        return timeline_for(self.time_zone, self.calendar_year, step_h or self.step_minutes / 60, self.holidays)


def _within(name: str) -> Any:
    low, high = ON_EARTH[name]
    return Field(ge=low, le=high)


class Place(Frozen):
    """Where a year of weather is to be made for."""

    latitude_deg: Annotated[float, _within("latitude_deg")] = field("north positive", "deg", dimension="latitude")
    longitude_deg: Annotated[float, _within("longitude_deg")] = field("east positive", "deg", dimension="longitude")
    elevation_m: Annotated[float, _within("elevation_m")] = field("above sea level", "m")


class CsvPlace(Place):
    """Where and by which clock a plain CSV of weather was recorded."""

    utc_offset_h: Annotated[float, _within("utc_offset_h")] = field(
        "the file's fixed clock minus UTC; its first row is the hour from 00:00 to 01:00 on 1 January", "h"
    )


WeatherFormat = Literal["tmy3", "tm2", "epw", "psm", "pvgis", "csv"]


class WeatherFile(Frozen):
    """A year of weather from a file."""

    file: FileName = field("path, relative to the scenario file: the year that runs use", "text")
    format: WeatherFormat = field(
        "tmy3, tm2, epw, psm (CSV of the US National Solar Radiation Database), pvgis (CSV or JSON of the European"
        " Commission's typical years), or csv (8,760 rows with named columns)",
        "text",
    )
    place: CsvPlace | None = field(
        "location and clock: required for csv; for epw in place of what its first line states; refused for the others",
        "table",
        default=None,
    )
    other_files: Annotated[tuple[FileName, ...], AfterValidator(no_repeats)] | None = field(
        "files of further years of the same place, in the same format, for commands that use several years",
        "text",
        default=None,
    )

    @property
    def files(self) -> tuple[str, ...]:
        """Every file, the one that runs take first."""
        return (self.file, *(self.other_files or ()))

    @model_validator(mode="after")
    def _place_of_csv(self) -> Self:
        if self.format == "csv" and self.place is None:
            raise ValueError("a csv file states no place; write a table weather.place")
        if self.format not in ("csv", "epw") and self.place is not None:
            raise ValueError(f"a {self.format} file states its own place; leave weather.place out")
        if self.file in self.files[1:]:
            raise ValueError(f"other_files names {self.file!r}, which is the file itself")
        return self


_Celsius12 = Annotated[tuple[Annotated[float, Field(ge=-60, le=50)], ...], Field(min_length=12, max_length=12)]
# More than any month of any place has (common practice, no source).
_DayLight12 = Annotated[tuple[Annotated[float, Field(ge=0, le=12)], ...], Field(min_length=12, max_length=12)]
_MonthLight12 = Annotated[tuple[Annotated[float, Field(ge=0, le=372)], ...], Field(min_length=12, max_length=12)]
_Wind12 = Annotated[tuple[Annotated[float, Field(ge=0, le=30)], ...], Field(min_length=12, max_length=12)]


class MonthlyMeans(Frozen):
    """Twelve monthly means from which a typical year is made, for a place without a file."""

    format: Literal["monthly"] = field("monthly", "text")
    place: Place = field("location; the clock is the site's", "table")
    ghi_kwh_m2_day: _DayLight12 | None = field(
        "global horizontal irradiation of a mean day of each month", "kWh/m2", default=None
    )
    ghi_kwh_m2: _MonthLight12 | None = field(
        "the same of each whole month, in place of ghi_kwh_m2_day", "kWh/m2", default=None
    )
    temp_air_c: _Celsius12 = field("mean air temperature of each month", "C")
    wind_speed_m_s: _Wind12 | None = field(
        "mean wind speed at 10 m of each month; without it the air is still and modules run hotter", "m/s", default=None
    )
    seed: int = field("which of the equally likely years: the same number makes the same year", "1", ge=0, le=2**31 - 1)

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
        return self


WeatherSource = Annotated[WeatherFile | MonthlyMeans, Field(discriminator="format")]
