"""The sum of a fleet: the flows of homes in; what all of them import, export and store in each step of a UTC year out.

Powers are added as whole multiples of 2^-36 kW (0.015 uW): whole numbers have the same sum in any order, so that it
does not depend on who added which homes first. There is room for 134 GW.

The year is a circle: a step of a home's year that UTC puts before its start or beyond its end counts at the other end.
29 February is in no year.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from math import gcd
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.errors import MachineError
from solarsim.ledger.flows import Flows

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

#: What is added up, in this order.
COLUMNS = ("load_kw", "pv_available_kw", "charge_kw", "discharge_kw", "import_kw", "export_kw")
UNIT_KW = 2.0**-36
_PER_KW = 2.0**36
_MOST = 2**62
_MINUTES_OF_YEAR = 365 * 24 * 60
MOST_NAMES = 64


class Key(NamedTuple):
    """Whose sum it is: ``baseline``, ``lowest`` (each home's strategy of the lowest cost) or a ``strategy``."""

    kind: str
    name: str


BASELINE, LOWEST = Key("baseline", ""), Key("lowest", "")


@dataclass(eq=False)
class Total:
    """The sum of some homes; powers in units of ``UNIT_KW``.

    Attributes
    ----------
    homes : int
        How many.
    import_peaks, export_peaks : int
        Sum of each home's own highest import and export.
    values : array of int
        One row for each of ``COLUMNS``, one column for each step of the UTC year.
    """

    homes: int
    import_peaks: int
    export_peaks: int
    values: Ints

    def kw(self, column: str) -> Floats:
        """Return one column [kW]."""
        return np.asarray(self.values[COLUMNS.index(column)] * UNIT_KW, np.float64)


@dataclass(eq=False)
class FleetSums:
    """Sums of a fleet on the circle of a UTC year.

    Attributes
    ----------
    year : int
        Calendar year of the fleet.
    minutes : int
        Length of a step; it becomes finer where a home's steps or its offset from UTC need it.
    totals : dict of Key to Total
        By kind and name.
    too_many : bool
        Whether there were more than ``MOST_NAMES`` names of strategies: they are then not added up.
    """

    year: int
    minutes: int = 60
    totals: dict[Key, Total] = field(default_factory=dict)
    too_many: bool = False

    def add(self, flows: Flows, keys: Iterable[Key]) -> None:
        """Add one year of one home, under several keys.

        Parameters
        ----------
        flows : Flows
            Its steps.
        keys : iterable of Key
            What it counts as.
        """
        timeline = flows.timeline
        self.refine(needed_minutes(timeline))
        each = round(60 * timeline.step_h) // self.minutes
        shift = (_weekday_shift(timeline.year, self.year) * 1440 - round(60 * timeline.utc_offset_h)) // self.minutes
        columns = (flows["load_kw"], flows["pv_available_kw"], flows.battery_change_kwh / timeline.step_h)
        scaled = np.zeros((len(COLUMNS), _MINUTES_OF_YEAR // self.minutes), np.int64)
        peaks = _place(scaled, shift, each, _PER_KW, *columns, flows["import_kw"], flows["export_kw"])
        for key in keys:
            total = self._total(key)
            if total is not None:
                total.homes += 1
                total.import_peaks += int(peaks[0])
                total.export_peaks += int(peaks[1])
                total.values += scaled

    def merge(self, other: "FleetSums") -> None:
        """Add the sums of other homes.

        Parameters
        ----------
        other : FleetSums
            Of the same year.

        Raises
        ------
        MachineError
            The sum is beyond what the numbers can hold.
        """
        self.refine(other.minutes)
        other.refine(self.minutes)
        if other.too_many:
            self._drop_strategies()
        for key, more in other.totals.items():
            total = self._total(key)
            if total is None:
                continue
            total.homes += more.homes
            total.import_peaks += more.import_peaks
            total.export_peaks += more.export_peaks
            total.values += more.values
            if total.values.max() > _MOST:
                raise MachineError("the sum of the fleet is beyond 67 GW, more than can be added up")

    def refine(self, minutes: int) -> None:
        """Lay the sums on finer steps: a mean power holds in every part of its step.

        Parameters
        ----------
        minutes : int
            Length that the steps must be a multiple of [min].
        """
        finer = gcd(self.minutes, minutes)
        if finer != self.minutes:
            for total in self.totals.values():
                total.values = np.repeat(total.values, self.minutes // finer, axis=1)
            self.minutes = finer

    def starts(self) -> NDArray[np.datetime64]:
        """Return the start of each step, UTC, 29 February left out."""
        count = _MINUTES_OF_YEAR // self.minutes
        step = np.timedelta64(self.minutes * 60, "s")
        found = np.datetime64(f"{self.year}-01-01", "s") + np.arange(count) * step
        leap = np.datetime64(f"{self.year}-02-28", "D") + 1 != np.datetime64(f"{self.year}-03-01", "D")
        after = found >= np.datetime64(f"{self.year}-02-28", "s") + np.timedelta64(86400, "s")
        return np.where(after & leap, found + np.timedelta64(86400, "s"), found)

    def _total(self, key: Key) -> Total | None:
        """Return the total of a key; None where strategies are no longer added up."""
        if key not in self.totals:
            if key.kind == "strategy" and (self.too_many or self._strategies() >= MOST_NAMES):
                self._drop_strategies()
                return None
            empty = np.zeros((len(COLUMNS), _MINUTES_OF_YEAR // self.minutes), np.int64)
            self.totals[key] = Total(0, 0, 0, empty)
        return self.totals[key]

    def _strategies(self) -> int:
        return sum(key.kind == "strategy" for key in self.totals)

    def _drop_strategies(self) -> None:
        self.too_many = True
        self.totals = {key: total for key, total in self.totals.items() if key.kind != "strategy"}


def needed_minutes(timeline: Timeline) -> int:
    """Return how fine steps of UTC must be for a home: its own, or finer where its offset from UTC is [min]."""
    minutes = gcd(round(60 * timeline.step_h), abs(round(60 * timeline.utc_offset_h)))
    return minutes if minutes >= 5 else 5  # no zone of today


def _weekday_shift(year: int, fleet_year: int) -> int:
    """Return by how many days a year moves so that its weekdays fall on those of another: -3 to 3."""
    difference = date(year, 1, 1).weekday() - date(fleet_year, 1, 1).weekday()
    return (difference + 3) % 7 - 3


@njit(cache=True, error_model="numpy")
def _place(into, shift, each, per_kw, load, pv, change, imported, exported):  # type: ignore[no-untyped-def]
    """Write a home's columns as whole numbers, turned by some steps; return its highest import and export."""
    count = into.shape[1]
    most_import = most_export = 0
    for row in range(load.size):
        values = (
            round(load[row] * per_kw),
            round(pv[row] * per_kw),
            round(max(change[row], 0.0) * per_kw),
            round(max(-change[row], 0.0) * per_kw),
            round(imported[row] * per_kw),
            round(exported[row] * per_kw),
        )
        most_import, most_export = max(most_import, values[4]), max(most_export, values[5])
        for part in range(each):
            place = (row * each + part + shift) % count
            for column in range(6):
                into[column, place] = values[column]
    return most_import, most_export
