"""Weather by coordinates as a study: real years, a typical one, and what is said of them."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from solarsim.errors import WeatherError
from solarsim.studies.weather_get import SERVICES, FetchedWeather, weather_get
from tests.weather.service_stand_in import AT, at_stand_in, serving, sky_of

NSRDB = "nsrdb"


@pytest.fixture(scope="module")
def keys() -> Iterator[pytest.MonkeyPatch]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SOLARSIM_NSRDB_KEY", "a key")
        patch.setenv("SOLARSIM_NSRDB_EMAIL", "someone@example.org")
        yield patch


@pytest.fixture(scope="module")
def found(keys: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> FetchedWeather:
    keys.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
    told: list[str] = []
    with serving() as server:
        result = weather_get(at_stand_in(NSRDB, server.url), *AT, 2014, 2018, typical=True, told=told.append)
    assert told == [f"nsrdb: {year}" for year in range(2014, 2019)]
    return result


@pytest.mark.by_hand
def test_real_years_and_their_typical_year(found: FetchedWeather) -> None:
    """Each year is half a degree warmer than the one before: the middle three are candidates, wind is equal.

    The earliest of them is taken; a year's own irradiation does not differ.
    """
    assert [year.source for year in found.years] == ["2014", "2015", "2016", "2017", "2018"]
    assert found.typical is not None
    assert {month.year for month in found.months} <= {2015, 2016, 2017}
    assert found.months[5].year == 2015
    assert found.typical.weather.year_of_month == tuple(month.year for month in found.months)
    assert found.typical.annual.ghi_kwh_m2 == pytest.approx(1566.2, abs=0.05)
    step_c = found.years[4].annual.temp_mean_c - found.years[0].annual.temp_mean_c
    assert step_c == pytest.approx(2.0, abs=0.001)
    assert found.place.elevation_m == 273
    assert found.notes == ("the typical year is made from 5 years; ISO 15927-4 asks for at least 10",)
    assert len(found.record()["years"]) == 5


@pytest.mark.by_hand
def test_typical_hours_are_those_of_the_real_year(found: FetchedWeather) -> None:
    assert found.typical is not None
    july = slice(181 * 24, 212 * 24)
    year = found.months[6].year
    np.testing.assert_array_equal(found.typical.weather.temp_air_c[july], sky_of(year)["temp_air_c"][july])


def test_elevation_of_one_s_own_and_a_zone(keys: pytest.MonkeyPatch, tmp_path: Path) -> None:
    keys.setenv("XDG_CACHE_HOME", str(tmp_path))
    with serving() as server:
        service = at_stand_in(NSRDB, server.url)
        found = weather_get(service, *AT, 2015, 2015, time_zone="America/Chicago", elevation_m=900.0)
    assert found.place.elevation_m == 900
    assert found.place.utc_offset_h == -6
    assert found.typical is None
    assert found.months == ()
    assert found.notes == ("nsrdb: its air temperature is for 273 m above sea level, not for 900 m",)
    assert found.years[0].label_offset_min == 0


@pytest.mark.parametrize(
    ("first", "last", "typical", "told"),
    [
        (2016, 2015, False, "years 2016 to 2015 must be in order"),
        (2015, 2018, True, "a typical year needs at least 5 years; got 4"),
    ],
)
def test_years_that_make_no_sense_are_refused_before_anything_is_asked(
    first: int, last: int, typical: bool, told: str
) -> None:
    with pytest.raises(WeatherError, match=told):
        weather_get("nasa-power", *AT, first, last, typical=typical)


def test_services_have_names() -> None:
    assert SERVICES == ("nasa-power", "nsrdb", "era5")
