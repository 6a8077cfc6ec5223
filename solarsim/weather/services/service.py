"""The open data services: a name, a place and years in, real years of weather out."""

import os
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from typing import Any, NamedTuple

import numpy as np

from solarsim.clock.timeline import MOST_APART_H, timeline_for
from solarsim.errors import WeatherError, nearest
from solarsim.scenario.site import ON_EARTH, known_zone
from solarsim.weather.services._asking import Patience, answer
from solarsim.weather.services._era5 import hours_from_era5
from solarsim.weather.services._kept import keep_year, kept_year
from solarsim.weather.services._nasa_power import hours_from_nasa_power
from solarsim.weather.services._nsrdb import hours_from_nsrdb
from solarsim.weather.services._utc_year import UtcYear
from solarsim.weather.services.real_years import RealYear, Site, years_by_clock

MOST_YEARS = 40
_SAME_CELL_DEG = 0.5
_OTHER_ELEVATION_M = 200.0  # more than a degree of air temperature (common practice)


@dataclass(frozen=True)
class Service:
    """An open data service.

    Attributes
    ----------
    name : str
        As it is asked for.
    title : str
        What it is, in words.
    first_year : int
        The first whole calendar year.
    hours_from : callable
        Asks for a year.
    secrets : dict of str to str
        Parameters of ``hours_from`` that only the user knows -> environment variables that hold them.
    keys_from : str
        Where such a key is to be had, free of charge; as pvlib documents it.
    patience : Patience
        How long it is waited for.
    limits_itself : bool
        Whether pvlib's getter has a limit on time of its own.
    url : str or None
        Another address than the service's own, of a mirror for example.
    """

    name: str
    title: str
    first_year: int
    hours_from: Callable[..., tuple[dict[str, Any], tuple[float, float, float]]]
    secrets: dict[str, str]
    keys_from: str
    patience: Patience
    limits_itself: bool
    url: str | None = None


SERVICES = {
    each.name: each
    for each in (
        Service(
            "nasa-power", "NASA POWER, hourly", 2001, hours_from_nasa_power,
            {}, "", Patience(limit_s=120), limits_itself=False,
        ),
        Service(
            "nsrdb", "US National Solar Radiation Database, PSM version 4, hourly", 1998, hours_from_nsrdb,
            {"key": "SOLARSIM_NSRDB_KEY", "email": "SOLARSIM_NSRDB_EMAIL"}, "developer.nlr.gov",
            Patience(limit_s=120), limits_itself=True,
        ),
        Service(
            "era5", "ERA5 of the Copernicus Climate Data Store, hourly", 1940, hours_from_era5,
            {"key": "SOLARSIM_ERA5_KEY"}, "cds.climate.copernicus.eu",
            Patience(limit_s=900, tries=2), limits_itself=True,
        ),
    )
}  # fmt: skip


class Fetched(NamedTuple):
    """Real years of a place."""

    years: tuple[RealYear, ...]
    site: Site
    retrieved: str  # the day of the oldest answer among them, ISO 8601
    notes: tuple[str, ...]


def fetch(
    service: Service,
    site: Site,
    years: range,
    told: Callable[[str], None],
    elevation_m: float | None = None,
) -> Fetched:
    """Return real years of a place, each from the cache or from the service.

    Parameters
    ----------
    service : Service
        Which.
    site : Site
        Place and clock; its elevation is replaced by what the service states, or by ``elevation_m``.
    years : range
        Whole calendar years.
    told : callable
        Called with a few words before each year.
    elevation_m : float, optional
        In place of what the service states [m].

    Returns
    -------
    Fetched
        The years, and notes on what was repaired or is doubtful.

    Raises
    ------
    WeatherError
        The years or the place are not possible, a key is missing or refused, the service cannot be reached or answers
        with an error, or a year has gaps or values that no sky has.
    """
    _check(service, site, years)
    site = site._replace(latitude_deg=round(site.latitude_deg, 4), longitude_deg=round(site.longitude_deg, 4))
    found = []
    for year in years:
        told(f"{service.name}: {year}")
        found.append(_year(service, site, year))
    stated_m = float(np.median([each.elevation_m for each in found]))
    site = site._replace(elevation_m=round(stated_m if elevation_m is None else elevation_m, 1))
    notes = []
    if abs(site.elevation_m - stated_m) > _OTHER_ELEVATION_M:
        notes.append(
            f"{service.name}: its air temperature is for {stated_m:.0f} m above sea level, not for"
            f" {site.elevation_m:g} m"
        )
    real = years_by_clock(found, site, service.name)
    notes += [note for each in real for note in each.weather.notes]
    return Fetched(real, site, min(each.retrieved for each in found), tuple(notes))


def _check(service: Service, site: Site, years: range) -> None:
    """Refuse years that cannot be asked for, and places that are none."""
    problems = []
    last = datetime.now(UTC).year - 1
    if not (service.first_year <= years[0] <= years[-1] <= last):
        shown = f"{years[0]}" if len(years) == 1 else f"{years[0]}-{years[-1]}"
        problems.append(f"{service.name}: has the years {service.first_year} to {last}; got {shown}")
    elif len(years) > MOST_YEARS:
        problems.append(f"{service.name}: at most {MOST_YEARS} years at a time; got {len(years)}")
    for name in ("latitude_deg", "longitude_deg", "elevation_m"):
        low, high = ON_EARTH[name]
        value = getattr(site, name)
        if not low <= value <= high:
            problems.append(f"{service.name}: {name} is {value:g}, must be from {low:g} to {high:g}")
    if problems:
        raise WeatherError(*problems)


def service_named(name: str) -> Service:
    """Return a service.

    Parameters
    ----------
    name : str
        One of ``SERVICES``.

    Returns
    -------
    Service
        That one.

    Raises
    ------
    WeatherError
        There is none of this name.
    """
    if name not in SERVICES:
        raise WeatherError(f"{name!r} is not a known weather service{nearest(name, SERVICES)}")
    return SERVICES[name]


def _year(service: Service, site: Site, year: int) -> UtcYear:
    """Return one year from the cache, else from the service."""
    place = (site.latitude_deg, site.longitude_deg)
    kept = kept_year(service.name, *place, year)
    if kept is not None:
        return kept
    secrets = _secrets(service)
    how: dict[str, Any] = dict(secrets)
    if service.limits_itself:
        how["timeout"] = service.patience.limit_s
    if service.url is not None:
        how["url"] = service.url
    call = partial(service.hours_from, *place, year, **how)
    columns, (latitude_deg, longitude_deg, elevation_m) = answer(
        service.name, call, list(secrets.values()), service.patience
    )
    apart_deg = max(abs(latitude_deg - place[0]), abs((longitude_deg - place[1] + 180) % 360 - 180))
    if not apart_deg <= _SAME_CELL_DEG:
        raise WeatherError(
            f"{service.name}: answered for {latitude_deg:g}, {longitude_deg:g}; the request was for {place[0]:g},"
            f" {place[1]:g}"
        )
    found = UtcYear(year, latitude_deg, longitude_deg, elevation_m, columns, datetime.now(UTC).date().isoformat())
    # A year with a hole in it may be whole next month.
    if all(np.isfinite(values).all() for values in columns.values()):
        keep_year(service.name, *place, found)
    return found


def _secrets(service: Service) -> dict[str, str]:
    """Return what only the user knows, from the environment."""
    found = {name: os.environ.get(variable, "").strip() for name, variable in service.secrets.items()}
    missing = [service.secrets[name] for name, value in found.items() if not value]
    if missing:
        variables = f"environment variable{'' if len(missing) == 1 else 's'} {' and '.join(missing)}"
        raise WeatherError(
            f"{service.name}: needs a free API key (register at {service.keys_from}); set the {variables}"
        )
    return found


def clock_of(longitude_deg: float, time_zone: str | None) -> float:
    """Return the fixed clock of a place's years.

    Parameters
    ----------
    longitude_deg : float
        East positive [deg].
    time_zone : str or None
        IANA name: its standard time; None: the whole hour that is nearest to the sun's own time.

    Returns
    -------
    float
        The clock less UTC [h].

    Raises
    ------
    WeatherError
        There is no such zone, or it is in another part of the world.
    """
    if time_zone is None:
        return float(round(longitude_deg / 15))
    try:
        timeline = timeline_for(known_zone(time_zone), datetime.now(UTC).year - 1)
    except ValueError as error:
        raise WeatherError(f"time zone {time_zone!r}: {error}") from None
    apart_h = timeline.sun_apart_h(longitude_deg)
    if apart_h > MOST_APART_H:
        raise WeatherError(
            f"time zone {time_zone!r}: its standard time is {apart_h:.1f} h away from the sun at a longitude of"
            f" {longitude_deg:g}: another part of the world"
        )
    return timeline.utc_offset_h
