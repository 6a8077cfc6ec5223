"""One year or several of a scenario."""

from pathlib import Path

import pytest

from solarsim.errors import ScenarioError, WeatherError
from solarsim.home import Home, home_from
from solarsim.scenario.read import packaged_folder
from solarsim.weather.label_check import label_offset_min
from solarsim.weather.source import weather_for, years_of_weather
from tests.builders import scenario
from tests.weather.means import home_of, means_of
from tests.weather.skies import SKY, pvgis

SAMPLES = packaged_folder("weather_samples")


@pytest.mark.by_hand
def test_runs_take_the_file_and_only_what_asks_takes_the_other_files(demo_home: Home, tmp_path: Path) -> None:
    warmer = tmp_path / "warmer.csv"
    text = (SAMPLES / "723170TYA.CSV").read_text()
    warmer.write_text(text.replace("-79.950", "-79.900", 1))
    home = scenario(weather__other_files=[str(warmer)])
    first, other = years_of_weather(home, demo_home.timeline)
    assert (first.longitude_deg, other.longitude_deg) == (-79.95, -79.9)
    assert weather_for(home, demo_home.timeline).longitude_deg == -79.95
    assert home_from(home).weather.longitude_deg == -79.95
    assert len(years_of_weather(scenario(), demo_home.timeline)) == 1
    assert len(years_of_weather(home_of(means_of(demo_home.weather)), demo_home.timeline)) == 1


@pytest.mark.by_hand
def test_other_files_are_years_of_the_same_place(demo_home: Home, tmp_path: Path) -> None:
    far = tmp_path / "far.csv"
    far.write_text((SAMPLES / "723170TYA.CSV").read_text().replace("36.100", "38.100", 1))
    with pytest.raises(WeatherError, match=r"far.csv: is of 38.1, -79.95, another place than .*723170TYA.CSV at 36.1"):
        years_of_weather(scenario(weather__other_files=[str(far)]), demo_home.timeline)


@pytest.mark.by_hand
def test_other_files_name_other_files_each_once() -> None:
    with pytest.raises(ScenarioError, match=r"other_files names '.*723170TYA.CSV', which is the file itself"):
        scenario(weather__other_files=[str(SAMPLES / "723170TYA.CSV")])
    with pytest.raises(ScenarioError, match=r"weather.other_files: names 'a' twice"):
        scenario(weather__other_files=["a", "a"])
    with pytest.raises(ScenarioError, match=r"weather.other_files: must not be empty"):
        scenario(weather__other_files=[])


def test_year_in_utc_is_used_in_a_zone_of_half_hours(tmp_path: Path) -> None:
    """Typical years in UTC are laid onto UTC-3.5: 3.5 h behind, sums kept."""
    path = tmp_path / "year.csv"
    path.write_text(pvgis())
    home = scenario(weather={"file": str(path), "format": "pvgis"}, site__time_zone="America/St_Johns")
    year = weather_for(home, home.site.timeline(1.0))
    assert year.utc_offset_h == -3.5
    assert year.ghi_w_m2.sum() == pytest.approx(SKY["ghi_w_m2"].sum())
    assert label_offset_min(year) == 0
    assert "moved by -3.5 h, each hour made of parts of two" in year.notes[-1]
