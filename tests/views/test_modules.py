"""Rows of the module table for a person."""

import json
from dataclasses import replace

import pytest

from solarsim.studies.modules import ModuleRow, ModuleSearch
from solarsim.views.json_text import to_json
from solarsim.views.modules import page
from tests.views.test_tables import shown

#: Invented.
ROW = ModuleRow("Hillside Works HW-60-300", "Mono-c-Si", 300.04, 39.7, 9.7, 32.6, 9.2, -0.004, -0.003, 0.0005)


@pytest.mark.parametrize("width", [80, 100])
def test_long_name_goes_on_and_no_number_is_cut(width: int) -> None:
    name = "Hillside Works of the Upper Valley and Daughters Incorporated HW-72-Black-Frame-" + "X" * 40
    lines = shown(page(ModuleSearch("hillside", (ROW, replace(ROW, name=name)), ()))[0], width)
    assert max(map(len, lines)) <= width
    assert sum("39.70" in line and "-0.40" in line for line in lines) == 2
    assert "X" * 40 in "".join(lines).replace(" ", "")


def test_only_the_first_are_shown_and_the_page_says_so() -> None:
    table, sentence = page(ModuleSearch("hillside", (ROW,) * 41, ()))
    assert sum("300" in line for line in shown(table, 100)) == 40
    assert sentence == "41 names hold 'hillside'; the first 40."
    assert "table_row" in str(page(ModuleSearch("hillside", (ROW,), ()))[1])
    assert "the closest are shown" in str(page(ModuleSearch("hilside", (), (ROW,)))[1])


def test_json_has_the_same_keys_for_rows_and_for_the_closest() -> None:
    record = json.loads(to_json(ModuleSearch("hillside", (ROW,), (ROW,)).record()))
    assert record["modules"] == record["closest"]
    assert record["modules"][0]["v_oc_v"] == 39.7
