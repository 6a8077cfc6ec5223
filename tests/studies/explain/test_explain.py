"""Why the battery did that: real homes, hours of their strategies."""

from typing import Any

import numpy as np
import pytest

from solarsim.dispatch.strategy import dispatch_from
from solarsim.engine.records import Dispatch
from solarsim.engine.year import run_year
from solarsim.errors import ScenarioError
from solarsim.home import Home
from solarsim.scenario.model import Scenario
from solarsim.studies.explain._deciders import deciders_of
from solarsim.studies.explain._one_step import changes, step_of
from solarsim.studies.explain.explain import Explanation, explain, step_at, step_under
from tests.homes_without_grid import storm, storm_home


def _hours(home: Home, seed: int, count: int) -> list[int]:
    return [int(each) for each in np.random.default_rng(seed).choice(len(home.timeline), count, replace=False)]


def _at(home: Home, number: int) -> str:
    """Return the time of a step with its offset, which no clock change makes ambiguous."""
    return home.timeline.labels[number]


@pytest.mark.parametrize("seed", [1])
def test_a_step_run_again_has_the_flows_of_its_year(demo_home: Home, seed: int) -> None:
    for home in (demo_home, storm_home()):
        for name in home.dispatches:
            year = run_year(home.inputs(name))
            for number in [0, *_hours(home, seed, 5)]:
                assert np.array_equal(step_of(year, number).run(), year.table[number])


def test_flows_are_the_row_of_the_hourly_table(demo: Scenario, demo_home: Home) -> None:
    from solarsim.run import simulate

    table = simulate(demo, "zero export", demo_home).hourly()
    for number in _hours(demo_home, 2, 3):
        found = explain(demo, "zero export", _at(demo_home, number), demo_home)
        row = table.iloc[number]
        assert found.flows == pytest.approx({name: row[name] for name in found.flows})
        assert found.soc_before == pytest.approx(table["soc"].iloc[number - 1])


@pytest.mark.parametrize(
    ("strategy", "key", "written"),
    [
        ("serve the home first", "reserve", {"reserve": 0.1}),
        ("hold for the peak", "battery_serves_load", {"battery_serves_load": True}),
        ("zero export", "export_limit_kw", {"export_limit_kw": None, "zero_export_bias_kw": None}),
        ("winter night charge", "charge_from_grid_to", {"windows.0.charge_from_grid_to": None}),
    ],
)
def test_a_key_changed_in_the_file_changes_the_steps_that_name_it_and_no_others(
    demo: Scenario, demo_home: Home, strategy: str, key: str, written: dict[str, Any]
) -> None:
    other = demo.changed({f'strategies."{strategy}".{path}': value for path, value in written.items()})
    rules = dispatch_from(other.strategy(strategy), other.grid, demo_home.timeline)
    year = run_year(demo_home.inputs(strategy))
    seen = set()
    for number in _hours(demo_home, 3, 150):
        step = step_under(step_of(year, number), demo, demo_home, demo.strategy(strategy))
        if (step.order("charge_to") > 0.0) != (key == "charge_from_grid_to"):
            continue
        if key == "battery_serves_load" and step.order("serves_load"):
            continue  # in a window of its own
        one = Dispatch._make(array[number : number + 1] for array in rules)
        one = one._replace(backed_kw=step.inputs.dispatch.backed_kw, bias_kw=step.inputs.dispatch.bias_kw)
        differs = bool(changes(step.run(), step._replace(inputs=step.inputs._replace(dispatch=one)).run()))
        named = (key,) in {each.keys for each in deciders_of(step)}
        assert differs == named, number
        seen.add(differs)
    assert seen == {True, False}


def test_governing_window_and_its_line(demo: Scenario, demo_home: Home) -> None:
    held = explain(demo, "winter night charge", "2026-01-12T02:00", demo_home)
    assert (held.window, held.window_words) == (1, "Nov-Feb 23:00-05:00")
    assert demo.read_from is not None
    lines = demo.read_from.read_text(encoding="utf-8").splitlines()
    assert held.line is not None
    assert "charge_from_grid_to" in "".join(lines[held.line - 1 : held.line + 3])
    base = explain(demo, "winter night charge", "2026-07-12T12:00", demo_home)
    assert (base.window, base.window_words) == (None, "")
    assert base.line is not None
    assert lines[base.line - 1] == "[[strategies]]"


def test_outage_of_the_storm_coast_is_decided_by_the_grid() -> None:
    scenario, home = storm(), storm_home()
    out = int(np.flatnonzero(~home.dispatches[scenario.strategies[0].name].grid)[0])
    found = explain(scenario, None, _at(home, out), home)
    assert not found.on_grid
    assert found.in_transfer
    assert not explain(scenario, None, _at(home, out + 1), home).in_transfer
    assert ("grid",) in {each.keys for each in found.decisions}


@pytest.mark.slow
def test_foresight_is_a_row_of_the_same_hour(demo: Scenario, demo_home: Home) -> None:
    found = explain(demo, None, "2026-07-03T18:00", demo_home, best=True)
    assert found.foresight is not None
    for given in ("load_kw", "pv_available_kw", "import_price"):
        assert found.foresight[given] == found.flows[given]
    # Perfect foresight does not import at the highest price what the battery could have served.
    assert found.foresight["grid_to_load_kw"] < found.flows["grid_to_load_kw"]
    assert found.foresight_soc_before is not None
    assert found.soc_before is not None
    assert found.foresight_soc_before > found.soc_before  # what it serves was kept until then


def test_times_are_of_the_wall_clock(demo_home: Home) -> None:
    timeline = demo_home.timeline
    at = step_at(timeline, "2026-07-03T18:20")
    assert timeline.wall[at] == np.datetime64("2026-07-03T18:00")
    assert step_at(timeline, "2026-07-03T18:20-04:00") == at
    assert step_at(timeline, "2026-07-03T17:20-05:00") == at
    # 1 November 2026: 01:30 comes twice; the offset says which.
    first = step_at(timeline, "2026-11-01T01:30")
    assert step_at(timeline, "2026-11-01T01:30-05:00") == first + 1


@pytest.mark.parametrize(
    ("time", "told"),
    [
        ("2025-07-03T18:00", "is not in 2026, the calendar year of the scenario"),
        ("2026-03-08T02:30", "skips this time"),
        ("2026-13-01T00:00", "must be a date and time by the wall clock, for example 2026-07-03T18:00"),
        ("tomorrow", "must be a date and time"),
    ],
)
def test_times_that_are_not_in_the_year(demo_home: Home, time: str, told: str) -> None:
    with pytest.raises(ScenarioError, match=told):
        step_at(demo_home.timeline, time)


def test_record_is_plain(demo: Scenario, demo_home: Home) -> None:
    found = explain(demo, None, "2026-07-03T18:00", demo_home)
    assert isinstance(found, Explanation)
    record = found.record()
    assert record["foresight"] is None
    assert record["decisions"][0]["keys"] == ["reserve"]
    assert list(found.table().index) == [("reserve",)] or found.table().shape[0] == 1


def test_what_decides_together_is_compared_in_the_same_order(demo: Scenario, demo_home: Home) -> None:
    # At night the battery is at 70%, and neither the order to charge nor the setting lets it serve the home.
    found = explain(demo, "winter night charge", "2026-01-12T01:00", demo_home)
    (both,) = (each for each in found.decisions if len(each.keys) == 2)
    assert both.keys == tuple(both.compared_with) == ("charge_from_grid_to", "battery_serves_load")
    assert both.compared_with == {"charge_from_grid_to": "0", "battery_serves_load": "true"}
