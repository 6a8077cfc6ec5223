"""What a step's orders and limits are called in the scenario: the engine's names in, keys and their values out."""

from collections.abc import Callable
from math import inf
from typing import NamedTuple

from solarsim.hardware.limits import power_limits
from solarsim.scenario.model import Scenario
from solarsim.scenario.strategy import Strategy
from solarsim.studies.explain._deciders import Decider, all_relaxed
from solarsim.studies.explain._one_step import OneStep

_CELLS = {"cells_charge": "charge", "cells_discharge": "discharge"}
#: Settings of the strategy, and the utility's own limit: their values in a step.
_ORDERS: dict[str, Callable[[OneStep], float]] = {
    "surplus_to": lambda step: step.order("surplus_to_battery"),
    "battery_serves_load": lambda step: step.order("serves_load"),
    "reserve": lambda step: step.order("reserve"),
    "solar_ceiling": lambda step: step.order("ceiling"),
    "charge_from_grid_to": lambda step: step.order("charge_to"),
    "sell_down_to": lambda step: step.order("sell_to"),
    "import_cap_kw": lambda step: step.order("import_cap_kw"),
    "export_limit_kw": lambda step: step.own_export_kw,
    "grid.export_limit_kw": lambda step: step.utility_export_kw,
    "zero_export_bias_kw": lambda step: step.order("bias_kw"),
    "grid_charge_kw": lambda step: step.order("grid_charge_kw"),
    "discharge_limit_kw": lambda step: step.order("discharge_limit_kw"),
    "sell_limit_kw": lambda step: step.order("sell_limit_kw"),
    "load_served": lambda step: step.order("backed_up_only"),
    "off_grid_floor": lambda step: step.order("off_grid_floor"),
}
_WORDS = {
    "surplus_to": ("grid", "battery"),
    "battery_serves_load": ("false", "true"),
    "load_served": ("home", "backed_up"),
}
#: Other keys that are compared with a value of their own.
_REPLACED = {"arrangement.kind": "hybrid", "battery.taper_from": "1", "generator.least_run_h": "0"}


class Names(NamedTuple):
    """The scenario, and the settings in force in a step: what its orders and limits are called there."""

    scenario: Scenario
    settings: Strategy

    def of(self, step: OneStep, key: str) -> tuple[str, str]:
        """Return the key of the scenario that an order or a limit comes from, and its value in the step."""
        inputs, battery = step.inputs, self.scenario.battery_in_use
        way = {"charge_power": "charge", "discharge_power": "discharge"}.get(key)
        if way is not None and battery is not None:
            limits = power_limits(self.scenario.inverter, battery, "charge" if way == "charge" else "discharge")
            key = min(limits, key=lambda name: limits[name])
            return key, f"{limits[key]:.3g} kW"
        if key in _CELLS:
            return key, f"{float(getattr(inputs.cells, f'{_CELLS[key]}_kw')[0]):.3g} kW"
        if key == "battery.low_cutoff":
            return key, f"{step.cutoff:g}"
        if key == "arrangement" and self.scenario.arrangement is not None:
            critical = self.scenario.arrangement.critical_only
            return (
                ("arrangement.backed_up", "critical")
                if critical
                else ("arrangement.kind", self.scenario.arrangement.kind)
            )
        if key in _ORDERS:
            return self._written(key), self._value(step, key)
        value = self.scenario.value(key) if "." in key else None
        told = f"{value:g}" if isinstance(value, float) else str(value)
        return key, "" if value is None or isinstance(value, tuple) else told

    def compared_with(self, step: OneStep, decider: Decider) -> dict[str, str]:
        """Return the settings with which a step was run again, by their keys; "" where one was left out."""
        settings = [each for each in decider.relaxed if each.key in _ORDERS]
        other = all_relaxed(step, settings)
        found = {
            self._written(key): self._value(other, key) for key, order in _ORDERS.items() if order(step) != order(other)
        }
        keys = [self._written(each.key) for each in settings]
        found = dict(sorted(found.items(), key=lambda each: keys.index(each[0]) if each[0] in keys else len(keys)))
        known = {each.key: _REPLACED[each.key] for each in decider.relaxed if each.key in _REPLACED}
        return found | known

    def _written(self, key: str) -> str:
        """Return a key in the unit in which the strategy has it."""
        in_ampere = f"{key.removesuffix('_kw')}_a"
        return in_ampere if getattr(self.settings, in_ampere, None) is not None else key

    def _value(self, step: OneStep, key: str) -> str:
        """Return the value of a setting in a step; empty where it is no limit."""
        value, written = _ORDERS[key](step), self._written(key)
        if value == inf:
            return ""
        if written.endswith("_a"):
            return f"{getattr(self.settings, written):g} A"
        if key in _WORDS:
            return _WORDS[key][bool(value)]
        return f"{value:.6g} kW" if key.endswith("_kw") else f"{value:.6g}"
