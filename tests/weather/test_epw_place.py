"""Where an EPW file is of: first lines as they are found, settled by the radiation or refused with both readings."""

from dataclasses import replace
from pathlib import Path

import pytest

from solarsim.errors import WeatherError
from solarsim.scenario.site import CsvPlace, WeatherFile
from solarsim.weather._formats.epw_place import placed, settled
from solarsim.weather.read import read_weather
from solarsim.weather.typical_year import Weather
from tests.open_data import ACCIM, PVLIB_SOURCE, open_data
from tests.weather.test_read import chicago, read, written

FILE = Path("year.epw")
NAMES = ["LOCATION", "Chicago", "IL", "USA", "TMY3", "725300"]
CHICAGO = (41.98, -87.92, -6.0, 201.0)


@pytest.fixture(scope="module")
def year(tmp_path_factory: pytest.TempPathFactory) -> Weather:
    return read(written(tmp_path_factory.mktemp("chicago"), chicago()), "epw")


def place_of(weather: Weather) -> tuple[float, float, float, float]:
    return weather.latitude_deg, weather.longitude_deg, weather.utc_offset_h, weather.elevation_m


@pytest.mark.by_hand
@pytest.mark.parametrize(
    "numbers",
    [
        "41,98 -87,92 -6,0 201,0",
        "41,98 -87,92 -6 201",
        "41.98 -87.92 -6.0 201.0 -",
        "41.98 -87.92 -6.0 201.0 0 0",
        "41.98 -87.92 -6.0 201.0 Central",
        "41.98 -87.92 -6 201 7",  # 201.7 or 201 m: the same to us
    ],
)
def test_decimal_commas_and_fields_behind_the_elevation_are_read(year: Weather, numbers: str) -> None:
    fields = [*NAMES, *numbers.replace(",", " ").split()]
    found = settled(year, fields, FILE)
    assert place_of(found) == pytest.approx(CHICAGO, abs=0.71)
    assert place_of(found)[:3] == CHICAGO[:3]
    (note,) = found.notes
    assert note.startswith(
        f"year.epw: line 1 has {len(fields)} fields; it was read as latitude 41.98, longitude -87.92"
    )


@pytest.mark.by_hand
def test_the_sun_decides_on_a_zone_of_half_an_hour(year: Weather) -> None:
    """Moved by 11.5 h of sun to the east, 172.5 degrees, Chicago's rows fit UTC+5.5 h, not 5 h and 5.216 m."""
    fields = [*NAMES, "41.98", f"{-87.92 + 172.5:.2f}", "5", "5", "216"]
    found = settled(year, fields, FILE)
    assert place_of(found) == pytest.approx((41.98, 84.58, 5.5, 216.0))
    assert "the only one of 2 readings that fits the sun" in found.notes[0]
    # Half an hour of sun further west, the same line means the other.
    fields[7] = f"{-87.92 + 165.0:.2f}"
    assert settled(year, fields, FILE).utc_offset_h == 5.0


@pytest.mark.published
@pytest.mark.parametrize(("town", "latitude", "longitude"), [("Shimla", 31.087, 77.179), ("Ahmedabad", 23.015, 72.592)])
def test_ambiguous_first_lines_of_real_files_are_resolved(town: str, latitude: float, longitude: float) -> None:
    """Two files of ``accim-samples`` end their first lines with ``5,5,2122`` and ``5,5,49``: India is UTC+5:30."""
    path = open_data(ACCIM, f"research_paper_case_study_v0-7-3/Current_{town}-hour.epw")
    weather = read(path, "epw")
    assert place_of(weather)[:3] == (latitude, longitude, 5.5)
    assert len(weather.notes) == 1


@pytest.mark.published
def test_amsterdam_below_sea_level_with_decimal_commas(tmp_path: Path) -> None:
    """EPW file of Amsterdam (IWEC) in pvlib's source distribution: 2 m below the sea."""
    lines = open_data(PVLIB_SOURCE, "tests/data/NLD_Amsterdam062400_IWEC.epw").read_text("latin-1").splitlines()
    assert lines[0].endswith(",52.30,4.77,1.0,-2.0")
    lines[0] = ",".join([*lines[0].split(",")[:6], "52,3", "4,77", "1", "-2"])
    assert place_of(read(written(tmp_path, "\n".join(lines)), "epw")) == (52.3, 4.77, 1.0, -2.0)


def test_what_the_sun_does_not_decide_is_refused_with_its_readings(year: Weather) -> None:
    """Delhi's line above the rows of Chicago; and 201 m or 20.1 km... of one sun."""
    with pytest.raises(WeatherError) as refused:
        settled(year, [*NAMES, "28", "6", "77", "2", "5", "5", "216"], FILE)
    (line,) = refused.value.problems
    assert "latitude 28.6, longitude 77.2, UTC+5.5 h, 216 m" in line
    assert line.endswith("write the right one as weather.place in the scenario")
    with pytest.raises(WeatherError, match=r"-6 h, 201 m; or .*-6 h, 0.201 m, and its radiation does not tell which"):
        settled(year, [*NAMES, "41.98", "-87.92", "-6", "0", "201"], FILE)
    dim = replace(year, dni_w_m2=year.dni_w_m2 * 0)
    with pytest.raises(WeatherError, match="radiation does not tell which"):
        settled(dim, [*NAMES, "41.98", "-87.92", "-6", "5", "201"], FILE)


@pytest.mark.parametrize("numbers", ["41.98 -87.92 -6.0", "north west -6 201 7", "141.98 -87.92 -6.0 201.0 7", ""])
def test_a_first_line_that_is_no_place_is_refused(year: Weather, numbers: str) -> None:
    with pytest.raises(
        WeatherError, match="cannot be read as latitude, longitude, time zone and elevation; write them"
    ):
        settled(year, [*NAMES, *numbers.split()], FILE)


def test_a_place_of_the_user_s_settles_the_line(year: Weather, tmp_path: Path) -> None:
    stated = CsvPlace(latitude_deg=41.98, longitude_deg=-87.92, utc_offset_h=-6.0, elevation_m=201.0)
    fields = [*NAMES, "41", "98", "-87", "92", "-6", "201"]
    assert placed(year, fields, stated, FILE).notes == ()
    (note,) = placed(year, [*NAMES, "0", "0", "0", "0"], stated, FILE).notes
    assert note == ("year.epw: weather.place is used, not line 1: latitude 41.98, longitude -87.92, UTC-6 h, 201 m")
    path = written(tmp_path, chicago().replace("41.983", "unknown", 1))
    source = WeatherFile(file=path.name, format="epw", place=stated)
    assert place_of(read_weather(path, source)) == CHICAGO
