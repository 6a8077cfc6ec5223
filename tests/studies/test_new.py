"""Answers are tried as they are given: weather is read, a meter is read, prices cover every hour once."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from solarsim.errors import InputError, WeatherError
from solarsim.scenario.model import Scenario
from solarsim.scenario.questions.question import Setting
from solarsim.scenario.read import packaged_folder, read_scenario
from solarsim.studies.new import Draft, answered, files_of, nearest_station

SAMPLES = packaged_folder("weather_samples")


def no_network(_: Scenario) -> Mapping[str, Any]:
    raise WeatherError("nasa-power: cannot be reached: no network")


def draft_at(folder: Path, at: str, **answers: str) -> Draft:
    return Draft(Setting(folder, 2026), {"name": "Home", "at": at, "zone": "America/New_York", **answers})


def refused(draft: Draft, name: str, words: str) -> str:
    with pytest.raises(InputError) as error:
        answered(draft, name, words, no_network)
    return "\n".join(error.value.problems)


def test_nearest_station_is_offered_where_one_is_near(tmp_path: Path) -> None:
    """The station's coordinates are those of its file; a degree of latitude is 111 km."""
    near, far = draft_at(tmp_path, "36.5, -79.95"), draft_at(tmp_path, "37.1, -79.95")
    station = nearest_station(near_home := read_home(near))
    assert station.path == SAMPLES / "723170TYA.CSV"
    assert station.away_km == pytest.approx(0.4 * 111.19, abs=0.5)
    assert near_home.site.name == "36.50 N, 79.95 W"
    assert (near.default("weather"), far.default("weather")) == ("nearest", "get")
    found, notes = answered(near, "weather", "nearest", no_network)
    assert found.setting.weather == {"file": str(station.path), "format": "tmy3"}
    assert notes[0] == "Greensboro Piedmont Triad Int, NC, 36.10, -79.95: 1,566 kWh/m2 a year, mean 14.4 C"
    away = refused(draft_at(tmp_path, "47, -80"), "weather", "nearest")
    assert "km away, too far; allowed: get, the path of a weather file, or means with twelve months" in away
    assert refused(near, "weather", "get") == (
        "nasa-power: cannot be reached: no network; without it: the path of a weather file, or means with twelve months"
    )


def read_home(draft: Draft) -> Scenario:
    from solarsim.scenario.questions.answers import home_from

    return home_from(draft.answers, draft.setting)


def test_weather_files_are_known_by_their_first_lines(tmp_path: Path) -> None:
    here = draft_at(tmp_path, "36.1, -79.95")
    (tmp_path / "notes.txt").write_text("bring the ladder\n")
    assert "is of no known format of weather files: epw, tmy3" in refused(here, "weather", "notes.txt")
    assert "'lost.epw': is no file; allowed: nearest, get" in refused(here, "weather", "lost.epw")
    (tmp_path / "own.csv").write_text("ghi_w_m2,dni_w_m2,dhi_w_m2,temp_air_c,wind_speed_m_s\n0,0,0,5,1\n")
    assert "a csv states no elevation; go back and write it" in refused(here, "weather", "own.csv")
    short = refused(draft_at(tmp_path, "36.1, -79.95 273 m"), "weather", "own.csv")
    assert "own.csv" in short
    assert "8760" in short


def test_prices_must_cover_every_hour_once(tmp_path: Path) -> None:
    here = draft_at(tmp_path, "36.1, -79.95 273 m")
    gap = refused(here, "rates", "0.3 16-21; 0.1 21-15")
    assert "no rate applies in 365 hours, first at 2026-01-01 15:00; a rate without windows applies" in gap
    overlap = refused(here, "rates", "0.3 16-21; 0.2 20-23; 0.1")
    assert "overlap in 365 hours, first at 2026-01-01 20:00" in overlap
    found, notes = answered(here, "rates", "31 16-21; 0.1", no_network)
    assert found.answers["rates"] == "USD 31 16:00-21:00; 0.1 other hours"
    assert "rates.1st.import_price: 31 is above the usual 2 USD/kWh; 31 cents is written 0.31" in "\n".join(notes)


def test_a_meter_is_read_at_its_question(tmp_path: Path) -> None:
    lines = [
        "time,kwh",
        *(f"2026-{1 + day // 28:02d}-{1 + day % 28:02d} {h:02d}:00,0.5" for day in range(28) for h in range(24)),
    ]
    (tmp_path / "data.csv").write_text("\n".join(lines))
    here = draft_at(tmp_path, "36.1, -79.95 273 m")
    here = replace(here, answers={**here.answers, "weather": f"means {'2 ' * 12}/ {'9 ' * 12}"})
    told = refused(here, "kwh", "data.csv")
    assert told.endswith("here the key and its value follow the file's name, for example: data.csv clock wall")
    assert "'clok' is not a key of a meter's file; did you mean 'clock'?" in refused(here, "kwh", "data.csv clok wall")
    assert "must be pairs of a key and its value" in refused(here, "kwh", "data.csv clock")


def test_parts_of_the_house_say_what_they_make_of_the_load(tmp_path: Path) -> None:
    here = draft_at(tmp_path, "36.1, -79.95 273 m", kwh="9400", weather=f"means {'2 ' * 12}/ {'9 ' * 12}")
    _, notes = answered(here, "house", "car 40 km in bills", no_network)
    # 40 km a day x 365 x 0.18 kWh/km / 0.9 = 2,920 kWh
    assert notes == (
        "9,400 kWh a year in all",
        "'car': 2,920 kWh a year of load.annual_kwh; all other loads: 6,480 kWh",
    )
    assert answered(here, "house", "none", no_network)[1] == ()
    assert "more than the 9,400 kWh of the bills" in refused(here, "house", "car 300 km in bills")


def test_files_are_the_scenario_its_weather_and_the_schema(tmp_path: Path) -> None:
    here = draft_at(tmp_path, "36.1, -79.95 273 m", rates="flat")
    for name, words in (("weather", "nearest"), ("battery", "none"), ("kwh", "9400")):
        here, _ = answered(here, name, words, no_network)
    folder = tmp_path / "home"
    files = files_of(here, folder / "mine.toml", tmp_path / "fetched")
    names = [path.relative_to(folder).as_posix() for path in files]
    assert names == ["mine.toml", "723170TYA.CSV", "rate_plans/flat.toml", "solarsim.schema.json"]
    for path, content in files.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    home = read_scenario(folder / "mine.toml")
    assert home.rate_plan.name == "Flat (invented)"
    assert home.load.annual_kwh == 9400
