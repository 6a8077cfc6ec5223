"""What is shown of a year of weather."""

import json
from dataclasses import replace

import numpy as np
import pytest

from solarsim.home import Home
from solarsim.scenario.glossary_studies import SKY
from solarsim.studies.weather import Sky, sky_of
from solarsim.views.weather_plot import sky_figure
from solarsim.views.weather_records import skies_json
from solarsim.views.weather_tables import sky_heading, sky_notes, sky_table, years_table

pytestmark = pytest.mark.by_hand


@pytest.fixture(scope="module")
def sky(demo_home: Home) -> Sky:
    return sky_of(demo_home.weather, "demo.csv")


def cells(table: object, column: int) -> list[str]:
    return list(table.columns[column].cells)  # type: ignore[attr-defined]


def test_place_is_told_with_its_hemispheres(sky: Sky) -> None:
    assert sky_heading(sky) == "Greensboro Piedmont Triad Int, NC: 36.10 N, 79.95 W, 273 m, UTC-5"
    south = replace(sky, weather=replace(sky.weather, latitude_deg=-33.9, longitude_deg=151.2, utc_offset_h=10.0))
    assert "33.90 S, 151.20 E, 273 m, UTC+10" in sky_heading(south)


def test_months_and_the_year_stand_in_the_table(sky: Sky) -> None:
    table = sky_table(sky)
    assert cells(table, 1)[0] == "74.8"
    assert cells(table, 1)[-1] == "1,566.2"
    assert cells(table, 8)[0] == "1988"  # the third line of the file: 01/01/1988
    untold = replace(sky, weather=replace(sky.weather, year_of_month=()))
    assert len(sky_table(untold).columns) == 8


def test_years_are_set_against_their_mean(sky: Sky) -> None:
    """1,566.19 and twice that: a third below and above their mean."""
    bright = replace(sky, source="bright.csv", annual={key: 2 * value for key, value in sky.annual.items()})
    table = years_table((sky, bright))
    assert cells(table, 0) == ["demo.csv", "bright.csv", "mean"]
    assert cells(table, 2) == ["-33.3%", "+33.3%", ""]
    assert cells(table, 1)[2] == "2,349.3"


@pytest.mark.parametrize(
    ("offset", "told"),
    [
        (0, r"\(within 10 min\): labels stand where they should"),
        (20, r"\(20 min early, near enough\)"),
        (-20, r"\(20 min late, near enough\)"),
        (-60, "do not agree with a sun at that clock"),
        (None, "Too few hours have direct sun"),
    ],
)
def test_labels_are_judged_in_words(sky: Sky, offset: int | None, told: str) -> None:
    import re

    assert re.search(told, sky_notes((replace(sky, label_offset_min=offset),))[1])


def test_time_zone_is_judged_and_repairs_are_told(sky: Sky) -> None:
    assert sky_notes((sky,))[0].endswith("highest at 12:20 on average: the time zone fits.")
    assert "check the sign of the longitude" in sky_notes((replace(sky, solar_noon_h=22.5),))[0]
    assert sky_notes((sky,))[-1] == "Nothing was missing, nothing was repaired."
    mended = replace(sky, weather=replace(sky.weather, notes=("a.csv: 29 February was dropped",)))
    assert sky_notes((mended,))[-1] == "Note: a.csv: 29 February was dropped."
    several = sky_notes((sky, mended))
    assert several[0] == "Runs of the scenario take demo.csv."
    assert all(note.startswith("demo.csv: ") for note in several[1:])


def test_json_keys_are_in_the_glossary(sky: Sky) -> None:
    (year,) = json.loads(skies_json((sky,)))["years"]
    assert set(year["annual"]) <= set(SKY)
    assert set(year["place"]) - {"name"} <= set(SKY)
    assert set(year["months"][0]) - {"month"} <= set(SKY)
    assert set(SKY) <= {*year, *year["place"], *year["months"][0]}
    assert year["place"]["latitude_deg"] == 36.1
    assert year["months"][0]["year_of_month"] == 1988
    untold = replace(sky, weather=replace(sky.weather, year_of_month=()))
    assert json.loads(skies_json((untold,)))["years"][0]["months"][0]["year_of_month"] is None


def test_picture_shows_the_year_and_where_the_sun_should_be(sky: Sky) -> None:
    figure = sky_figure(sky, "a title")
    hours, sums, warmth, bar = figure.axes
    assert figure.get_suptitle() == "a title"
    assert hours.get_ylabel() == "clock of the hours, UTC-5"
    assert bar.get_xlabel() == "global irradiance, W/m2"
    assert sums.get_ylabel().endswith("kWh/m2 a month")
    assert warmth.get_ylabel() == "temperature, C"
    mesh, line = hours.collections
    shown = np.asarray(mesh.get_array())
    assert shown.shape == (24, 365)
    assert shown[12, 0] == sky.weather.ghi_w_m2[12]
    heights = [patch.get_height() for patch in sums.patches]  # type: ignore[attr-defined]
    assert heights[6] + heights[18] == pytest.approx(188.58, abs=0.005)
    days, clock = line.get_paths()[0].vertices.T  # type: ignore[union-attr]
    in_june = clock[np.abs(days - 171.5) < 0.6]
    # 21 June at 36.1 N: half a day of 7.3 h around 12:22 (by hand)
    assert in_june.min() == pytest.approx(12.37 - 7.3, abs=0.15)
    assert in_june.max() == pytest.approx(12.37 + 7.3, abs=0.15)


def test_sun_that_never_sets_or_rises_leaves_no_line(sky: Sky) -> None:
    figure = sky_figure(replace(sky, sun_elevation_deg=np.full(8760, 5.0)), "t")
    assert len(figure.axes[0].collections) == 1
