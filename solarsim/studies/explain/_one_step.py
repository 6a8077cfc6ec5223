"""One step of a year, to be run again: a year and the number of a step in, the same engine on that step alone out."""

from collections.abc import Mapping
from math import inf
from typing import Any, NamedTuple

import numpy as np

from solarsim.engine.records import GENERATOR, GRID, UNKNOWN, Cells, Dispatch, Floats, Hour, Inputs, State
from solarsim.engine.step import run_steps
from solarsim.engine.year import Year

_SAME_KW = 1e-6
#: Columns that say who served whom; losses and stored energy follow from them.
_FLOWS = [name for name in Hour._fields if name.endswith("_kw") and name not in ("losses_kw", "temperature_blocked_kw")]
_SOURCE = Hour._fields.index("source")
_PLACES = [Hour._fields.index(name) for name in _FLOWS]


class OneStep(NamedTuple):
    """A step: its inputs, every array with one entry, and the state before it.

    The order ``export_limit_kw`` is the lower one of two limits, which are kept apart here. ``if_hybrid`` holds what
    the strategy would order on the grid where the home is off it by its arrangement.
    """

    inputs: Inputs
    before: State
    own_export_kw: float = inf
    utility_export_kw: float = inf
    if_hybrid: Mapping[str, float | bool] | None = None

    def run(self) -> Floats:
        """Return the columns of ``Hour`` for the step."""
        table = np.empty((1, len(Hour._fields)))
        run_steps(self.inputs, self.before, table, UNKNOWN)
        return table.ravel()

    def ordered(self, **orders: float | bool) -> "OneStep":
        """Return the step under other orders, by the names of ``Dispatch``."""
        rules = self.inputs.dispatch
        arrays = {name: np.full_like(getattr(rules, name), value) for name, value in orders.items()}
        return self._replace(inputs=self.inputs._replace(dispatch=rules._replace(**arrays)))

    def exporting(self, **limits_kw: Any) -> "OneStep":
        """Return the step with another limit of export, ``own_export_kw`` or ``utility_export_kw``."""
        other = self._replace(**limits_kw)
        return other.ordered(export_limit_kw=min(other.own_export_kw, other.utility_export_kw))

    def limited(self, **limits: Any) -> "OneStep":
        """Return the step with other hardware limits, by the names of ``Limits``."""
        return self._replace(inputs=self.inputs._replace(limits=self.inputs.limits._replace(**limits)))

    def switched(self, **levels: float) -> "OneStep":
        """Return the step with another generator or other levels, by the names of ``Switching``."""
        return self._replace(inputs=self.inputs._replace(switching=self.inputs.switching._replace(**levels)))

    def order(self, name: str) -> float:
        """Return one order of the step."""
        return float(getattr(self.inputs.dispatch, name)[0])

    @property
    def on_grid(self) -> bool:
        """Whether the home is on the grid in the step."""
        return self.run()[_SOURCE] not in (0.0, GENERATOR)

    @property
    def cutoff(self) -> float:
        """The low cutoff as a state of charge, 0-1; 0 without a battery."""
        limits = self.inputs.limits
        return limits.minimum_kwh / limits.capacity_kwh if limits.capacity_kwh > 0.0 else 0.0


def step_of(year: Year, number: int) -> OneStep:
    """Return one step of a year that was run: the steps before it are run again for the state that they leave."""
    before = year.start
    if number:
        earlier = _between(year.inputs, 0, number)
        before = run_steps(earlier, before, np.empty((number, len(Hour._fields))), UNKNOWN)
    return OneStep(_between(year.inputs, number, number + 1), before)


def changes(was: Floats, other: Floats) -> dict[str, float]:
    """Return how the flows of two runs of a step differ, by the names of the hourly table [kW]; empty where not."""
    before, after = _flows(was), _flows(other)
    found = {name: after.get(name, 0.0) - before.get(name, 0.0) for name in {**before, **after}}
    return {name: by_kw for name, by_kw in found.items() if abs(by_kw) > _SAME_KW}


def _flows(row: Floats) -> dict[str, float]:
    """Return the flows of a run; what the source gave comes from the grid or from a generator."""
    source = "grid" if row[_SOURCE] % GENERATOR == GRID else "generator"
    return {name.replace("source", source): float(row[place]) for name, place in zip(_FLOWS, _PLACES, strict=True)}


def _between(inputs: Inputs, first: int, end: int) -> Inputs:
    """Return the inputs of some steps of a year."""
    return inputs._replace(
        dispatch=Dispatch._make(array[first:end] for array in inputs.dispatch),
        cells=Cells._make(array[first:end] for array in inputs.cells),
        pv_kw=inputs.pv_kw[first:end],
        ac_solar_kw=inputs.ac_solar_kw[first:end],
        load_kw=inputs.load_kw[first:end],
    )
