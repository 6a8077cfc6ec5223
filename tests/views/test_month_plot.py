"""The picture of a month: what it contains. Whether it reads well is looked at by a person."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from solarsim.errors import OutputError
from solarsim.ledger.flows import COLUMNS
from solarsim.run import simulate
from solarsim.studies.compare.compare import Comparison
from solarsim.views.month_plot import SHADE, figure_bytes, month_figure
from tests.builders import scenario, timeline


def test_month_shows_all_series_with_units(demo_comparison: Comparison) -> None:
    run = next(run for run in demo_comparison.runs if run.strategy == "zero export")
    figure = month_figure(run, 7, "a title")
    legends = [legend for panel in figure.axes if (legend := panel.get_legend())]
    labels = {text.get_text() for legend in legends for text in legend.get_texts()}
    assert len(legends) == 3
    assert labels == {
        "highest price: 0.34 a kWh", "solar offered (DC)", "of it unused", "load and inverter's standby",
        "battery gives", "battery takes", "bought", "sold", "state of charge", "floor in force",
    }  # fmt: skip
    assert [panel.get_ylabel() for panel in figure.axes] == ["kW", "kW   takes, sold  |  gives, bought", "battery, %"]
    assert "Jul 2026, wall clock in America/New_York" in figure.axes[-1].get_xlabel()


def test_peak_hours_are_shaded_where_prices_differ(demo_comparison: Comparison) -> None:
    run = demo_comparison.runs[0]
    # 23 weekdays of July 2026 without the 4th, which is a Saturday: 23 windows of 5 hours.
    shaded = [patch for patch in month_figure(run, 7, "t").axes[2].patches if patch.get_alpha() == SHADE]
    assert len(shaded) == 23
    assert all(patch.get_width() == pytest.approx(5 / 24) for patch in shaded)  # type: ignore[attr-defined]


def test_month_spans_a_month_where_summer_time_covers_new_year(demo_comparison: Comparison) -> None:
    run = demo_comparison.runs[0]
    there = replace(run, ledger=replace(run.ledger, _flows=replace(run.flows, timeline=timeline("Australia/Sydney"))))
    low, high = month_figure(there, 1, "t").axes[2].get_xlim()
    assert high - low == pytest.approx(31.0)


def test_price_that_is_the_rule_is_not_shaded_and_no_battery_has_no_panel() -> None:
    run = simulate(scenario(battery=None), "home first")
    figure = month_figure(run, 7, "t")
    assert len(figure.axes) == 2
    assert all(patch.get_alpha() != SHADE for panel in figure.axes for patch in panel.patches)


def test_no_day_is_labelled_beyond_the_month(demo_comparison: Comparison) -> None:
    last = month_figure(demo_comparison.runs[0], 1, "t").axes[-1]
    assert len(last.get_xticks()) == 16  # 1, 3, ... 31 January
    assert max(last.get_xticks()) < last.get_xlim()[1]


@pytest.mark.parametrize("month", [3, 11])
def test_months_of_clock_changes_are_drawn(demo_comparison: Comparison, month: int) -> None:
    assert figure_bytes(month_figure(demo_comparison.runs[0], month, "t"), Path("x.png")).startswith(b"\x89PNG")


@pytest.mark.parametrize(("name", "begins"), [("x.svg", b"<?xml"), ("x.pdf", b"%PDF"), ("x.PNG", b"\x89PNG")])
def test_format_follows_the_suffix(demo_comparison: Comparison, name: str, begins: bytes) -> None:
    assert figure_bytes(month_figure(demo_comparison.runs[0], 1, "t"), Path(name)).startswith(begins)


def test_other_suffix_is_refused(demo_comparison: Comparison) -> None:
    with pytest.raises(OutputError, match=r"ends with \.png, \.svg or \.pdf"):
        figure_bytes(month_figure(demo_comparison.runs[0], 1, "t"), Path("x.bmp"))


def test_picture_shows_the_numbers_of_the_table(demo_comparison: Comparison) -> None:
    """Each series of July, drawn against the hours of the table: value, sign and place in time."""
    run = next(run for run in demo_comparison.runs if run.strategy == "zero export")
    july = run.flows.timeline.month == 7
    f = {name: run.flows[name][july] for name in COLUMNS}
    power, meter, last = month_figure(run, 7, "t").axes
    drawn = {str(p.get_label()): p for panel in (power, meter, last) for p in panel.patches if hasattr(p, "get_data")}
    gives = f["battery_to_load_kw"] + f["battery_to_grid_kw"]
    taken = np.maximum(run.flows.battery_change_kwh[july], 0.0)
    expected = {
        "solar offered (DC)": (f["pv_available_kw"], 0.0),
        "of it unused": (f["pv_available_kw"], f["pv_available_kw"] - f["clipped_kw"] - f["curtailed_kw"]),
        "load and inverter's standby": (f["load_kw"] + f["standby_kw"], 0.0),
        "battery gives": (gives, 0.0),
        "battery takes": (-taken, 0.0),
        "bought": (gives + f["import_kw"], gives),
        "sold": (-taken - f["export_kw"], -taken),
    }
    for label, (values, baseline) in expected.items():
        data = drawn[label].get_data()
        np.testing.assert_allclose(data.values, values, err_msg=label)
        np.testing.assert_allclose(data.baseline + 0 * values, baseline + 0 * values, err_msg=label)
    (soc,) = [line for line in last.lines if line.get_label() == "state of charge"]
    np.testing.assert_allclose(np.asarray(soc.get_ydata(), np.float64), f["soc"] * 100)
    np.testing.assert_allclose(np.asarray(soc.get_xdata(), np.float64), drawn["bought"].get_data().edges[1:])
