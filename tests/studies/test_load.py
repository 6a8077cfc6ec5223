"""The load by itself: sums, base and peak, its map and its mean days."""

import json
from pathlib import Path

import numpy as np
import pytest

from solarsim.scenario.glossary import ANNUAL, ENERGY
from solarsim.scenario.glossary_studies import LOAD
from solarsim.studies.load import LoadYear, load_year
from solarsim.views.load_plot import load_figure
from solarsim.views.load_tables import load_csv, load_json, load_lines, load_source, parts_of_load_table
from tests.builders import scenario

FRIDGE = {"kind": "appliance", "name": "fridge", "critical": True, "power_w": 100.0, "always_duty": 0.5}
OVEN = {
    "kind": "appliance", "name": "oven", "critical": False, "power_w": 2000.0,
    "windows": [{"from": "18:00", "to": "19:00", "duty": 1.0}],
}  # fmt: skip


@pytest.fixture(scope="module")
def house() -> LoadYear:
    return load_year(scenario(load={"monthly_kwh": [310.0] * 12, "shape": "evenings", "parts": [FRIDGE, OVEN]}))


@pytest.mark.by_hand
def test_sums_base_and_peak(house: LoadYear) -> None:
    assert house.annual_kwh == pytest.approx(12 * 310 + 0.05 * 8760 + 2.0 * 365)
    assert house.critical_kwh == pytest.approx(0.05 * 8760)
    assert house.annual_kwh_by_part == pytest.approx({"all else": 3720.0, "fridge": 438.0, "oven": 730.0})
    assert house.monthly_kwh[0] == pytest.approx(310 + 0.05 * 744 + 62)
    assert house.monthly_kwh.sum() == pytest.approx(house.annual_kwh)
    assert house.peak_time.endswith("18:00")
    assert house.monthly_peak_kw.max() == house.peak_kw == house.load_kw.max()
    assert (house.load_kw < house.base_load_kw).mean() == pytest.approx(0.05, abs=0.001)
    assert house.monthly_base_kw.min() < house.base_load_kw < house.monthly_base_kw.max()


@pytest.mark.by_hand
def test_map_stands_on_the_wall_clock(house: LoadYear) -> None:
    by_hour = house.by_hour_and_day()
    assert by_hour.shape == (24, 365)
    assert np.argwhere(np.isnan(by_hour)).tolist() == [[2, 66]]  # 8 March 2026, 02:00: skipped
    assert (by_hour[18] - by_hour[17] > 1.5).all(), "the oven runs from 18:00 by the wall clock all year"


@pytest.mark.by_hand
def test_mean_days_by_season(house: LoadYear) -> None:
    days = house.mean_days()
    assert list(days) == ["winter", "between", "summer"]
    assert all(means.shape == (2, 24) for means in days.values())
    assert days["summer"][0, 18] - 2.05 == pytest.approx(days["summer"][0, 18] - 2.0 - 0.05)
    assert all((means[:, 18] > 2.05).all() and (means[:, 3] < 1.0).all() for means in days.values())


def test_what_is_written_reads_back_alike(tmp_path: Path, house: LoadYear) -> None:
    (tmp_path / "load.csv").write_text(load_csv(house))
    again = load_year(scenario(tmp_path, load={"file": "load.csv"}))
    np.testing.assert_array_equal(again.load_kw, house.load_kw)
    assert load_source(again) == "Load: hourly file load.csv"


def test_json_holds_what_the_glossary_knows(house: LoadYear) -> None:
    record = json.loads(load_json(house))
    known = set(LOAD) | set(ENERGY) | set(ANNUAL)
    numbers = {key for key, value in record.items() if isinstance(value, int | float)}
    assert numbers | set(record["months"][0]) - {"month"} <= known
    assert sum(month["load_kwh"] for month in record["months"]) == pytest.approx(record["load_kwh"])
    assert record["meter"] is None


def test_a_person_is_told_where_it_comes_from(house: LoadYear) -> None:
    assert load_source(house) == "Load: twelve months of bills, shape 'evenings', and 2 parts of the house"
    assert "shorter peaks are higher" in load_lines(house)[0]
    table = parts_of_load_table(house)
    assert list(table.columns[0].cells) == ["all else", "oven", "fridge"]
    assert list(table.columns[3].cells) == ["off", "off", "stays on"]


def test_picture_has_a_map_and_all_mean_days(house: LoadYear) -> None:
    figure = load_figure(house)
    days, mean, bar = figure.axes
    assert days.get_images()[0].get_array().shape == (24, 365)  # type: ignore[union-attr]
    labels = [text.get_text() for text in mean.get_legend().get_texts()]  # type: ignore[union-attr]
    assert [label.split()[0] for label in labels] == ["winter", "between", "summer", "weekdays", "weekends,"]
    assert bar.get_ylabel() == "load, kW"
    assert "America/New_York" in mean.get_xlabel()
