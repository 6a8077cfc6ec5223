"""The design checks of whole homes: every example, what a missing value does, and what a larger fuse does."""

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from solarsim.errors import ScenarioError
from solarsim.home import Home, home_from
from solarsim.scenario.model import Scenario
from solarsim.scenario.read import packaged_folder, read_scenario
from solarsim.studies.size.size import size
from solarsim.studies.wiring.wiring import Wiring, failure_notes, wiring

EXAMPLES = ("greensboro", "miami", "net_shed", "older_roof", "ridge_farm", "sand_point", "storm_coast")


@cache
def example(name: str) -> Scenario:
    """Read an example."""
    return read_scenario(packaged_folder("scenarios") / f"{name}.toml")


def found(result: Wiring, outcome: str) -> set[tuple[str, str]]:
    """Return part and name of the checks that ended so."""
    return {(each.part, each.name) for each in result.checks if each.result == outcome}


@pytest.mark.parametrize("name", EXAMPLES)
def test_example_has_what_its_checks_need(name: str) -> None:
    result = wiring(example(name))
    aside = {("older roof", "string voltages and currents")}  # behind an inverter of its own
    assert found(result, "not checked") <= aside
    assert found(result, "fails") == ({("main panel", "busbar")} if name == "older_roof" else set())


@pytest.mark.by_hand
def test_values_of_the_demo(demo: Scenario) -> None:
    """Ten modules of 37.1 V, -0.27 %/C, -13 C: 371 x (1 + 0.0027 x 38) = 409.1 V; 200 + 1.25 x 25 = 231.25 A."""
    checks = {(each.part, each.name): each for each in wiring(demo).checks}
    assert checks["south roof", "cold Voc, inverter input"].value == pytest.approx(409.06, abs=0.01)
    assert checks["main panel", "busbar"].value == pytest.approx(231.25)
    assert checks["input 1", "short-circuit current"].value == pytest.approx(1.25 * 13.9)
    assert checks["battery", "fuse of each string"].limit == pytest.approx(1.25 * 120 * 280 / 510)


def leaves(table: Any, path: str) -> Iterator[str]:
    """Yield the paths of all values of a table."""
    if isinstance(table, dict):
        for key, value in table.items():
            yield from leaves(value, f"{path}.{key}")
    elif isinstance(table, list) and table and isinstance(table[0], dict):
        for place, value in enumerate(table):
            yield from leaves(value, f"{path}.{place}")
    else:
        yield path


def removable(scenario: Scenario) -> list[str]:
    """Return the values that a check reads and that may be left out."""
    paths = [*leaves(scenario.tables["wiring"], "wiring"), "site.design_low_c", "site.design_high_c"]
    kept = {"standard", "edition", "building", "grid_v", "phases", "array", "one_way_m", "awg"}
    kept |= {"load_management", "connected_kw"}  # the one makes the other unread
    paths = [path for path in paths if path.rpartition(".")[2] not in kept]
    paths += [f"modules.0.{key}" for key in ("system_v", "series_fuse_a", "rear_gain")]
    inputs = range(len(scenario.inverter.inputs))
    return paths + [
        f"inverter.inputs.{n}.{key}" for n in inputs for key in ("max_v", "max_short_circuit_a", "backfeed_a")
    ]


def test_removing_a_value_never_leaves_its_check_ok(demo: Scenario, demo_home: Home) -> None:
    """Each value alone: at least one check is then not made, names the key, and no check passes that did not before."""
    before = found(wiring(demo, demo_home), "ok")
    for path in removable(demo):
        changed = demo.changed({path: None})
        result = wiring(changed, same(changed, demo_home))
        assert found(result, "ok") < before, path
        key = path.rpartition(".")[2]
        assert any(key in each for check in result.checks for each in check.missing), path


def same(scenario: Scenario, home: Home) -> Home:
    """Return a home's series under another scenario whose energy is the same."""
    return replace(home, scenario=scenario)


def test_larger_fuse_than_allowed_always_fails(demo: Scenario, demo_home: Home) -> None:
    for path, fuse_a in (
        ("wiring.pv.0.fuse_a", 26.0),  # the modules' label allows 25 A
        ("wiring.battery.fuse_a", 500.0),
        ("wiring.inverter.breaker_a", 100.0),
        ("wiring.inverter.grid_port_breaker_a", 63.0),
    ):
        changed = demo.changed({path: fuse_a})
        assert wiring(changed, same(changed, demo_home)).failures >= 1, path


def test_lowest_temperature_of_the_file_can_only_fail(demo: Scenario, demo_home: Home) -> None:
    """Without a design temperature a passing string is not checked, a failing one fails."""
    cold = ("south roof", "cold Voc, inverter input")
    open_ = demo.changed({"site.design_low_c": None})
    assert cold in found(wiring(open_, same(open_, demo_home)), "not checked")
    failing = open_.changed({"inverter.inputs.0.max_v": 400.0})
    result = wiring(failing, same(failing, demo_home))
    assert cold in found(result, "fails")
    advice = next(each.advice for each in result.checks if (each.part, each.name) == cold)
    assert "at most 9 modules" in advice
    assert "a design value is lower" in advice


def test_tables_of_the_nec_are_not_used_for_the_iec(demo: Scenario, demo_home: Home) -> None:
    changed = demo.changed({"wiring.standard": "iec", "wiring.edition": 2023, "wiring.phases": "single"})
    result = wiring(changed, same(changed, demo_home))
    missing = {each for check in result.checks for each in check.missing}
    assert "no table for this standard" in missing
    assert not any("NEC" in check.source for check in result.checks if check.result == "ok")


def test_two_strings_without_a_known_backfeed_are_not_checked(demo: Scenario) -> None:
    changed = demo.changed(
        {"inverter.inputs.0.backfeed_a": None, "arrays.0.strings": 2, "arrays.0.modules_in_series": 5}
    )
    checks = {(each.part, each.name): each for each in wiring(changed).checks}
    assert checks["south roof", "string fuses"].result == "not checked"


def test_three_strings_need_fuses(demo: Scenario) -> None:
    """1.25 x 2 x 13.9 = 34.75 A through a string with a fault, above the 25 A of the label."""
    changed = demo.changed({"arrays.0.strings": 3, "arrays.0.modules_in_series": 5})
    checks = {(each.part, each.name): each for each in wiring(changed).checks}
    assert checks["south roof", "string fuses"].result == "fails"
    assert checks["south roof", "string fuses"].value == pytest.approx(34.75)


def test_home_without_the_table_is_refused(demo: Scenario) -> None:
    with pytest.raises(ScenarioError, match=r"wiring: is missing; write a table \[wiring\]"):
        wiring(demo.changed({"wiring": None}))


def test_other_commands_name_what_fails(demo: Scenario, demo_home: Home) -> None:
    assert failure_notes(demo, demo_home) == ()
    old = example("older_roof")
    assert failure_notes(old, home_from(old)) == ("wiring: a design check fails: main panel, busbar (solarsim wiring)",)


def test_size_skips_a_design_whose_string_fails(demo: Scenario) -> None:
    """Thirteen modules make 37.1 x 13 x 1.1026 = 532 V at -13 C, above the 500 V of the input."""
    found = size(demo, {"arrays.0.modules_in_series": [10, 13]})
    assert [each.changes for each in found.designs] == [{"arrays.0.modules_in_series": 10}]
    assert [each.reason for each in found.skipped] == ["wiring: south roof, cold Voc, inverter input"]


def test_circuit_of_an_array_that_is_removed_lapses(demo: Scenario) -> None:
    changed = demo.changed({"arrays.0": None})
    assert [each["array"] for each in changed.tables["wiring"]["pv"]] == ["west roof"]
    with pytest.raises(ScenarioError, match=r"wiring.pv.1st.array"):
        demo.changed({"wiring.pv.0.array": []})
    with pytest.raises(ScenarioError, match="'east roof' is not one of the arrays"):
        demo.changed({"wiring.pv.0.array": "east roof"})


@pytest.mark.published
def test_edition_decides_on_the_capacity_for_what_is_transferred(demo: Scenario, demo_home: Home) -> None:
    """NEC 702.4(A): all that is transferred automatically; from 2026 on, the setting of a listed multimode inverter."""
    name = ("backup", "transferred load capacity")
    controlled = {"wiring.backed_up.load_management": None, "wiring.backed_up.control_kw": 4.0}
    for edition, changes, outcome in (
        (2023, {}, "ok"),  # load management
        (2023, controlled, "fails"),  # 9.5 kW connected, 6 kW rated
        (2026, controlled, "not checked"),
        (2026, {**controlled, "wiring.backed_up.largest_load_kw": 1.9}, "ok"),
        (2026, {**controlled, "wiring.backed_up.largest_load_kw": 2.1}, "fails"),
    ):
        changed = demo.changed({"wiring.edition": edition, **changes})
        assert name in found(wiring(changed, same(changed, demo_home)), outcome), (edition, changes)


def test_transfer_by_hand_is_not_bound(demo: Scenario) -> None:
    at_home = [{"from": "07:00", "to": "22:00"}]
    changed = demo.changed({"arrangement.transfer": "by_hand", "arrangement.at_home": at_home})
    assert ("backup", "transferred load capacity") in found(wiring(changed), "not applicable")
