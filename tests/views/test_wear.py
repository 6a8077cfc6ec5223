"""What is shown of a battery's life."""

import json

import numpy as np
import pytest

from solarsim.home import Home
from solarsim.studies.wear import MOST_YEARS, Wear, wear
from solarsim.views.figure import figure
from solarsim.views.json_text import to_json
from solarsim.views.wear import page
from tests.views.test_tables import shown


@pytest.fixture(scope="module")
def found(demo_home: Home) -> Wear:
    """Follow the demo's battery for 12 years."""
    return wear(demo_home.scenario, years=12, home=demo_home)


def test_table_has_a_row_for_each_strategy_and_fits_80_columns(found: Wear) -> None:
    lines = shown(page(found)[1], 80)
    assert max(map(len, lines)) <= 80
    for each in found.strategies:
        assert any(line.startswith(f" {each.name.split()[0]}") for line in lines)
    assert "to 80%" in " ".join(lines)
    assert "Calendar" in " ".join(lines)


def test_sentences_compare_the_strategies_and_name_the_model_and_its_limits(found: Wear) -> None:
    words = " ".join(map(str, page(found)))
    assert "highest with 'serve the home first'" in words
    assert "lowest with 'hold for the peak'" in words
    assert "charge_min_c 0" in words
    assert "slower than C/5" in words
    assert "Naumann" in words
    assert "70% of capacity after 10 years or 60 MWh" in words
    assert "blocked by temperature" not in words, "the demo's battery is indoors"


def test_json_has_a_value_for_each_year(found: Wear) -> None:
    record = json.loads(to_json(found.record()))
    assert len(record["strategies"]) == 5
    for row in record["strategies"]:
        assert len(row["capacity_by_year"]) == record["years"] + 1 == 13
    assert record["presets"]["charge_max_c"] == 45.0
    assert found.table().loc["zero export", "years_to_end"] == found.strategies[3].years_to_end


def test_picture_shows_a_line_and_two_bars_for_each_strategy(found: Wear) -> None:
    left, right = figure(found).axes
    names = [each.name for each in found.strategies]
    lines = [line for line in left.get_lines() if any(name in str(line.get_label()) for name in names)]
    # Each strategy is named once; those that one line stands for are within what it says.
    assert sorted(name for line in lines for name in names if name in str(line.get_label()).split("\n")) == sorted(
        names
    )
    for line in lines:
        for each in found.strategies:
            if each.name in str(line.get_label()).split("\n"):
                assert np.asarray(line.get_ydata()) == pytest.approx(100 * each.capacity_by_year, abs=0.5)
    assert len({line.get_linestyle() for line in lines}) == len(lines), "told apart in grey"
    assert left.get_ylabel() == "capacity, % of new"
    assert len(right.patches) == 2 * len(names)
    assert "capacity lost after 12 years" in right.get_xlabel()


def test_years_are_the_command_s() -> None:
    import solarsim.cli.wear as command

    assert command.MOST_YEARS == MOST_YEARS
