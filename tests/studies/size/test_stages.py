"""Growth in stages: gains add up, each stage bears its own cost, new strings are beside aged ones."""

import pytest

from solarsim.home import Home
from solarsim.scenario.model import Scenario
from solarsim.studies.life.life import life
from solarsim.studies.size.size import Size, size
from tests.studies.lives import other_life
from tests.studies.size.homes import LIFE, ROOF, flat_home, home_like

CELLS = {"name": "cells", "per": "cell", "unit_price": 8.0, "of": "cells"}
MODULES = {"name": "modules", "per": "module", "unit_price": 120.0, "of": "modules"}


def grown(scenario: Scenario) -> Size:
    return size(scenario, None, home_like(scenario), stages=True)


def growing(**limits: object) -> Scenario:
    """Return a home that pays to grow, on a face with little room."""
    table = {"faces": [{"arrays": ["roof"], "most_modules": 11}], **limits}
    return flat_home(costs={"parts": [CELLS, MODULES]}, size=table)


def test_gains_of_stages_add_up_to_the_difference_of_the_ends() -> None:
    found = grown(growing())
    assert found.stages
    last = found.stages[-1]
    assert (found.written.npv or 0.0) + sum(each.npv_gain or 0.0 for each in found.stages) == pytest.approx(last.npv)
    assert last.total_cost == pytest.approx(found.written.upfront_cost + sum(each.cost for each in found.stages))
    end = {key: value for each in found.stages for key, value in each.changes.items()}
    alone = life(growing().changed(end)).best
    assert alone is not None
    assert last.npv == pytest.approx(alone.npv)
    assert end[ROOF] == 11


def test_stages_begin_with_the_shortest_payback_and_end_where_no_step_pays() -> None:
    found = grown(growing())
    paying = [each for each in found.next_steps if each.more and each.payback_years and (each.npv_gain or 0.0) > 0.0]
    assert found.stages
    assert found.stages[0].name == min(paying, key=lambda each: each.payback_years or 0.0).name
    assert all((each.npv_gain or 0.0) > 0.0 for each in found.stages)


@pytest.mark.by_hand
def test_a_stage_bears_its_own_permit() -> None:
    """One more module of 120 and a permit of 30: 150; a permit above all gains ends the growth at once."""
    found = grown(growing(stage_cost=30.0))
    assert found.stages
    assert next(each.cost for each in found.stages if ROOF in each.changes) == pytest.approx(150.0)
    assert grown(growing(stage_cost=100_000.0)).stages == ()


@pytest.mark.slow
def test_a_later_stage_is_a_dated_change_with_new_modules_beside_the_old() -> None:
    home = growing(stage_years=2).changed({"life": {**LIFE, "panel_degradation_per_year": 0.02}})
    found = grown(home)
    assert found.stages
    first = found.stages[0]
    assert first.year == 3
    sets = [f"{key}={value}" for key, value in first.changes.items()]
    change = {"name": "later", "year": 3, "set": sets, "cost": first.cost}
    alone = life(home.changed({"life.changes": [change]})).best
    assert alone is not None
    assert first.npv == pytest.approx(alone.npv)


def test_a_later_stage_keeps_to_the_inverters_voltage(demo_home: Home) -> None:
    """The demo's south roof has at most 12 modules in series below the inverter's 500 V on the coldest morning."""
    scenario, _ = other_life(demo_home, years=3)
    scenario = scenario.changed(
        {"arrays.0.modules_in_series": 12, "size.stage_years": 1, "costs.parts.0.unit_price": 0}
    )
    found = size(scenario, stages=True)
    assert any("cold Voc" in each.reason for each in found.impossible_steps)
    assert found.stages is not None
    assert not [each for each in found.stages if each.name == "south roof: one more module"]
