"""Dated changes: years before run the home as written, years after the home as changed, and each has its price."""

import json
from dataclasses import replace
from typing import Any

import pytest

from solarsim.errors import ScenarioError
from solarsim.home import Home
from solarsim.ledger.purchase import purchase_from
from solarsim.scenario.model import Scenario
from solarsim.scenario.read import read_scenario
from solarsim.studies.compare.compare import compare
from solarsim.studies.life.life import Life, life
from tests.studies.lives import STILL

STRATEGY = "serve the home first"
MONTHS = [1300, 1100, 1000, 900, 950, 1150, 1300, 1300, 1100, 950, 1000, 1200]
CAR: dict[str, Any] = {"name": "electric car", "year": 3, "set": [f"load.monthly_kwh={MONTHS}"]}
STRING: dict[str, Any] = {"name": "third string", "year": 2, "set": ["battery.bank.1.strings=2"]}


def changed(home: Home, *changes: dict[str, Any], **keys: Any) -> tuple[Scenario, Home]:
    """Return the demo in a life of four still years with dated changes."""
    scenario = home.scenario.changed({"life": STILL | {"changes": list(changes)} | keys})
    return scenario, replace(home, scenario=scenario)


def lived(home: Home, *changes: dict[str, Any], **keys: Any) -> Life:
    scenario, home = changed(home, *changes, **keys)
    return life(scenario, STRATEGY, home)


def test_years_after_a_change_are_those_of_the_home_as_changed(demo_home: Home) -> None:
    found = lived(demo_home, CAR)
    (only,) = found.strategies
    bills = [(year.annual_bill, each.annual_bill) for year, each in zip(only.ledgers, only.baselines, strict=True)]
    scenario, home = changed(demo_home)
    before = compare(scenario, home)
    after = compare(scenario.changed({"load.monthly_kwh": MONTHS}))
    for pair, comparison in zip(bills, (before, before, after, after), strict=True):
        run = next(each for each in comparison.runs if each.strategy == STRATEGY)
        assert pair == pytest.approx((run.annual_bill, comparison.baseline.annual_bill), abs=0.02)
    (effect,) = found.changes
    assert effect.npv_with == only.npv
    assert effect.npv_without == lived(demo_home).strategies[0].npv
    assert effect.cost == 0.0


@pytest.mark.by_hand
def test_string_that_is_added_later_costs_what_the_list_says_and_is_paid_the_year_before(demo_home: Home) -> None:
    """16 more cells at 112 and a cabinet at 310, at the end of year 1."""
    found = lived(demo_home, STRING, replacement_growth_per_year=0.10)
    (only,) = found.strategies
    assert only.payments.changes == pytest.approx([0, -1.1 * (16 * 112 + 310), 0, 0, 0])
    assert [year.changes for year in only.years] == only.payments.changes.tolist()
    kwh = [year.capacity_kwh for year in only.ledgers]
    assert kwh == pytest.approx([26.112, *[26.112 + 16 * 230 * 3.2 / 1000] * 3])
    assert found.changes[0].cost == 16 * 112 + 310
    written = lived(demo_home, STRING | {"cost": 1500.0})
    assert written.strategies[0].payments.changes.tolist() == [0, -1500, 0, 0, 0]
    # Solar alone buys no string, at whatever price.
    for each in (found, written):
        assert each.solar_only is not None
        assert not each.solar_only.payments.changes.any()


@pytest.mark.by_hand
def test_another_inverter_is_paid_in_full_and_only_it_is_replaced_later(demo_home: Home) -> None:
    """The demo's inverters cost 1,450 (6 kW) and 1,890 (8 kW) and live for 13 years: the old one is not taken back."""
    other = {"name": "larger inverter", "year": 2, "set": ["inverter.ac_kw=8"]}
    found = lived(demo_home, other, years=16)
    assert found.changes[0].cost == 1890.0
    assert found.strategies[0].payments.changes[1] == -1890.0
    years = {name: when for name, when in found.replacements.items() if "inverter" in name}
    assert years == {"hybrid inverter 8 kW": (14,)}
    assert {name: when for name, when in lived(demo_home, years=16).replacements.items() if "inverter" in name} == {
        "hybrid inverter 6 kW": (13,)
    }


@pytest.mark.by_hand
def test_what_a_change_leaves_out_is_not_replaced_as_it_begins(demo_home: Home) -> None:
    """The inverter lives for 13 years, the next costs 1,700: not with another from year 14 on, from year 15 on yes."""
    for year, paid in ((13, 0.0), (14, 0.0), (15, -1700.0)):
        other = {"name": "larger inverter", "year": year, "set": ["inverter.ac_kw=8"]}
        (only,) = lived(demo_home, other, years=16).strategies
        assert only.payments.replacements.sum() == paid
        assert only.payments.changes[year - 1] == -1890.0
    # Cells live for 17 years; 16 of them and a cabinet then cost 16 x 90 + 160, 100 for each cell.
    # What a change of that year adds is not replaced.
    fewer = {"name": "one string", "year": 18, "set": ["battery.bank.1.strings=0"]}
    back = {"name": "two again", "year": 18, "set": ["battery.bank.0.strings=2"]}
    inverter = -1700.0
    for changes, cells in (((), 32), ((fewer,), 16), ((STRING | {"year": 18},), 32), ((fewer, back), 32)):
        (only,) = lived(demo_home, *changes, years=19).strategies
        assert only.payments.replacements.sum() == inverter - 100.0 * cells, changes


def test_cells_that_are_bought_again_are_renewed_when_they_are_replaced(demo_home: Home) -> None:
    """Sold in year 2, bought again in year 4: a life of 4 years ends with year 7, in the money and in the capacity."""
    gone = {"name": "sold", "year": 2, "set": ["battery=none"]}
    bank = "{ cells_in_series = 16, cell_ah = 280, cell_v = 3.2 }"
    table = f'battery={{ chemistry = "lfp", place = "garage", bank = [{bank}] }}'
    again = {"name": "bought again", "year": 4, "set": [table, "arrangement.kind=hybrid"]}
    parts = [
        part.model_dump(exclude_unset=True) | ({"life_years": 4} if part.of == "cells" else {})
        for part in (demo_home.scenario.costs.parts if demo_home.scenario.costs else ())
    ]
    scenario = demo_home.scenario.changed({"costs.parts": parts})
    found = lived(replace(demo_home, scenario=scenario), gone, again, years=9, battery_fade_per_year=0.1)
    kwh = [year.capacity_kwh for year in found.strategies[0].ledgers]
    cells = 16 * 280 * 3.2 / 1000
    assert kwh[3:] == pytest.approx([cells * left for left in (1.0, 0.9, 0.81, 0.729, 1.0, 0.9)])
    assert [year for name, years in found.replacements.items() if "cells" in name for year in years] == [7]


@pytest.mark.by_hand
def test_array_that_comes_back_costs_what_its_lines_say() -> None:
    """The carport of older_roof: nine modules at 170 and a frame for 1,100, both listed for it alone."""
    written = read_scenario("older_roof")
    names = [array.name for array in written.arrays]
    arrays = ", ".join(_inline(table) for table in written.tables["arrays"])
    gone = {"name": "gone", "year": 2, "set": ["arrays.carport.strings=0"]}
    back = {"name": "back", "year": 4, "set": [f"arrays=[{arrays}]"]}
    scenario = written.changed({"life": STILL | {"changes": [gone, back]}})
    found = life(scenario, scenario.strategies[0].name)
    assert [array.name for array in found.stages[2].homes[0].scenario.arrays] == names
    assert [each.cost for each in found.changes] == [0.0, 9 * 170 + 1100.0]
    assert found.stages[2].purchase.record() == found.stages[0].purchase.record()


def _inline(value: Any) -> str:
    """Return a raw value as TOML on one line."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_inline(each)}" for key, each in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_inline, value)) + "]"
    return json.dumps(value)


def test_change_that_has_been_made_is_not_said_to_lapse(demo_home: Home) -> None:
    found = lived(demo_home, {"name": "no battery", "year": 3, "set": ["battery=none"]})
    assert not any("is left out" in note for note in found.notes if "life.changes" in note)


def test_change_beyond_the_life_changes_nothing_and_says_so(demo_home: Home) -> None:
    late = lived(demo_home, CAR | {"year": 5})
    plain = lived(demo_home)
    assert late.strategies[0].npv == plain.strategies[0].npv
    assert late.changes == ()
    assert any("'electric car' in year 5 is after the 4 years: no effect" in note for note in late.notes)


def test_changes_of_one_year_happen_in_the_order_written(demo_home: Home) -> None:
    other = {"name": "fourth", "year": 2, "set": ["battery.bank.1.strings=3"]}
    found = lived(demo_home, STRING, other)
    assert [each.cost for each in found.changes] == [2102.0, 2102.0]
    assert found.strategies[0].ledgers[1].capacity_kwh == pytest.approx(26.112 + 2 * 16 * 230 * 3.2 / 1000)
    # Without the first the second costs both: the end is the same, so the net present value is too.
    assert found.changes[0].difference == pytest.approx(0.0, abs=0.01)


BAD = {
    "unknown key": (
        ["battery.bank.1.string=2"],
        "life.changes: 'x': battery.bank.1.string: unknown key 'string'; did you",
    ),
    "impossible home": (["inverter.ac_kw=-2"], "inverter.ac_kw: -2 must be above 0 kW"),
    "strategy gone": (['strategies."serve the home first".name=other'], "'serve the home first' is not there any more"),
}


@pytest.mark.parametrize(("keys", "told"), BAD.values(), ids=list(BAD))
def test_change_that_cannot_be_is_refused_by_its_name(demo_home: Home, keys: list[str], told: str) -> None:
    with pytest.raises(ScenarioError) as refused:
        lived(demo_home, {"name": "x", "year": 2, "set": keys})
    assert told in str(refused.value)


def test_same_battery_as_written_has_the_same_purchase(demo_home: Home) -> None:
    scenario, _ = changed(demo_home, STRING)
    assert purchase_from(scenario).upfront_cost == 13167.0
