"""Weather of a place from an open data service: coordinates and years in; real years, and a typical one, out."""

from collections.abc import Callable
from dataclasses import dataclass

from solarsim.errors import WeatherError
from solarsim.results import Result, fact
from solarsim.studies.weather import Place, YearOfWeather, year_of_weather
from solarsim.weather.services.real_years import Site
from solarsim.weather.services.service import SERVICES as _SERVICES
from solarsim.weather.services.service import Service, clock_of, fetch, service_named
from solarsim.weather.typical_months import (
    LEAST_YEARS,
    STANDARD_YEARS,
    typical_months,
    typical_year,
)

#: Names of the services.
SERVICES = tuple(_SERVICES)


@dataclass(frozen=True, eq=False, repr=False)
class ChosenMonth(Result):
    """From which year a month of the typical year is."""

    month: int = fact("1 to 12", "1")
    year: int = fact("the calendar year that the month was taken from", "1")
    ghi_distance: float = fact(
        "Finkelstein-Schafer statistic of daily global irradiation, 0 to 1; 0: as all years", "1"
    )
    temp_distance: float = fact("the same of daily air temperature", "1")
    humidity_distance: float = fact("the same of daily relative humidity", "1")
    wind_apart_m_s: float = fact("mean wind speed of the month less that of all years", "m/s")


@dataclass(frozen=True, eq=False, repr=False)
class FetchedWeather(Result):
    """Real years of weather of a place, and a typical year of them."""

    _rows = "years"

    service: str = fact("name of the service", "text")
    title: str = fact("what the service is", "text")
    retrieved: str = fact("day of the oldest answer, ISO 8601", "text")
    place: Place = fact("where and by which clock", "record")
    years: tuple[YearOfWeather, ...] = fact("each real year", "table")
    typical: YearOfWeather | None = fact(
        "a typical year made from their months; null where none was asked for", "record"
    )
    months: tuple[ChosenMonth, ...] = fact("the months of the typical year; empty where there is none", "table")
    notes: tuple[str, ...] = fact("what was repaired, or is doubtful", "list")


def weather_get(
    service: str | Service,
    latitude_deg: float,
    longitude_deg: float,
    first_year: int,
    last_year: int,
    *,
    typical: bool = False,
    time_zone: str | None = None,
    elevation_m: float | None = None,
    told: Callable[[str], None] | None = None,
) -> FetchedWeather:
    """Fetch real years of weather by coordinates.

    Each year that was fetched before comes from the user's cache folder. Every year is repaired and checked as a file
    is, its labels against the sun included.

    Parameters
    ----------
    service : str or Service
        One of ``SERVICES``; or a service at another address.
    latitude_deg, longitude_deg : float
        North and east positive [deg].
    first_year, last_year : int
        Whole calendar years, both included.
    typical : bool
        Whether to make a typical year of their months, too.
    time_zone : str, optional
        IANA name of the zone whose standard time the years are in; default: the whole hour that is nearest to the sun's
        own time. A run moves either to the site's clock.
    elevation_m : float, optional
        Above sea level, in place of what the service states for its cell [m].
    told : callable, optional
        Called with a few words before each year.

    Returns
    -------
    FetchedWeather
        29 February is left out of every year.

    Raises
    ------
    WeatherError
        The service, the place, the zone or the years are not possible; a key is missing in the environment or was
        refused; the service cannot be reached or answers with an error; a year has gaps or values that no sky has.

    Notes
    -----
    Typical months are chosen as in ISO 15927-4; see ``weather.typical_months``.
    """
    source = service_named(service) if isinstance(service, str) else service
    if last_year < first_year:
        raise WeatherError(f"years {first_year} to {last_year} must be in order")
    years = range(first_year, last_year + 1)
    if typical and len(years) < LEAST_YEARS:
        raise WeatherError(f"a typical year needs at least {LEAST_YEARS} years; got {len(years)}")
    site = Site(
        name=source.title,
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        elevation_m=elevation_m or 0.0,
        utc_offset_h=clock_of(longitude_deg, time_zone),
    )
    fetched = fetch(source, site, years, told or _say_nothing, elevation_m)
    notes = list(fetched.notes)
    joined, months = None, tuple[ChosenMonth, ...]()
    if typical:
        chosen = typical_months(fetched.years)
        joined = typical_year(fetched.years, chosen, f"{source.name} typical year")
        months = tuple(ChosenMonth(month, *each) for month, each in enumerate(chosen, start=1))
        notes += joined.notes
        if len(years) < STANDARD_YEARS:
            notes.append(
                f"the typical year is made from {len(years)} years; ISO 15927-4 asks for at least {STANDARD_YEARS}"
            )
    return FetchedWeather(
        service=source.name,
        title=source.title,
        retrieved=fetched.retrieved,
        place=Place(*fetched.site),
        years=tuple(year_of_weather(each.weather, str(each.year)) for each in fetched.years),
        typical=None if joined is None else year_of_weather(joined, "typical year"),
        months=months,
        notes=tuple(dict.fromkeys(notes)),
    )


def _say_nothing(_: str) -> None:
    """Take words of progress that nobody reads."""
