"""What is shown of a home's load."""

import json
from pathlib import Path

import numpy as np
import pytest

from solarsim.studies.load import LoadYear, load_year
from solarsim.views.figure import figure
from solarsim.views.json_text import to_json
from solarsim.views.load import csv, page, source
from tests.builders import scenario
from tests.studies.test_load import FRIDGE, OVEN


@pytest.fixture(scope="module")
def house() -> LoadYear:
    return load_year(scenario(load={"monthly_kwh": [310.0] * 12, "shape": "evenings", "parts": [FRIDGE, OVEN]}))


def test_what_is_written_reads_back_alike(tmp_path: Path, house: LoadYear) -> None:
    (tmp_path / "load.csv").write_text(csv(house))
    again = load_year(scenario(tmp_path, load={"file": "load.csv"}))
    np.testing.assert_array_equal(again.load_kw, house.load_kw)
    assert source(again) == "Load: hourly file load.csv"


def test_json_adds_up(house: LoadYear) -> None:
    record = json.loads(to_json(house.record()))
    assert sum(month["load_kwh"] for month in record["months"]) == pytest.approx(record["load_kwh"])
    assert record["meter"] is None
    assert house.table().loc[1, "load_kwh"] == pytest.approx(record["months"][0]["load_kwh"])


def test_a_page_names_the_source_the_parts_and_the_peak(house: LoadYear) -> None:
    heading, _, parts, peak = page(house)
    assert heading.endswith("Load: twelve monthly bills, shape 'evenings', and 2 parts of a house")
    assert "shorter peaks are higher" in peak
    assert "exceeded in 95% of hours" in peak
    assert list(parts.columns[0].cells) == ["all else", "oven", "fridge"]
    assert list(parts.columns[3].cells) == ["off", "off", "on"]


def test_picture_has_a_map_and_all_mean_days(house: LoadYear) -> None:
    days, mean, bar = figure(house).axes
    assert days.get_images()[0].get_array().shape == (24, 365)  # type: ignore[union-attr]
    labels = [text.get_text() for text in mean.get_legend().get_texts()]  # type: ignore[union-attr]
    assert labels == ["Dec-Feb", "Mar-May, Oct-Nov", "Jun-Sep", "weekdays", "weekends and holidays"]
    assert bar.get_ylabel() == "load, kW"
    assert "America/New_York" in mean.get_xlabel()
