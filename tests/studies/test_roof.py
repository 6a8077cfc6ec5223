"""Where the roof's energy goes: nothing is lost without a name."""

import json

import numpy as np
import pytest

from solarsim.home import home_from
from solarsim.scenario.glossary_studies import ROOF, ROOF_CAUSES
from solarsim.scenario.read import packaged_folder, read_scenario
from solarsim.studies.roof import Roof, Way, roof_of
from solarsim.views.roof_tables import loss_table, roof_by_month_table, roof_json, roof_notes
from tests.builders import scenario
from tests.roofs import INPUT, roof, strings
from tests.views.test_tables import shown


@pytest.fixture(scope="module")
def farm() -> Roof:
    return roof_of(home_from(read_scenario(packaged_folder("scenarios") / "ridge_farm.toml")))


def ways(found: Roof) -> list[Way]:
    return [*(each.way for each in found.arrays), *(each.way for each in found.inputs)]


def test_every_kilowatt_hour_is_left_or_lost_to_a_name(farm: Roof) -> None:
    """Offered by arrays = lost by causes + what the inverter gets; an input is offered what its arrays left."""
    for each in farm.inputs:
        brought = sum(array.way.left_kwh for array in farm.arrays if array.input == each.number)
        np.testing.assert_allclose(each.way.offered_kwh, brought)
    dc_kw, month = farm.home.production.dc_kw, farm.home.timeline.standard_month
    np.testing.assert_allclose(farm.pv_available_kwh, np.bincount(month - 1, dc_kw))
    lost = sum(sum(way.lost_kwh.values()) for way in ways(farm))
    offered = sum(array.way.offered_kwh for array in farm.arrays)
    np.testing.assert_allclose(offered - lost, farm.pv_available_kwh)


def test_no_cause_but_warmth_gives_anything_back(farm: Roof) -> None:
    for way in ways(farm):
        for cause, by_month in way.lost_kwh.items():
            assert cause == "temperature" or by_month.min() >= -1e-9, cause


def test_causes_and_keys_are_in_the_glossary(farm: Roof) -> None:
    record = json.loads(roof_json(farm))
    for each in (*record["arrays"], *record["inputs"]):
        assert set(each) - {"name", "input"} <= set(ROOF)
        assert set(each["lost_kwh"]) == set(each["lost_h"]) <= set(ROOF_CAUSES)
        assert each["offered_kwh"] - sum(each["lost_kwh"].values()) == pytest.approx(each["left_kwh"], abs=1e-6)
        assert sum(each["monthly_left_kwh"]) == pytest.approx(each["left_kwh"], abs=1e-6)
    assert set(record) - {"scenario", "arrays", "inputs", "notes"} <= set(ROOF)
    assert record["notes"] == []


@pytest.mark.by_hand
def test_hours_and_energy_lost_to_power_are_counted() -> None:
    found = roof_of(home_from(roof(strings(), inputs=[{**INPUT, "max_kw": 2.0}])))
    (only,) = found.inputs
    brought = found.home.production.array_kw["roof"]
    assert only.way.lost_h["power"] == (brought > 2.001).sum()
    assert only.way.lost_kwh["power"].sum() == pytest.approx((brought - 2.0).clip(0).sum())
    assert found.home.production.clipped_kw.sum() == pytest.approx(only.way.lost_kwh["power"].sum())


def test_window_current_and_power_are_told_apart() -> None:
    pair = [strings(strings=2), strings(name="west", modules_in_series=8, azimuth_deg=270.0)]
    limits = {"max_kw": 5.0, "max_a": 20.0, "mppt_min_v": 290.0, "start_v": 200.0}
    found = roof_of(home_from(roof(*pair, inputs=[{**INPUT, **limits}])))
    lost = {cause: values.sum() for cause, values in found.inputs[0].way.lost_kwh.items()}
    assert all(lost[cause] > 1.0 for cause in ("unlike_strings", "window", "current", "power"))
    clipped = found.home.production.clipped_kw.sum()
    assert clipped == pytest.approx(lost["current"] + lost["power"])
    assert found.home.production.dc_kw.max() <= 5.0


def test_input_without_arrays_is_not_told_of() -> None:
    found = roof_of(home_from(scenario(inverter__inputs=[{"max_kw": 5.0}, {"max_kw": 5.0}])))
    assert [each.number for each in found.inputs] == [1]
    assert "has no voltage" in " ".join(roof_notes(found))


@pytest.mark.parametrize("width", [80, 100])
def test_tables_fit_and_show_every_limit(farm: Roof, width: int) -> None:
    lines = shown(loss_table(farm), width)
    assert max(map(len, lines)) <= width
    text = "\n".join(lines)
    assert text.count("outside the voltage window") == 2
    assert f"{farm.pv_available_kwh.sum():,.0f}" in lines[-2] + lines[-1]
    months = shown(roof_by_month_table(farm), width)
    assert max(map(len, months)) <= width
    assert "Year" in months[-2] + months[-1]
    assert "works between" in roof_notes(farm)[0]


def test_roof_of_nothing_is_empty() -> None:
    found = roof_of(home_from(scenario(arrays=[])))
    assert found.pv_available_kwh.sum() == 0.0
    assert shown(loss_table(found), 80)
    assert json.loads(roof_json(found))["pv_available_kwh"] == 0.0
