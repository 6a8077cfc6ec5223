"""Table, notes, JSON and picture of a battery's life."""

import json

import numpy as np
import pytest

from solarsim.scenario.glossary import ANNUAL, ENERGY
from solarsim.scenario.glossary_studies import WEAR
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.wear import MOST_YEARS, Wear, wear
from solarsim.views.tables import temperature_notes
from solarsim.views.wear_plot import wear_figure
from solarsim.views.wear_records import wear_json
from solarsim.views.wear_tables import wear_notes, wear_table
from tests.views.test_tables import shown


@pytest.fixture(scope="module")
def found(demo_comparison: Comparison) -> Wear:
    """Follow the demo's battery for 12 years."""
    return wear(demo_comparison, years=12)


def test_table_has_a_row_for_each_strategy_and_fits_80_columns(found: Wear) -> None:
    lines = shown(wear_table(found), 200)
    assert max(map(len, lines)) <= 80
    for each in found.strategies:
        assert any(line.startswith(f" {each.strategy}") for line in lines)
    assert "to 80%" in " ".join(lines)


def test_notes_say_who_wears_least_and_where_the_model_was_left(found: Wear) -> None:
    notes = " ".join(wear_notes(found, "USD"))
    assert "Least worn after 10 years: 'serve the home first'" in notes
    assert "Most: 'hold for the peak'" in notes
    assert "charge_min_c 0" in notes
    assert "slower than C/5" in notes
    assert "Naumann" in notes
    assert "70% left after 10 years or 60 MWh" in notes


def test_json_holds_what_the_glossary_names(found: Wear, demo_comparison: Comparison) -> None:
    record = json.loads(wear_json(demo_comparison, found))
    assert len(record["strategies"]) == 5
    for row in record["strategies"]:
        assert set(row) - {"name"} <= WEAR.keys() | ENERGY.keys() | ANNUAL.keys()
        assert len(row["capacity_by_year"]) == record["years"] + 1 == 13
    assert record["presets"]["charge_max_c"] == 45.0


def test_picture_shows_a_line_and_two_bars_for_each_strategy(found: Wear) -> None:
    left, right = wear_figure(found, "title").axes
    names = [each.strategy for each in found.strategies]
    assert [line.get_label() for line in left.get_lines()][: len(names)] == names
    assert np.asarray(left.get_lines()[0].get_ydata()) == pytest.approx(100 * found.strategies[0].by_year.capacity)
    assert left.get_ylabel() == "capacity left, %"
    assert len(right.patches) == 2 * len(names)
    assert "capacity lost after 12 years" in right.get_xlabel()


def test_nothing_is_said_of_cold_where_nothing_was_lost(demo_comparison: Comparison) -> None:
    assert temperature_notes(demo_comparison.runs) == []


def test_years_are_the_command_s() -> None:
    from solarsim.cli import battery

    assert battery.MOST_YEARS == MOST_YEARS
