"""What decided a step: over random hours of random homes, the deciders change the flows and nothing else does."""

from collections.abc import Iterator
from math import inf

import numpy as np
import pytest

from solarsim.engine.records import GRID_ALONE, Cells, Curve, Dispatch, Inputs, Limits, State, Switching
from solarsim.studies.explain._deciders import all_relaxed, deciders_of, relaxations
from solarsim.studies.explain._one_step import OneStep, changes
from tests.builders import limits, orders


def _step(hardware: Limits, pv_kw: float, load_kw: float, stored_kwh: float, **changed: float | bool) -> OneStep:
    """Return a step on the grid."""
    named = orders(**changed)._asdict()
    named |= {"backed_kw": inf, "generator_may_start": False, "tank_filled": False}
    rules = Dispatch(**{name: np.array([named[name]]) for name in Dispatch._fields})
    cells = Cells(np.array([hardware.charge_kw]), np.array([hardware.discharge_kw]), np.zeros(1))
    inputs = Inputs(hardware, rules, GRID_ALONE, cells, np.array([pv_kw]), np.zeros(1), np.array([load_kw]))
    return OneStep(inputs, State(stored_kwh, True), named["export_limit_kw"])


def _random_steps(count: int, seed: int) -> Iterator[OneStep]:
    """Yield steps of homes of many kinds: on the grid and off it, cold cells, AC-coupled solar, a generator, a tank."""
    draw = np.random.default_rng(seed)

    def some(values: list[float]) -> float:
        return float(draw.choice(values))

    for _ in range(count):
        capacity = some([0.0, 5.0, 10.0, 30.0])
        rated = some([3.0, 6.0])
        hardware = Limits(
            step_h=some([1.0, 0.25]),
            curve=Curve(rated, some([0.0, 0.03]), some([0.0, 0.02]), some([0.0, 0.03])),
            standby_kw=some([0.0, 0.05]),
            capacity_kwh=capacity,
            minimum_kwh=0.1 * capacity,
            one_way=some([1.0, 0.95]) if capacity else 1.0,
            kept=some([1.0, 0.9999]),
            charge_kw=some([2.0, 5.0, inf]) if capacity else 0.0,
            discharge_kw=some([2.0, 5.0, inf]) if capacity else 0.0,
            taper_kwh=some([0.0, 0.1]) * capacity,
        )
        hardware = hardware._replace(taper_kwh=0.0) if hardware.charge_kw == inf else hardware
        reserve = some([0.0, 0.1, 0.3, 0.6])
        grid = bool(draw.random() < 0.75)
        named = {
            "surplus_to_battery": bool(draw.random() < 0.6),
            "serves_load": bool(draw.random() < 0.7),
            "reserve": reserve,
            "ceiling": some([1.0, 0.8]),
            "charge_to": some([0.0, 0.0, 0.6, 1.0]),
            "import_cap_kw": some([inf, inf, 1.5]),
            "export_limit_kw": some([inf, 0.0, 2.0]),
            "bias_kw": some([0.0, 0.03]),
            "grid_charge_kw": some([inf, 1.0]),
            "discharge_limit_kw": some([inf, 1.0]),
            "sell_limit_kw": some([inf, 1.0]),
            "backed_up_only": bool(draw.random() < 0.2),
            "off_grid_floor": some([0.0, 0.2]),
            "grid": grid,
            "backed_kw": some([0.4, 10.0]),
            "generator_may_start": bool(draw.random() < 0.7),
            "tank_filled": False,
        }
        named["sell_to"] = 1.0 if named["charge_to"] else some([1.0, 1.0, max(0.3, reserve)])
        rules = Dispatch(**{name: np.array([named[name]]) for name in Dispatch._fields})
        cold = some([1.0, 1.0, 0.5, 0.0])
        cells = Cells(
            np.array([hardware.charge_kw * cold if hardware.charge_kw < inf else inf]),
            np.array([hardware.discharge_kw]),
            np.array([some([0.0, 0.1])]),
        )
        generator = Switching(some([0.0, 2.0]), 0.3, 0.7, some([0.0, 2.0]), 2.0, 1.0, 1.0, some([inf, 5.0]), 0.3, 0.3)
        generator = generator._replace(battery_restart=some([-1.0, 0.3]))
        stored = hardware.minimum_kwh + float(draw.choice([0.0, 0.2, 0.5, 0.9, 1.0, draw.random()])) * 0.9 * capacity
        before = State(
            stored, True, some([0.0, 0.5]), some([0.2, 4.0]), generator.battery_restart > 0 and draw.random() < 0.3
        )
        solar = np.array([some([0.0, 0.3, 1.0, 4.0, 9.0])])
        ac_solar = np.array([some([0.0, 0.0, 0.0, 2.5])])
        load = np.array([some([0.0, 0.4, 1.0, 3.0, 8.0])])
        inputs = Inputs(hardware, rules, generator, cells, solar, ac_solar, load)
        own_kw = named["export_limit_kw"]
        off_grid = {"serves_load": True, "sell_to": 1.0, "export_limit_kw": 2.0} if draw.random() < 0.1 else None
        yield OneStep(inputs, before, own_kw, some([own_kw, inf]), off_grid)


@pytest.mark.parametrize(("hours", "seed"), [(150, 5), pytest.param(2_000, 6, marks=pytest.mark.slow)])
def test_deciders_change_the_flows_and_all_other_limits_together_do_not(hours: int, seed: int) -> None:
    named, alone = 0, 0
    for step in _random_steps(hours, seed):
        was, found = step.run(), deciders_of(step)
        for each in found:
            assert changes(was, all_relaxed(step, each.relaxed).run()) == each.changes_kw
            for left_out in each.relaxed:
                others = [other for other in each.relaxed if other is not left_out]
                assert not changes(was, all_relaxed(step, others).run()), each.keys
            named += 1
        deciding = {key for each in found for key in each.keys}
        known = list(relaxations(step))
        silent = [each for each in known if each.limit and each.key not in deciding]
        assert not changes(was, all_relaxed(step, silent).run()), deciding
        for quiet in known:
            if (quiet.key,) not in {each.keys for each in found}:
                assert not changes(was, quiet.relaxed(step).run())
        alone += not found
    assert named > hours
    assert 0 < alone < hours / 2  # hours that the sun and the load alone decide


def test_reserve_holds_the_battery() -> None:
    # By hand: 2.5 kWh stored, reserve 2 kWh of 10: 0.5 kW of 2 kW; without it 1.5 kW down to 1 kWh, the low cutoff.
    found = deciders_of(_step(limits(), 0.0, 2.0, 2.5))
    by_key = {each.keys: each.changes_kw for each in found}
    assert by_key[("reserve",)] == pytest.approx({"battery_to_load_kw": 1.0, "grid_to_load_kw": -1.0})
    assert ("battery.low_cutoff",) not in by_key


def test_empty_battery_is_named_where_no_reserve_is_above_its_cutoff() -> None:
    # By hand: 1.5 kWh stored, low cutoff 1 kWh: 0.5 kW of 2 kW; with more stored all of it.
    found = deciders_of(_step(limits(), 0.0, 2.0, 1.5, reserve=0.1))
    by_key = {each.keys: each.changes_kw for each in found}
    assert by_key[("battery.low_cutoff",)] == pytest.approx({"battery_to_load_kw": 1.5, "grid_to_load_kw": -1.5})


def test_full_battery_and_export_limit_curtail() -> None:
    # By hand: 3 kW of sun, no load, 9 kWh of 10 stored: 1 kW charges, 1 kW is exported, 1 kW is curtailed.
    found = deciders_of(_step(limits(), 3.0, 0.0, 9.0, export_limit_kw=1.0))
    by_key = {each.keys: each.changes_kw for each in found}
    assert by_key[("battery_full",)]["pv_to_battery_kw"] == pytest.approx(2.0)
    assert by_key[("export_limit_kw",)] == pytest.approx({"pv_to_grid_kw": 1.0, "curtailed_kw": -1.0})


def test_limits_at_the_same_point_are_named_together() -> None:
    # By hand: the order to charge is held to 2 kW twice, by the setting and by the battery.
    hardware = limits(charge_kw=2.0)
    found = deciders_of(_step(hardware, 0.0, 0.0, 5.0, charge_to=1.0, grid_charge_kw=2.0))
    assert ("grid_charge_kw", "charge_power") in {each.keys for each in found}


def _keys(step: OneStep) -> set[tuple[str, ...]]:
    return {each.keys for each in deciders_of(step)}


def test_utility_and_strategy_limit_of_export_are_told_apart() -> None:
    step = _step(limits(), 5.0, 0.0, 10.0, export_limit_kw=1.0)
    assert ("export_limit_kw",) in _keys(step._replace(utility_export_kw=2.0))
    assert ("grid.export_limit_kw",) in _keys(step._replace(own_export_kw=2.0, utility_export_kw=1.0))
    assert ("export_limit_kw", "grid.export_limit_kw") in _keys(step._replace(utility_export_kw=1.0))
    # By hand: 5 kW of sun and a full battery; without its own limit of 1 kW the home exports the utility's 2 kW.
    found = {each.keys: each.changes_kw for each in deciders_of(step._replace(utility_export_kw=2.0))}
    assert found[("export_limit_kw",)] == pytest.approx({"pv_to_grid_kw": 1.0, "curtailed_kw": -1.0})


def test_an_order_to_charge_that_is_fulfilled_decides_nothing() -> None:
    # 7 kWh of 10 are stored, 60% are ordered: sun and battery serve the home as they would without the order.
    for pv_kw in (0.0, 0.5, 3.0):
        assert not {keys for keys in _keys(_step(limits(), pv_kw, 1.0, 7.0, charge_to=0.6)) if "charge_from" in keys[0]}


def test_an_order_to_charge_decides_by_being_there_and_by_its_level() -> None:
    # By hand: from 5 kWh to 60% of 10 kWh the grid adds 1 kW; without the order none, with 100% 3 kW (battery).
    found = deciders_of(_step(limits(), 0.0, 0.0, 5.0, charge_to=0.6))
    by_kw = [each.changes_kw["grid_to_battery_kw"] for each in found if each.keys == ("charge_from_grid_to",)]
    assert by_kw == pytest.approx([-1.0, 2.0])


def test_a_floor_and_an_order_to_charge_at_the_same_level_are_named_together() -> None:
    # By hand: 6 kWh of 10 are stored, and both hold them; without either the battery serves 1 kW.
    step = _step(limits(), 0.0, 1.0, 6.0, reserve=0.6, charge_to=0.6)
    found = {each.keys: each.changes_kw for each in deciders_of(step)}
    assert found[("reserve", "charge_from_grid_to")] == pytest.approx(
        {"battery_to_load_kw": 1.0, "grid_to_load_kw": -1.0}
    )
    not_serving = _step(limits(), 0.0, 1.0, 6.0, charge_to=0.6, serves_load=False)
    assert ("charge_from_grid_to", "battery_serves_load") in _keys(not_serving)


def test_what_the_grid_serves_is_of_the_grid_also_in_an_outage() -> None:
    # By hand: an empty battery and no sun: 1 kW is unserved, which the grid would serve.
    step = _step(limits(), 0.0, 1.0, 1.0, grid=False)
    found = {each.keys: each.changes_kw for each in deciders_of(step)}
    assert found[("grid",)] == pytest.approx({"grid_to_load_kw": 1.0, "unserved_kw": -1.0})
