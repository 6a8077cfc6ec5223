"""What is shown and written of weather that was fetched; the files read back to the same numbers."""

import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from solarsim.scenario.model import Scenario
from solarsim.scenario.site import WeatherFile
from solarsim.studies.weather import YearOfWeather, weather_year, year_of_weather
from solarsim.studies.weather_get import ChosenMonth, FetchedWeather
from solarsim.views.figure import figure
from solarsim.views.screen import Screen
from solarsim.views.weather_get import page, weather_files, weather_names, weather_table
from solarsim.weather.read import read_weather
from tests.weather.skies import COLUMNS

OUT = Path("sky.csv")
SOURCE_YEARS = (2014, 2016, 2014, 2015, 2016, 2014, 2015, 2015, 2014, 2016, 2016, 2014)


@pytest.fixture(scope="module")
def real(demo: Scenario) -> tuple[YearOfWeather, ...]:
    """Return three years of 0.9, 1.05 and 1.2 times the demo's irradiance: 1.05 is their mean."""
    (year,) = weather_year(demo).years
    return tuple(
        year_of_weather(
            replace(year.weather, ghi_w_m2=year.weather.ghi_w_m2 * factor, year_of_month=(number,) * 12), str(number)
        )
        for number, factor in ((2014, 0.9), (2015, 1.05), (2016, 1.2))
    )


@pytest.fixture(scope="module")
def several(real: tuple[YearOfWeather, ...]) -> FetchedWeather:
    return FetchedWeather("nasa-power", "NASA POWER, hourly", "2026-11-29", real[0].place, real, None, (), ())


@pytest.fixture(scope="module")
def typical(several: FetchedWeather, real: tuple[YearOfWeather, ...]) -> FetchedWeather:
    joined = year_of_weather(replace(real[1].weather, year_of_month=SOURCE_YEARS), "typical year")
    months = tuple(ChosenMonth(month, year, 0.01, 0.02, 0.03, -0.1) for month, year in enumerate(SOURCE_YEARS, start=1))
    return replace(several, typical=joined, months=months)


def shown(result: FetchedWeather, capsys: pytest.CaptureFixture[str], out: Path | None = OUT) -> str:
    Screen().show(*page(result, out))
    return capsys.readouterr().out


@pytest.mark.by_hand
@pytest.mark.slow
@pytest.mark.parametrize("kind", ["several", "typical"])
def test_files_read_back_to_the_same_numbers(kind: str, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    result: FetchedWeather = request.getfixturevalue(kind)
    files = weather_files(result, tmp_path / "sky.csv")
    for path, content in files.items():
        path.write_bytes(content)
    table = weather_table(result, tmp_path / "sky.csv")
    source = WeatherFile.model_validate(table | {"other_files": tuple(table["other_files"])})
    assert set(source.files) == {path.name for path in files}
    years = {"sky.csv": result.typical} | {f"sky-{year.source}.csv": year for year in result.years}
    for name in source.files[:2]:
        again, first = read_weather(tmp_path / name, source), years[name]
        assert first is not None
        for column in COLUMNS:
            np.testing.assert_array_equal(getattr(again, column), getattr(first.weather, column))
        assert again.year_of_month == first.weather.year_of_month
        assert (again.latitude_deg, again.elevation_m, again.utc_offset_h) == (36.1, 273.0, -5.0)


def test_head_of_a_file_names_source_place_years_and_day(several: FetchedWeather, typical: FetchedWeather) -> None:
    lines = weather_files(several, OUT)[Path("sky-2015.csv")].decode().splitlines()
    assert lines[:6] == [
        "# weather: year 2015",
        "# source: NASA POWER, hourly; retrieved 2026-11-29; its terms of use apply",
        "# place: latitude_deg = 36.1, longitude_deg = -79.95, elevation_m = 273.0, utc_offset_h = -5.0",
        "# rows: hours labeled by their start, in that clock; 29 February is left out",
        "time,ghi_w_m2,dni_w_m2,dhi_w_m2,temp_air_c,wind_speed_m_s",
        "2015-01-01T00:00,0.0,0.0,0.0,10.0,6.2",
    ]
    first = weather_files(typical, OUT)[OUT].decode().splitlines()
    assert first[0] == "# weather: typical year of months of 2014-2016, chosen as in ISO 15927-4"
    assert first[4].startswith("year,ghi_w_m2")
    assert first[5].startswith("2014,")
    assert len(first) == 8765


def test_names_have_the_year_where_there_are_several() -> None:
    assert weather_names(Path("a/sky.csv"), 2015, 2015, typical=False) == (Path("a/sky.csv"),)
    assert weather_names(OUT, 2015, 2016, typical=False) == (Path("sky-2015.csv"), Path("sky-2016.csv"))
    assert weather_names(OUT, 2015, 2016, typical=True)[0] == OUT


def test_year_that_runs_use_is_the_typical_one_or_that_nearest_to_the_mean(
    several: FetchedWeather, typical: FetchedWeather
) -> None:
    """0.9, 1.05 and 1.2 have the mean 1.05: that of 2015."""
    assert weather_table(several, OUT)["file"] == "sky-2015.csv"
    assert weather_table(several, OUT)["other_files"] == ["sky-2014.csv", "sky-2016.csv"]
    assert weather_table(typical, OUT)["file"] == "sky.csv"
    assert weather_table(replace(several, years=several.years[:1]), OUT).get("other_files") is None


def test_page_shows_months_years_choice_and_the_scenario_s_table(
    several: FetchedWeather, typical: FetchedWeather, capsys: pytest.CaptureFixture[str]
) -> None:
    text = shown(typical, capsys)
    assert "Months of the typical year:" in text
    row = next(line.split() for line in text.splitlines() if "0.010" in line)
    assert row == ["Jan", "2014", "0.010", "0.020", "0.030", "-0.10"]
    assert "Source: NASA POWER, hourly, retrieved 2026-11-29." in text
    toml = text[text.index("[weather]") :]
    assert tomllib.loads(toml)["weather"] == weather_table(typical, OUT)
    assert max(map(len, text.splitlines())) <= 100
    plain = shown(several, capsys, out=None)
    assert "Months of 2015, the year with the global irradiation nearest to the mean:" in plain
    assert "[weather]" not in plain


def test_labels_of_years_that_differ_are_said_apart(
    several: FetchedWeather, capsys: pytest.CaptureFixture[str]
) -> None:
    late = replace(several.years[2], label_offset_min=-60)
    good = tuple(replace(year, label_offset_min=0) for year in several.years[:2])
    text = " ".join(shown(replace(several, years=(*good, late)), capsys).split())
    assert "Hour labels of 2014, 2015: correct" in text
    assert "Hour labels of 2016: wrong" in text


@pytest.mark.slow
def test_figure_is_of_the_year_that_runs_use(typical: FetchedWeather) -> None:
    drawn = figure(typical)
    assert drawn.get_suptitle().endswith("kWh/m2 a year")
    assert len(drawn.axes) == 4
