"""Weather by coordinates, from a stand-in on loopback: what comes back, what is tried again, what is never shown."""

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from solarsim.errors import WeatherError
from solarsim.weather._repairs import by_clock
from solarsim.weather.label_check import label_offset_min
from solarsim.weather.services.real_years import Site
from solarsim.weather.services.service import Fetched, Service, clock_of, fetch, service_named
from solarsim.weather.typical_year import Weather
from tests.weather.service_stand_in import (
    AT,
    EMAIL,
    KEY,
    StandIn,
    at_stand_in,
    hours_in_utc,
    nsrdb_answer,
    power_answer,
    serving,
    sky_of,
)
from tests.weather.skies import COLUMNS, SUN

NAMES = ("nasa-power", "nsrdb", "era5")


@pytest.fixture
def server() -> Iterator[StandIn]:
    with serving() as stand_in:
        yield stand_in


@pytest.fixture(autouse=True)
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep what is fetched in the test's folder; have keys of one's own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    for variable, value in (("NSRDB_KEY", KEY), ("NSRDB_EMAIL", EMAIL), ("ERA5_KEY", KEY)):
        monkeypatch.setenv(f"SOLARSIM_{variable}", value)
    return tmp_path / "solarsim" / "weather"


def fetched(
    service: Service, first: int = 2015, last: int = 2015, *, clock_h: float = -5.0, at: tuple[float, float] = AT
) -> Fetched:
    site = Site("here", *at, 0.0, clock_h)
    return fetch(service, site, range(first, last + 1), lambda words: None)  # noqa: ARG005


def refusal(service: Service) -> str:
    with pytest.raises(WeatherError) as caught:
        fetched(service)
    assert "\n" not in str(caught.value)
    return str(caught.value)


@pytest.mark.by_hand
@pytest.mark.parametrize("name", ["nasa-power", "nsrdb"])
def test_hours_come_back_in_the_local_clock(server: StandIn, name: str) -> None:
    """Five hours behind UTC: what the stand-in rolled forward by five rows stands in its own row again."""
    found = fetched(at_stand_in(name, server.url))
    (year,) = found.years
    for column in COLUMNS:
        np.testing.assert_array_equal(getattr(year.weather, column), sky_of(2015)[column])
    np.testing.assert_allclose(year.relative_humidity, sky_of(2015)["relative_humidity"], atol=1e-4)
    assert year.weather.year_of_month == (2015,) * 12
    assert found.site.elevation_m == 273.0
    assert found.notes == ()


@pytest.mark.by_hand
def test_sums_and_instants_of_era5_become_hours(server: StandIn) -> None:
    """Irradiance is the sum to the label; temperature the mean of both ends of the hour; GHI = DHI + DNI cos z.

    98,088 Pa are 273 m in the standard atmosphere: 44,331 m x (1 - (98,088 / 101,325)^0.1903).
    """
    found = fetched(at_stand_in("era5", server.url))
    weather, sky = found.years[0].weather, sky_of(2015)
    np.testing.assert_array_equal(weather.ghi_w_m2, sky["ghi_w_m2"])
    expected = (sky["temp_air_c"] + np.roll(sky["temp_air_c"], -1)) / 2
    np.testing.assert_allclose(weather.temp_air_c[:-6], expected[:-6], atol=0.0051)
    assert found.site.elevation_m == pytest.approx(44331 * (1 - (98088 / 101325) ** 0.1903), abs=0.5)
    # 0.6 and 0.8 of the wind are its parts to the east and to the south.
    assert weather.wind_speed_m_s.mean() == pytest.approx(sky["wind_speed_m_s"].mean(), rel=1e-3)
    np.testing.assert_allclose(
        found.years[0].relative_humidity[:-6], sky["relative_humidity"][:-6], atol=2e-4
    )  # the stand-in's dew point is Magnus turned around
    assert label_offset_min(weather) == 0
    assert weather.dni_w_m2.sum() == pytest.approx(sky["dni_w_m2"].sum(), rel=0.01)


@pytest.mark.slow
@pytest.mark.by_hand
def test_full_hours_of_the_nsrdb_are_instants(server: StandIn) -> None:
    """A value at the full hour is the start of its hour: the mean is half way to the next."""
    server.first = [(200, nsrdb_answer(2015, minute=0))]
    (year,) = fetched(at_stand_in("nsrdb", server.url)).years
    utc = hours_in_utc(2015)["temp_air_c"]
    expected = np.roll((utc + np.roll(utc, -1)) / 2, -5)
    np.testing.assert_allclose(year.weather.temp_air_c, expected, atol=0.0051)
    assert np.abs(year.weather.temp_air_c - np.roll(utc, -5)).max() > 1


@pytest.mark.by_hand
def test_years_join_at_new_year_and_leap_days_are_left_out(server: StandIn) -> None:
    """The last 5 hours of 2015 are the first of 2016 in UTC, 0.5 C warmer; those of 2016 are its own first ones."""
    first, second = fetched(at_stand_in("nasa-power", server.url), 2015, 2016).years
    one, two = sky_of(2015)["temp_air_c"], sky_of(2016)["temp_air_c"]
    np.testing.assert_array_equal(first.weather.temp_air_c, np.concatenate([one[:-5], two[-5:]]))
    np.testing.assert_array_equal(second.weather.temp_air_c, two)
    assert "start=20160101" in server.asked[1]


@pytest.mark.slow
@pytest.mark.by_hand
def test_clock_east_of_utc_starts_with_hours_of_the_day_a_year_later(server: StandIn) -> None:
    """At UTC+9 the first nine hours of the first year would be of the year before, which was not asked for."""
    service = at_stand_in("nasa-power", server.url)
    one, two = (hours_in_utc(year)["temp_air_c"] for year in (2014, 2015))
    first, second = fetched(service, 2014, 2015, clock_h=9.0).years
    np.testing.assert_array_equal(first.weather.temp_air_c, np.roll(one, 9))
    np.testing.assert_array_equal(second.weather.temp_air_c, np.concatenate([one[-9:], two[:-9]]))


@pytest.mark.slow
@pytest.mark.by_hand
def test_half_hour_clock_keeps_sums_and_the_sun(server: StandIn) -> None:
    """GHI of the year is the same; the mean of two hours and a half hour later is theirs; the labels still fit."""
    service = at_stand_in("nasa-power", server.url)
    (whole,) = fetched(service).years
    (half,) = fetched(service, clock_h=-4.5).years
    assert half.weather.utc_offset_h == -4.5
    assert len(server.asked) == 1  # what is kept is in UTC
    for name in SUN:
        kwh = getattr(whole.weather, name).sum()
        assert getattr(half.weather, name).sum() == pytest.approx(kwh, rel=1e-5)  # rounded to 0.01 W/m2
    offset_min = label_offset_min(half.weather)
    assert offset_min is not None
    assert abs(offset_min) <= 10


def test_year_that_was_fetched_is_kept_without_the_key(server: StandIn, cache: Path) -> None:
    service = at_stand_in("nsrdb", server.url)
    first = fetched(service).years[0].weather
    again = fetched(service).years[0].weather
    assert len(server.asked) == 1
    np.testing.assert_array_equal(first.ghi_w_m2, again.ghi_w_m2)
    (file,) = cache.iterdir()
    assert file.name == "nsrdb_36.1000_-79.9500_2015_1.npz"
    assert KEY.encode() not in file.read_bytes()
    fetched(service, at=(36.2, -79.95))
    assert len(server.asked) == 2
    file.with_name(file.name.replace("2015", "2016")).write_bytes(file.read_bytes())  # 24 hours too few
    assert fetched(service, 2016, 2016).years[0].weather.temp_air_c[0] == sky_of(2016)["temp_air_c"][0]
    server.asked.pop()
    file.write_bytes(file.read_bytes()[:5000])
    np.testing.assert_array_equal(fetched(service).years[0].weather.ghi_w_m2, first.ghi_w_m2)
    assert len(server.asked) == 3


@pytest.mark.slow
def test_nothing_is_kept_where_nothing_can_be_written(
    server: StandIn, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", "/dev/null")
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "none"))
    fetched(at_stand_in("nasa-power", server.url))
    fetched(at_stand_in("nasa-power", server.url))
    assert len(server.asked) == 2


@pytest.mark.slow
@pytest.mark.parametrize(
    "first",
    [
        [(429, b'{"messages": ["slow down"]}'), (500, b"<html>oops</html>")],
        ["cut", "cut"],
        [(200, b"{}"), (200, b"<html>maintenance</html>"), (200, b'{"properties": {"parameter": []}}')],
        [(200, power_answer(2014))],
        ["slow"],
    ],
    ids=["busy, then an error", "cut off", "not in the form", "of another year", "too slow"],
)
def test_what_may_pass_is_tried_again(server: StandIn, first: list[tuple[int, bytes] | str]) -> None:
    server.first = list(first)
    limit_s = 2.0 if first == ["slow"] else 30.0
    (year,) = fetched(at_stand_in("nasa-power", server.url, limit_s)).years
    np.testing.assert_array_equal(year.weather.ghi_w_m2, sky_of(2015)["ghi_w_m2"])
    assert len(server.asked) == len(first) + 1


@pytest.mark.parametrize(
    ("name", "answer", "told", "tries"),
    [
        ("nasa-power", (429, b'{"messages": ["slow down"]}'), "answered with an error: slow down (tried 4 times)", 4),
        ("nasa-power", (500, b"oops"), "its answer is cut short, or not in the documented form (tried 4 times)", 4),
        ("nasa-power", (200, power_answer(2014)), "its answer has 0 of 8,760 hours (tried 4 times)", 4),
        ("nsrdb", (429, b'{"errors": ["over the limit"]}'), "reports too many requests; try again later: over", 4),
        ("nsrdb", (400, b'{"errors": ["No data at the place"]}'), "refused the request: No data at the place", 1),
        ("nsrdb", (403, b"API_KEY_INVALID"), "refused the key, or its terms are not accepted yet: API_KEY_INVALID", 1),
        ("nsrdb", (403, b'{"error": {"code": "?"}}'), "refused the request without a reason; check the key", 1),
        ("nsrdb", (503, b"busy"), "answered with an error: busy (tried 4 times)", 4),
        ("nsrdb", "cut", "its answer is cut short, or not in the documented form (tried 4 times)", 4),
        ("nsrdb", "gone", "closed the connection before its answer was complete (tried 4 times)", 4),
        ("nsrdb", (200, nsrdb_answer(2015)[:300_000]), "its answer has ", 4),
        ("era5", (403, b'{"title": "required licences not accepted", "status": 403}'),
         "refused the key, or its terms are not accepted yet: required licences not accepted", 1),
        ("era5", (404, b'{"title": "no such process", "status": 404}'), "refused the request: no such process", 1),
        ("era5", (200, b'{"detail": "?"}'), "its answer is cut short, or not in the documented form", 4),
    ],
)  # fmt: skip
def test_what_does_not_pass_is_one_line(
    server: StandIn, name: str, answer: tuple[int, bytes] | str, told: str, tries: int
) -> None:
    server.first = [answer] * 8
    line = refusal(at_stand_in(name, server.url))
    assert line.startswith(f"{name}: {told}")
    assert len(server.asked) == tries


@pytest.mark.slow
def test_queue_that_does_not_come_to_us_and_a_failed_job_are_said(server: StandIn) -> None:
    accepted = json.dumps({"jobID": "a", "metadata": {}}).encode()
    server.first = [(201, accepted), (200, b'{"status": "failed"}')]
    assert "era5: refused the request: Request failed." in refusal(at_stand_in("era5", server.url))
    server.first = [(201, accepted), *[(200, b'{"status": "running"}')] * 9]
    assert refusal(at_stand_in("era5", server.url, limit_s=1.0, tries=1)) == "era5: did not answer within 1 s"


@pytest.mark.parametrize("status", [400, 403, 500])
def test_key_is_blacked_out_in_what_a_service_answers(server: StandIn, status: int) -> None:
    text = f"key {KEY} of {EMAIL} at ?api_key=s3cret%2Fkey%2B1&email=someone%40example.org"
    server.first = [(status, json.dumps({"errors": [text]}).encode())] * 4
    line = refusal(at_stand_in("nsrdb", server.url))
    assert not re.search(r"s3cret|someone", line)
    assert "key (key) of (key) at ?api_key=(key)&email=(key)" in line
    assert "api_key=s3cret%2Fkey%2B1" in server.asked[0]


def test_key_goes_to_the_service_alone(server: StandIn) -> None:
    """The file of a finished request may lie elsewhere: it is fetched without the key."""
    fetched(at_stand_in("era5", server.url))
    carried = [headers.get("PRIVATE-TOKEN") for headers in server.headers]
    assert carried == [KEY, KEY, KEY, None]


@pytest.mark.parametrize("name", NAMES)
def test_without_a_network_one_line_says_so(name: str) -> None:
    """Nobody listens on port 1; the address, with the key in it, is not shown."""
    line = refusal(at_stand_in(name, "http://127.0.0.1:1/"))
    assert line == f"{name}: cannot be reached; check the network, or use a weather file (tried 2 times)"


@pytest.mark.parametrize("missing", ["SOLARSIM_NSRDB_KEY", "SOLARSIM_NSRDB_EMAIL"])
def test_missing_key_is_named_by_its_variable(server: StandIn, monkeypatch: pytest.MonkeyPatch, missing: str) -> None:
    monkeypatch.setenv(missing, " ")
    line = refusal(at_stand_in("nsrdb", server.url))
    told = "nsrdb: needs a free API key (register at developer.nlr.gov); set the environment variable"
    assert line == f"{told} {missing}"
    assert server.asked == []


@pytest.mark.slow
def test_short_gap_is_bridged_with_a_note_and_the_year_is_not_kept(server: StandIn, cache: Path) -> None:
    server.gaps = (("T2M", 1000), ("T2M", 1001))
    found = fetched(at_stand_in("nasa-power", server.url))
    assert found.notes == ("nasa-power 2015: temp_air_c was missing in 2 hours; filled by straight lines",)
    assert not cache.exists()


def test_gap_of_irradiance_is_refused_by_its_hour(server: StandIn) -> None:
    """Row 1,001 of UTC is row 996 at UTC-5."""
    server.gaps = (("ALLSKY_SFC_SW_DWN", 1000),)
    told = "nasa-power 2015: ghi_w_m2 is missing in 1 hour, first in hour 996 of the year"
    assert refusal(at_stand_in("nasa-power", server.url)) == told


def test_answer_for_another_place_is_refused(server: StandIn) -> None:
    server.first = [(200, power_answer(2015, at=(36.1, 79.95)))]
    line = refusal(at_stand_in("nasa-power", server.url))
    assert line == "nasa-power: answered for 36.1, 79.95; the request was for 36.1, -79.95"


@pytest.mark.parametrize(
    ("first", "last", "at", "told"),
    [
        (2000, 2010, AT, "has the years 2001 to 20..; got 2000-2010"),
        (2090, 2090, AT, "; got 2090"),
        (2015, 2015, (91.0, 0.0), "latitude_deg is 91, must be from -90 to 90"),
        (2015, 2015, (0.0, -181.0), "longitude_deg is -181, must be from -180 to 180"),
        (2015, 2015, (float("nan"), 0.0), "latitude_deg is nan, must be from -90 to 90"),
    ],
)
def test_years_and_places_that_cannot_be_are_refused(
    server: StandIn, first: int, last: int, at: tuple[float, float], told: str
) -> None:
    with pytest.raises(WeatherError, match=told):
        fetched(at_stand_in("nasa-power", server.url), first, last, at=at)
    assert server.asked == []


def test_era5_has_more_years_than_are_asked_for_at_once(server: StandIn) -> None:
    with pytest.raises(WeatherError, match="era5: at most 40 years at a time; got 41"):
        fetched(at_stand_in("era5", server.url), 1960, 2000)


def test_unknown_service_is_refused_with_the_nearest() -> None:
    with pytest.raises(WeatherError, match=r"'nsdrb' is not a known weather service; did you mean 'nsrdb'\?"):
        service_named("nsdrb")


@pytest.mark.by_hand
def test_clock_is_the_sun_s_whole_hour_or_the_zone_s_standard_time() -> None:
    """79.95 W is 5.33 h behind; Kolkata 5.5 h ahead all year; Sydney 10 h outside daylight saving."""
    assert clock_of(-79.95, None) == -5.0
    assert clock_of(77.2, "Asia/Kolkata") == 5.5
    assert clock_of(151.2, "Australia/Sydney") == 10.0
    with pytest.raises(WeatherError, match="time zone 'EST': is an abbreviation without daylight saving"):
        clock_of(-79.95, "EST")
    with pytest.raises(WeatherError, match="another part of the world"):
        clock_of(-79.95, "Europe/Berlin")


@pytest.mark.by_hand
@pytest.mark.parametrize("clock_h", [-4.5, -4.25, 5.75, -6.0])
def test_another_clock_keeps_sums_and_instants(greensboro_2015: Weather, clock_h: float) -> None:
    """A straight line of temperature stays one: what was hour 100 is now as many hours later as the clock is ahead."""
    ahead_h = clock_h + 5
    line = by_clock(replace(greensboro_2015, temp_air_c=np.arange(8760.0)), clock_h).temp_air_c
    assert line[100:103] == pytest.approx([100 - ahead_h, 101 - ahead_h, 102 - ahead_h])
    moved = by_clock(greensboro_2015, clock_h)
    assert moved.ghi_w_m2.sum() == pytest.approx(greensboro_2015.ghi_w_m2.sum(), rel=1e-12)
    assert moved.utc_offset_h == clock_h


@pytest.fixture(scope="module")
def greensboro_2015() -> Weather:
    from tests.weather.test_read import GREENSBORO, read

    return read(GREENSBORO, "tmy3")
