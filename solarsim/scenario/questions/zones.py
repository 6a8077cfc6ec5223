"""Time zones and countries: coordinates in, the zone of the nearest reference city out; a zone in, its country out.

The file ``zone.tab`` of the IANA time zone database (public domain) comes with the package tzdata.
"""

import os
import re
from collections.abc import Iterator
from functools import cache
from importlib import resources
from math import asin, cos, radians, sin, sqrt
from pathlib import Path
from typing import NamedTuple

from solarsim.clock.timeline import MOST_APART_H, timeline_for

_EARTH_KM = 6371.0
_MOST_TRIED = 10
_ISO_6709 = re.compile(r"([+-])(\d{2})(\d{2})(\d{2})?([+-])(\d{3})(\d{2})(\d{2})?")

#: Currencies by country (ISO 4217 and ISO 3166, from memory); other countries must be named with their currency.
_COUNTRIES = {
    "USD": "US PR GU VI AS MP EC SV PA FM MH PW TL",
    "EUR": "AD AT BE CY DE EE ES FI FR GR HR IE IT LT LU LV MC ME MT NL PT SI SK SM VA GP MQ RE GF YT",
    "GBP": "GB IM JE GG",
    "AUD": "AU KI NR TV NF",
    "NZD": "NZ CK NU TK",
    "CHF": "CH LI",
    "DKK": "DK FO GL",
    "NOK": "NO SJ",
    "XOF": "BJ BF CI GW ML NE SN TG",
    "XAF": "CM CF CG GA GQ TD",
    "AED": "AE", "ARS": "AR", "BGN": "BG", "BRL": "BR", "CAD": "CA", "CLP": "CL", "CNY": "CN", "COP": "CO",
    "CRC": "CR", "CZK": "CZ", "DOP": "DO", "EGP": "EG", "GHS": "GH", "GTQ": "GT", "HKD": "HK", "HNL": "HN",
    "HUF": "HU", "IDR": "ID", "ILS": "IL", "INR": "IN", "ISK": "IS", "JMD": "JM", "JOD": "JO", "JPY": "JP",
    "KES": "KE", "KRW": "KR", "LKR": "LK", "MAD": "MA", "MXN": "MX", "MYR": "MY", "NGN": "NG", "NPR": "NP",
    "PEN": "PE", "PHP": "PH", "PKR": "PK", "PLN": "PL", "PYG": "PY", "RON": "RO", "RSD": "RS", "SAR": "SA",
    "SEK": "SE", "SGD": "SG", "THB": "TH", "TND": "TN", "TRY": "TR", "TTD": "TT", "TWD": "TW", "TZS": "TZ",
    "UAH": "UA", "UGX": "UG", "UYU": "UY", "VND": "VN", "ZAR": "ZA", "ZMW": "ZM",
}  # fmt: skip
CURRENCY_OF = {country: code for code, countries in _COUNTRIES.items() for country in countries.split()}

#: Zones of the United States that differ today; the others are of single counties or of the past.
_US_ZONES = ("New_York", "Chicago", "Denver", "Phoenix", "Los_Angeles", "Anchorage", "Adak", "Honolulu")
#: Cities nearer to a neighbor's reference city than to their own country's: about where they are, from memory.
_MORE_CITIES = {
    "America/New_York": ((25.8, -80.2), (33.7, -84.4), (36.1, -79.8), (41.5, -81.7), (42.3, -83.0), (42.9, -78.9)),
    "America/Chicago": ((29.8, -95.4), (32.8, -96.8), (39.1, -94.6), (45.0, -93.3), (30.0, -90.1), (26.2, -98.2)),
    "America/Denver": ((31.8, -106.4), (40.8, -111.9), (46.6, -112.0)),
    "America/Los_Angeles": ((32.7, -117.2), (36.2, -115.1), (45.5, -122.7), (47.6, -122.3)),
    "Europe/London": ((53.5, -2.2), (55.9, -3.2)),
    "Europe/Paris": ((43.3, 5.4), (43.7, 7.2), (43.6, 1.4), (48.6, 7.7), (50.6, 3.1)),
    "Europe/Madrid": ((41.4, 2.2), (37.4, -6.0), (36.7, -4.4)),
    "Europe/Berlin": ((48.1, 11.6), (48.8, 9.2), (50.9, 7.0), (53.6, 10.0)),
    "Europe/Rome": ((45.5, 9.2), (44.5, 11.3), (37.5, 15.1)),
    "Europe/Zurich": ((46.2, 6.1),),
    "Asia/Kolkata": ((13.0, 77.6), (13.1, 80.3), (19.1, 72.9), (28.6, 77.2), (17.4, 78.5)),
    "Asia/Shanghai": ((22.5, 114.0), (23.1, 113.3), (39.9, 116.4)),
    "Africa/Johannesburg": ((-33.9, 18.4), (-29.9, 31.0)),
}


class _City(NamedTuple):
    country: str
    latitude_deg: float
    longitude_deg: float
    zone: str


@cache
def _reference_cities() -> tuple[_City, ...]:
    """Return the reference city of every zone of every country."""
    return tuple(_rows(resources.files("tzdata.zoneinfo").joinpath("zone.tab").read_text(encoding="utf-8")))


@cache
def _cities() -> tuple[_City, ...]:
    """Return the cities of which the nearest decides."""
    listed = [each for each in _reference_cities() if each.country != "US" or each.zone.endswith(_US_ZONES)]
    country = {each.zone: each.country for each in listed}
    more = [_City(country[zone], *place, zone) for zone, places in _MORE_CITIES.items() for place in places]
    return (*listed, *more)


def _rows(table: str) -> Iterator[_City]:
    for line in table.splitlines():
        if line and not line.startswith("#"):
            country, place, zone = line.split("\t")[:3]
            found = _ISO_6709.fullmatch(place)
            if found is not None:
                yield _City(country, _degrees(*found.groups()[:4]), _degrees(*found.groups()[4:]), zone)


def _degrees(sign: str, degrees: str, minutes: str, seconds: str | None) -> float:
    size = int(degrees) + int(minutes) / 60 + int(seconds or 0) / 3600
    return -size if sign == "-" else size


def country_of(zone: str) -> str | None:
    """Return the ISO 3166 code of the country of a zone; None where the zone is of none."""
    return next((city.country for city in _reference_cities() if city.zone == zone), None)


def likely_zone(latitude_deg: float, longitude_deg: float) -> str:
    """Return this machine's own zone where its clock fits the longitude, else that of the nearest reference city.

    Parameters
    ----------
    latitude_deg, longitude_deg : float
        North and east positive [deg].

    Returns
    -------
    str
        An IANA zone, to offer; near a border it may be the neighbor's.
    """
    own = _own_zone()
    if own is not None and fits(own, longitude_deg):
        return own
    here = (latitude_deg, longitude_deg)
    near = sorted(_cities(), key=lambda city: distance_km(here, (city.latitude_deg, city.longitude_deg)))
    return next((city.zone for city in near[:_MOST_TRIED] if fits(city.zone, longitude_deg)), near[0].zone)


def distance_km(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Return the great-circle distance of two places in degrees (haversine formula) [km]."""
    (north, east), (other_north, other_east) = (tuple(map(radians, each)) for each in (one, other))
    half = sin((other_north - north) / 2) ** 2 + cos(north) * cos(other_north) * sin((other_east - east) / 2) ** 2
    return 2 * _EARTH_KM * asin(sqrt(half))


def _own_zone() -> str | None:
    """Return the IANA zone that this machine is set to; None where it has none with a place."""
    name = os.environ.get("TZ", "").lstrip(":") or str(Path("/etc/localtime").resolve()).partition("zoneinfo/")[2]
    return None if country_of(name) is None else name


def fits(zone: str, longitude_deg: float) -> bool:
    """Return whether a zone's clock is near enough to the sun of a longitude [deg]."""
    return timeline_for(zone, 2026).sun_apart_h(longitude_deg) <= MOST_APART_H
