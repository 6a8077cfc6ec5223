"""The picture of the year's energy: bars and flow as high as their energy, none without energy."""

from dataclasses import fields

import pytest

import solarsim
from solarsim.ledger.energy_flow import EnergyFlow
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.flows import FlowsYear
from solarsim.views.energy_flow import energy_flow_figure

NOTHING = dict.fromkeys((field.name for field in fields(EnergyFlow)), 0.0)
USUAL = {
    "pv_available_kwh": 1000.0, "pv_to_load_kwh": 400.0, "pv_to_battery_kwh": 300.0, "pv_to_grid_kwh": 250.0,
    "battery_to_load_kwh": 270.0, "grid_to_load_kwh": 200.0, "demand_kwh": 870.0,
}  # fmt: skip


def drawn(**flow: float) -> tuple[dict[str, str], list[float]]:
    """Return the picture's texts, and the heights of its bars."""
    from matplotlib.patches import Rectangle

    panel = energy_flow_figure(EnergyFlow(**(NOTHING | flow))).axes[0]
    texts = [each.get_text() for each in panel.texts]
    bars = [each.get_height() for each in panel.patches if isinstance(each, Rectangle)]
    return {text: text for text in texts}, bars


@pytest.mark.by_hand
def test_bars_are_as_high_as_their_energy_and_numbers_stand_on_the_ways() -> None:
    texts, bars = drawn(**USUAL)
    # Lost: 1000 - 400 - 300 - 250 of the sun, 300 - 270 of the battery.
    assert sorted(bars) == pytest.approx([80.0, 200.0, 250.0, 300.0, 870.0, 1000.0])
    assert {"sun\n1,000", "grid\n200", "home\n870", "battery 300", "to the grid\n250"} <= texts.keys()
    assert {"400", "300", "250", "270", "200"} <= texts.keys()


def test_home_without_battery_or_sun_has_no_bar_for_them() -> None:
    texts, bars = drawn(grid_to_load_kwh=500.0, demand_kwh=500.0)
    assert texts.keys() == {"500", "grid\n500", "home\n500", "kWh in the year; home: load and standby"}
    assert bars == [500.0, 500.0]


def test_thin_way_is_named_below_and_unserved_demand_has_a_bar_of_its_own() -> None:
    texts, bars = drawn(**{**USUAL, "generator_to_load_kwh": 3.0, "unserved_kwh": 40.0, "demand_kwh": 913.0})
    assert "kWh in the year; home: load and standby. Too thin for a number: generator to home 3" in texts
    assert "unserved 40" in texts
    assert 873.0 in [round(height, 6) for height in bars]  # the home's: demand less what is unserved


def test_figure_of_flows_draws_it_when_asked_for(demo_comparison: Comparison) -> None:
    year = FlowsYear(demo_comparison.home, demo_comparison.runs[0], "demo", "USD")
    drawn_year = solarsim.figure(year, sources=True)
    assert drawn_year.get_suptitle() == "demo: serve the home first"
    demand = f"home\n{year.energy_flow.demand_kwh:,.0f}"
    assert demand in [text.get_text() for text in drawn_year.axes[0].texts]
