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
    assert list(parts.columns[3].cells) == ["no", "no", "yes"]
    assert list(parts.columns[4].cells) == ["-"] * 3, "without [arrangement] there are no outages"


def test_a_page_says_what_is_on_in_an_outage_and_when_a_car_is_plugged_in() -> None:
    car = {
        "kind": "electric_car", "name": "car", "critical": False, "km_per_day": {"weekday": 40, "weekend": 20},
        "kwh_per_km": 0.18, "charging_efficiency": 0.9, "charger_kw": 7.0, "battery_kwh": 60.0,
        "in_bills": False, "plugged_in": [{"days": ["mon-fri"], "from": "18:00", "to": "07:00"}],
    }  # fmt: skip
    hybrid = {"kind": "hybrid", "backed_up": "critical", "transfer": "automatic", "transfer_seconds": 0.0}
    load = {"monthly_kwh": [310.0] * 12, "shape": "evenings", "critical_share": 0.3, "parts": [FRIDGE, OVEN, car]}
    _, _, parts, outage, plugged, hint, _ = page(load_year(scenario(load=load, arrangement=hybrid)))
    assert list(parts.columns[0].cells) == ["all else", "car", "oven", "fridge"]
    assert list(parts.columns[4].cells) == ["30%", "off", "off", "on"]
    assert outage == "In an outage only the critical load is backed up: 1,554 of 7,392 kWh a year."
    assert plugged == (
        "'car' is plugged in: Mon-Thu 18:00 to 07:00 the next day; Fri 18:00 to 24:00; Mon 00:00 to 07:00."
    )
    assert hint.startswith("A window that crosses midnight covers the early and the late hours of each of its days")
    whole = page(load_year(scenario(load=load, arrangement=hybrid | {"backed_up": "all"})))
    assert list(whole[2].columns[4].cells) == ["on"] * 4
    assert page(load_year(scenario(load=load, arrangement={"kind": "grid_tied"})))[3].startswith("In an outage nothing")


def test_picture_has_a_map_and_all_mean_days(house: LoadYear) -> None:
    days, mean, bar = figure(house).axes
    assert days.get_images()[0].get_array().shape == (24, 365)  # type: ignore[union-attr]
    labels = [text.get_text() for text in mean.get_legend().get_texts()]  # type: ignore[union-attr]
    assert labels == ["Dec-Feb", "Mar-May, Oct-Nov", "Jun-Sep", "weekdays", "weekends and holidays"]
    assert bar.get_ylabel() == "load, kW"
    assert "America/New_York" in mean.get_xlabel()
