"""What is said of a changed setting is true of the changed file: random strategies, hours and stored energy."""

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from solarsim.dispatch.strategy import dispatch_from
from solarsim.dispatch.supply import with_supply
from solarsim.engine.records import Dispatch, State
from solarsim.home import Home, home_from
from solarsim.scenario.model import Scenario
from solarsim.scenario.strategy import Strategy
from solarsim.studies.explain._deciders import deciders_of
from solarsim.studies.explain._names import Names
from solarsim.studies.explain._one_step import OneStep, _between, changes
from solarsim.studies.explain.explain import step_under
from tests.builders import scenario

#: What switches a setting off, whatever its value is.
_OFF: Mapping[str, Any] = {
    "solar_ceiling": 1.0, "charge_from_grid_to": 0.0, "sell_down_to": 1.0, "import_cap_kw": None,
    "export_limit_kw": None, "grid_charge_kw": None, "grid_charge_a": None, "discharge_limit_kw": None,
    "discharge_limit_a": None, "sell_limit_kw": None, "zero_export_bias_kw": 0.0, "load_served": "home",
    "grid.export_limit_kw": None,
}  # fmt: skip
_WINDOW_KEYS = set(Strategy.model_fields) - {"name", "windows", "zero_export_bias_kw"}


def _random_settings(draw: np.random.Generator) -> dict[str, Any]:
    """Return settings of a strategy that are valid."""

    def some(*values: Any) -> Any:
        return values[int(draw.integers(len(values)))]

    reserve = some(0.1, 0.1, 0.3, 0.6)
    charge_to = some(0.0, 0.0, 0.3, 0.6, 1.0)
    limits = {
        "import_cap_kw": some(None, None, 0.8),
        "export_limit_kw": some(None, 0.0, 1.0, 3.0),
        "grid_charge_kw": some(None, None, 1.0),
        "grid_charge_a": some(None, 10.0),
        "discharge_limit_kw": some(None, None, 0.5),
        "sell_limit_kw": some(None, 1.0),
    }
    if limits["grid_charge_kw"] is not None:
        limits["grid_charge_a"] = None
    return {
        "name": "any",
        "surplus_to": some("battery", "grid"),
        "battery_serves_load": some(True, True, False),
        "reserve": reserve,
        "solar_ceiling": some(1.0, max(0.7, reserve)),
        "charge_from_grid_to": charge_to,
        "sell_down_to": some(1.0, max(reserve, charge_to), max(0.7, charge_to)),
        "off_grid_floor": some(0.0, reserve),
        "zero_export_bias_kw": some(0.0, 0.03) if limits["export_limit_kw"] == 0.0 else 0.0,
        "load_served": some("home", "backed_up"),
        **{key: value for key, value in limits.items() if value is not None},
    }


def _orders_of(home: Scenario, known: Home, number: int) -> Dispatch:
    """Return the orders of one step as the changed file gives them; all else is as in the home that is known."""
    connected = home.arrangement is None or home.arrangement.kind != "off_grid"
    rules = dispatch_from(home.strategies[0], home.grid, known.timeline, home.battery_v)
    assert known.supply is not None
    laid = with_supply(rules, replace(known.supply, stays_connected=connected))
    return Dispatch._make(array[number : number + 1] for array in laid)


def _changed(home: Scenario, settings: Mapping[str, Any], changed: Mapping[str, Any], hour: np.datetime64) -> Scenario:
    """Return the file in which one hour has a window of its own, with some settings changed or left out."""
    merged = {**settings, **{key: value for key, value in changed.items() if "." not in key}}
    merged = {key: value for key, value in merged.items() if value is not None}
    start, day = str(hour)[11:16], str(hour)[5:10]
    window = {key: value for key, value in merged.items() if key in _WINDOW_KEYS}
    window |= {"from": start, "to": f"{int(start[:2]) + 1:02d}:00", "dates": {"from": day, "to": day}}
    base = {key: value for key, value in settings.items() if changed.get(key, "kept") is not None}
    base["zero_export_bias_kw"] = merged.get("zero_export_bias_kw", 0.0)
    if "export_limit_kw" not in base:
        base["zero_export_bias_kw"] = 0.0  # refused without a limit of 0
    beside = {key: value for key, value in changed.items() if key.startswith("arrangement.")}
    if "grid.export_limit_kw" in changed:
        beside["grid"] = None
    return home.changed({"strategies": [{**base, "windows": [window]}], **beside})


HYBRID = {"kind": "hybrid", "backed_up": "critical", "transfer": "automatic", "transfer_seconds": 5.0}
HOMES: dict[str, dict[str, Any]] = {
    "hybrid": {"arrangement": HYBRID, "grid": {"export_limit_kw": 1.0}},
    "off the grid": {"arrangement": {**HYBRID, "kind": "off_grid", "grid": "first"}},
}


@pytest.mark.parametrize("kind", HOMES)
@pytest.mark.parametrize(("count", "seed"), [(90, 1), pytest.param(1_500, 2, marks=pytest.mark.slow)])
def test_the_changed_file_has_the_flows_that_are_told(kind: str, count: int, seed: int) -> None:
    home = scenario(**HOMES[kind], load__critical_share=0.4, battery__nominal_v=50.0)
    known, draw, seen = home_from(home), np.random.default_rng(seed), set[tuple[str, ...]]()
    daytime = [number for number in range(len(known.timeline)) if str(known.timeline.wall[number])[11:13] != "23"]
    for _ in range(count):
        raw, number = _random_settings(draw), int(draw.choice(daytime))
        hour, own = known.timeline.wall[number], home.changed({"strategies": [raw]})
        inputs = known.inputs(home.strategies[0].name)
        one = _between(inputs, number, number + 1)._replace(dispatch=_orders_of(own, known, number))
        limits = one.limits
        shares = [0.1, 0.3, 0.6, 0.7, 1.0, draw.uniform(0.1, 1.0)]
        now = OneStep(one, State(float(draw.choice(shares)) * limits.capacity_kwh, True))
        step, names = step_under(now, own, known, own.strategies[0]), Names(own, own.strategies[0])

        def differs(
            changed: Mapping[str, Any], raw: dict[str, Any] = raw, number: int = number, now: OneStep = now
        ) -> dict[str, float]:
            other = _changed(home, raw, changed, known.timeline.wall[number])
            orders = _orders_of(other, known, number)
            return changes(now.run(), now._replace(inputs=now.inputs._replace(dispatch=orders)).run())

        assert differs({}) == {}, hour
        found = deciders_of(step)
        for each in found:
            told = names.compared_with(step, each)
            if len(told) == len({names.of(step, key)[0] for key in each.keys} | set(told)):
                assert differs({key: _read(value) for key, value in told.items()}) == pytest.approx(each.changes_kw)
                seen.add(each.keys)
        alone = {names.of(step, each.keys[0])[0] for each in found if len(each.keys) == 1}
        for key, off in _OFF.items():
            if kind != "hybrid" and key == "export_limit_kw":
                continue  # the small import of zero export is refused without it, and a home off the grid never exports
            if key in raw or (key == "grid.export_limit_kw" and home.grid is not None):
                assert bool(differs({key: off})) == (key in alone), (key, hour)
    assert kind == "hybrid" or ("arrangement.kind",) in seen
    if count > 1000 and kind == "hybrid":
        assert {key for keys in seen for key in keys} == (set(_OFF) | _REQUIRED) - _IN_AMPERE
        assert any(len(keys) > 1 and "charge_from_grid_to" in keys for keys in seen)


_REQUIRED = {"surplus_to", "battery_serves_load", "reserve"}
_IN_AMPERE = {"grid_charge_a", "discharge_limit_a"}  # as orders they have the names of those in kW


def _read(value: str) -> Any:
    """Return a value as a program reads it from the file; None where it is left out."""
    if not value:
        return None
    bare = value.removesuffix(" kW").removesuffix(" A")
    return (
        bare if bare.replace("_", "").isalpha() and bare not in ("true", "false") else tomllib.loads(f"x = {bare}")["x"]
    )
