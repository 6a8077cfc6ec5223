"""What is shown of the roof."""

import json

import numpy as np
import pytest

from solarsim.scenario.read import packaged_folder, read_scenario
from solarsim.studies.roof import Roof, roof
from solarsim.views.figure import figure
from solarsim.views.json_text import to_json
from solarsim.views.roof import LABELS, page
from tests.builders import scenario
from tests.views.test_tables import shown


@pytest.fixture(scope="module")
def farm() -> Roof:
    return roof(read_scenario(packaged_folder("scenarios") / "ridge_farm.toml"))


@pytest.mark.parametrize("width", [80, 100])
def test_tables_fit_and_show_every_limit(farm: Roof, width: int) -> None:
    _, losses, months, *sentences, _ = page(farm)
    lines = shown(losses, width)
    assert max(map(len, lines)) <= width
    text = "\n".join(lines)
    assert text.count("outside the voltage window") == 2
    assert text.index("on the array") < text.index("in the module") < text.index("in the wiring")
    assert f"{farm.pv_available_kwh:,.0f}" in lines[-2] + lines[-1]
    by_month = shown(months, width)
    assert max(map(len, by_month)) <= width
    assert "Year" in by_month[-2] + by_month[-1]
    assert "operates at" in " ".join(map(str, sentences))


def test_every_cause_of_the_program_has_a_label(farm: Roof) -> None:
    causes = {loss.cause for path in (*farm.arrays, *farm.inputs) for loss in path.losses}
    assert causes <= set(LABELS)
    assert {"temperature", "window"} <= causes


def test_json_adds_up(farm: Roof) -> None:
    record = json.loads(to_json(farm.record()))
    for each in (*record["arrays"], *record["inputs"]):
        lost = sum(loss["lost_kwh"] for loss in each["losses"])
        assert each["before_losses_kwh"] - lost == pytest.approx(each["after_losses_kwh"], abs=1e-6)
        assert sum(each["monthly_after_losses_kwh"]) == pytest.approx(each["after_losses_kwh"], abs=1e-6)
    assert sum(each["after_losses_kwh"] for each in record["inputs"]) == pytest.approx(record["pv_available_kwh"])
    assert record["notes"] == []


def test_a_roof_of_ratings_and_one_of_nothing_are_shown() -> None:
    assert "no known voltage" in " ".join(map(str, page(roof(scenario()))))
    nothing = roof(scenario(arrays=[]))
    assert shown(page(nothing)[1], 80)
    assert figure(nothing).axes


def test_figure_shows_every_loss_and_each_array_by_month(farm: Roof) -> None:
    left, right = figure(farm).axes
    named = [label.get_text() for label in left.get_yticklabels()]
    widths = dict(zip(named, (bar.get_width() for bar in left.patches), strict=True))  # type: ignore[attr-defined]
    assert widths["cables"] == pytest.approx(sum(each.lost_kwh("cables") for each in farm.arrays))
    heights = np.array([bar.get_height() for bar in right.patches])  # type: ignore[attr-defined]
    assert heights.sum() == pytest.approx(sum(each.after_losses_kwh for each in farm.arrays))
    assert "kWh" in left.get_xlabel()
    assert "kWh" in right.get_ylabel()
