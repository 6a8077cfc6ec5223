"""Rows of the module table for a person."""

import json
from dataclasses import replace

import pytest

from solarsim.scenario.glossary_studies import MODULES
from solarsim.scenario.roof.roof import ListedModule
from solarsim.views.module_tables import MOST_SHOWN, module_notes, modules_json, modules_table
from tests.views.test_tables import shown

#: Invented.
ROW = ListedModule("Hillside Works HW-60-300", "Mono-c-Si", 300.04, 39.7, 9.7, 32.6, 9.2, -0.004, -0.003, 0.0005)


@pytest.mark.parametrize("width", [80, 100])
def test_long_name_goes_on_and_no_number_is_cut(width: int) -> None:
    long = replace(
        ROW, name="Hillside Works of the Upper Valley and Daughters Incorporated HW-72-Black-Frame-" + "X" * 40
    )
    lines = shown(modules_table([ROW, long]), width)
    assert max(map(len, lines)) <= width
    assert sum("39.70" in line and "-0.40" in line for line in lines) == 2
    assert "X" * 40 in "".join(lines).replace(" ", "")


def test_only_the_first_are_shown_and_it_says_so() -> None:
    many = [ROW] * (MOST_SHOWN + 1)
    assert sum("300" in line for line in shown(modules_table(many), 100)) == MOST_SHOWN
    assert module_notes("hillside", many, []) == [f"{MOST_SHOWN + 1} names hold 'hillside', {MOST_SHOWN} are shown."]
    assert "table_row" in module_notes("hillside", [ROW], [])[0]
    assert "these come closest" in module_notes("hilside", [], [ROW])[0]


def test_json_has_the_glossary_s_keys() -> None:
    record = json.loads(modules_json([ROW], [ROW]))
    assert list(record["modules"][0]) == list(record["closest"][0]) == list(MODULES)
