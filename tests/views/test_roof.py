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
    _, _, left, right = figure(farm).axes
    named = [label.get_text() for label in left.get_yticklabels()]
    widths = dict(zip(named, (bar.get_width() for bar in left.patches), strict=True))  # type: ignore[attr-defined]
    assert widths["cables"] == pytest.approx(sum(each.lost_kwh("cables") for each in farm.arrays))
    heights = np.array([bar.get_height() for bar in right.patches])  # type: ignore[attr-defined]
    assert heights.sum() == pytest.approx(sum(each.after_losses_kwh for each in farm.arrays))
    assert "kWh" in left.get_xlabel()
    assert "kWh" in right.get_ylabel()


def test_figure_shows_faces_on_their_side_and_the_sun_over_the_horizon(farm: Roof) -> None:
    faces, sky, _, _ = figure(farm).axes
    words = "\n".join(each.get_text() for each in faces.texts)
    assert "1  south roof: 11 modules, 4.51 kWdc, faces 165°, tilt 35°" in words
    south, east, barn = (np.asarray(each.get_path().vertices)[:4].mean(axis=0) for each in faces.patches)
    assert south[1] < 0.0 < south[0], "165 degrees is south, a little to the east"
    assert east[0] > 0.0 > barn[0]
    labels = sky.get_legend_handles_labels()[1]
    assert labels == ["Jun 21", "Mar 20", "Dec 21", "horizon"]
    assert {"south roof", "east roof", "barn", "12:00"} <= {each.get_text() for each in sky.texts}
    assert sky.get_xlim() == (0.0, 360.0)


def test_in_the_south_the_sky_has_north_in_the_middle() -> None:
    place = {"latitude_deg": -33.9, "longitude_deg": 151.2, "elevation_m": 20.0}
    monthly = {
        "format": "monthly", "place": place, "ghi_kwh_m2_day": [6, 5.3, 4.5, 3.6, 2.8, 2.4, 2.7, 3.5, 4.6, 5.4, 6, 6.3],
        "temp_air_c": [23, 23, 22, 19, 16, 14, 13, 14, 17, 19, 20, 22], "seed": 1,
    }  # fmt: skip
    site = {"name": "south", "time_zone": "Australia/Sydney", "calendar_year": 2026, "albedo": 0.2}
    result = roof(scenario(weather=monthly, site=site, arrays__0__azimuth_deg=0.0))
    faces, sky, *_ = figure(result).axes
    assert sky.get_xlim() == (-180.0, 180.0)
    assert [tick.get_text() for tick in sky.get_xticklabels()][4] == "N\n0"
    (face,) = faces.patches
    assert np.asarray(face.get_path().vertices)[:4, 1].min() > 0.0, "north is up"
