"""What is shown of a year of weather."""

import json
from dataclasses import replace

import numpy as np
import pytest

from solarsim.scenario.model import Scenario
from solarsim.studies.weather import WeatherSums, WeatherYears, YearOfWeather, weather_year
from solarsim.views.figure import figure
from solarsim.views.json_text import to_json
from solarsim.views.weather import page

pytestmark = pytest.mark.by_hand


@pytest.fixture(scope="module")
def year(demo: Scenario) -> YearOfWeather:
    return replace(weather_year(demo).years[0], source="demo.csv")


def of(*years: YearOfWeather) -> WeatherYears:
    return WeatherYears("home", years)


def undated(year: YearOfWeather) -> YearOfWeather:
    return replace(year, months=tuple(replace(month, year_of_month=None) for month in year.months))


def cells(table: object, column: int) -> list[str]:
    return list(table.columns[column].cells)  # type: ignore[attr-defined]


def test_place_has_its_hemispheres(year: YearOfWeather) -> None:
    assert page(of(year))[0] == "Greensboro Piedmont Triad Int, NC: 36.10 N, 79.95 W, 273 m, UTC-5"
    sydney = replace(year.place, latitude_deg=-33.9, longitude_deg=151.2, utc_offset_h=10.0)
    assert "33.90 S, 151.20 E, 273 m, UTC+10" in page(of(replace(year, place=sydney)))[0]


def test_months_and_the_year_stand_in_the_table(year: YearOfWeather) -> None:
    table = page(of(year))[1]
    assert cells(table, 1)[0] == "74.8"
    assert cells(table, 1)[-1] == "1,566.2"
    assert cells(table, 8)[0] == "1988"  # the third line of the file: 01/01/1988
    assert len(page(of(undated(year)))[1].columns) == 8


def test_years_are_set_against_their_mean(year: YearOfWeather) -> None:
    """1,566.19 and twice that: a third below and above their mean."""
    twice = {key: 2 * value for key, value in year.annual.record().items() if value is not None}
    bright = replace(year, source="bright.csv", annual=WeatherSums(month=None, year_of_month=None, **twice))
    _, _, table, chosen, *_ = page(of(year, bright))
    assert cells(table, 0) == ["demo.csv", "bright.csv", "mean"]
    assert cells(table, 2) == ["-33.3%", "+33.3%", ""]
    assert cells(table, 1)[2] == "2,349.3"
    assert chosen == "Simulations use demo.csv."


@pytest.mark.parametrize(
    ("offset", "words"),
    [
        (0, "correct; global, direct and diffuse irradiance agree with the sun's position (to 10 min)"),
        (20, "(20 min early, acceptable)"),
        (-20, "(20 min late, acceptable)"),
        (-60, "wrong; global, direct and diffuse irradiance do not agree"),
        (None, "cannot be checked, since too few hours have direct sun"),
    ],
)
def test_labels_are_judged_in_words(year: YearOfWeather, offset: int | None, words: str) -> None:
    assert words in page(of(replace(year, label_offset_min=offset)))[3]


def test_time_zone_is_judged_and_repairs_are_notes(year: YearOfWeather) -> None:
    assert page(of(year))[2].endswith("time zone: 12:20, plausible.")
    assert "check the sign of the longitude" in page(of(replace(year, solar_noon_h=22.5)))[2]
    assert page(of(year))[-1] == "No gaps and no repairs."
    mended = replace(year, notes=("a.csv: 29 February was dropped",))
    assert of(year, mended).notes == ("a.csv: 29 February was dropped",)
    assert "No gaps" not in str(page(of(year, mended)))
    assert all(line.startswith("demo.csv: ") for line in page(of(year, mended))[4:])


def test_json_has_places_months_and_years(year: YearOfWeather) -> None:
    record = json.loads(to_json(of(year).record()))
    (only,) = record["years"]
    assert only["place"]["latitude_deg"] == 36.1
    assert only["months"][0]["year_of_month"] == 1988
    assert sum(month["ghi_kwh_m2"] for month in only["months"]) == pytest.approx(only["annual"]["ghi_kwh_m2"])
    assert of(undated(year)).record()["years"][0]["months"][0]["year_of_month"] is None
    assert year.table().loc[7, "ghi_kwh_m2"] == pytest.approx(188.58, abs=0.005)


def test_picture_shows_the_year_and_where_the_sun_should_be(year: YearOfWeather) -> None:
    drawn = figure(of(year))
    hours, sums, warmth, bar = drawn.axes
    assert "Greensboro" in drawn.get_suptitle()
    assert hours.get_ylabel() == "hour of the day, UTC-5"
    assert bar.get_xlabel() == "global horizontal irradiance, W/m2"
    assert sums.get_ylabel().endswith("kWh/m2 a month")
    assert warmth.get_ylabel() == "temperature, °C"
    mesh, line = hours.collections
    shown = np.asarray(mesh.get_array())
    assert shown.shape == (24, 365)
    assert shown[12, 0] == year.weather.ghi_w_m2[12]
    heights = [patch.get_height() for patch in sums.patches]  # type: ignore[attr-defined]
    assert heights[6] + heights[18] == pytest.approx(188.58, abs=0.005)
    days, clock = line.get_paths()[0].vertices.T  # type: ignore[union-attr]
    in_june = clock[np.abs(days - 171.5) < 0.6]
    # 21 June at 36.1 N: half a day of 7.3 h around 12:22 (by hand)
    assert in_june.min() == pytest.approx(12.37 - 7.3, abs=0.15)
    assert in_june.max() == pytest.approx(12.37 + 7.3, abs=0.15)


def test_sun_that_never_sets_or_rises_leaves_no_line(year: YearOfWeather) -> None:
    drawn = figure(of(replace(year, sun_elevation_deg=np.full(8760, 5.0))))
    assert len(drawn.axes[0].collections) == 1
