"""The annotated scenario holds exactly its tables, and says what each key means and what was assumed."""

import re
import tomllib
from pathlib import Path

import pytest

from solarsim.scenario.keys import all_keys
from solarsim.scenario.questions.annotated import annotated_text
from solarsim.scenario.questions.answers import Setting, tables_from
from solarsim.scenario.read import read_scenario

HERE = Setting(Path("/homes"), 2026)
FULL = {
    "name": 'Home of "quotes" \\ and ünïcode',
    "array": "8.2 kW south 30; barn: 20 x 405 W in 2 strings azimuth 170 tilt 10 rack",
    "rates": "0.34 16-21 weekdays jun-sep; 0.12",
    "export": "0.05 at most 5 kW",
    "offer": "18500 with battery 7000",
    "outages": "1.4 a year of 5.6 h critical 45 %",
}


@pytest.mark.parametrize("answers", [{}, FULL, {"battery": "none"}, {"rates": "demand"}])
def test_text_holds_exactly_the_tables(answers: dict[str, str]) -> None:
    tables = tables_from(answers, HERE)
    text = annotated_text(tables)
    assert tomllib.loads(text) == tables
    assert read_scenario(text).name == tables["name"]
    assert max(len(line) for line in text.splitlines() if line.startswith(("#", " "))) <= 120


def test_each_key_has_its_own_meaning_beside_it_once() -> None:
    text = " ".join(re.sub(r"\n\s*#", " ", annotated_text(tables_from(FULL, HERE))).split())
    for path in (
        "site.time_zone",
        "arrays.*.tilt_deg",
        "battery.chemistry",
        "rate_plan.currency",
        "strategies.*.reserve",
    ):
        meaning = next(key.meaning for key in all_keys() if key.path == path)
        assert text.count(meaning) == 1, path


def test_what_no_question_asks_is_marked() -> None:
    """Whatever the answers are, these keys have the same values or follow from others: each says so."""
    text = annotated_text(tables_from(FULL, HERE))
    lines = text.splitlines()
    for key in (
        "albedo", "transposition", "array = {", "module = {", "wiring", "temperature_coefficient_per_c", "standby_w",
        "efficiency", "inputs", "battery_charge_kw", "battery_discharge_kw", "transfer_seconds", "reserve", "frequency",
        "years", "money", "discount_rate", "panel_degradation_per_year", "load_growth_per_year", "price_growth",
        "lifetimes", "weather_standard_deviation",
    ):  # fmt: skip
        number = next(number for number, line in enumerate(lines) if line.startswith(key))
        assert "# assumed (" in lines[number - 1] + lines[number], key


def test_a_fixed_price_says_how_to_split_it_and_the_head_what_is_missing() -> None:
    priced, without = (annotated_text(tables_from(answers, HERE)) for answers in (FULL, {}))
    assert '#   { name = "battery", per = "battery_kwh", unit_price = PRICE, of = "cells" }\n' in priced
    assert "# Not asked: [wiring] for wiring, [plans] for plans, [size] for size; see" in priced
    assert "# Not asked: [costs] for savings and all commands about money, [life] for life, offers, risk" in without


def test_a_second_part_of_another_kind_is_explained_too() -> None:
    house = "car 40 km in bills; car 20 km in bills; heat pump 8 kW at -10 C in bills"
    lines = annotated_text(tables_from({"house": house}, HERE)).splitlines()
    for key, count in (("kwh_per_km", 1), ("base_c", 1), ("max_kw", 1)):
        assert sum(line.startswith(key) and "# assumed (" in line for line in lines) == count
