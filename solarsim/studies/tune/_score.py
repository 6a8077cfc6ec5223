"""What a candidate costs: a home and a table in, the ledger's own total out, as fast as the engine allows.

The table is laid on cells (season x workday or not x slot of the day), and from there on the steps: the same dispatch
as ``dispatch.strategy`` makes of the strategy that the table becomes.
"""

from math import inf
from typing import Any

import numpy as np
from numpy.typing import NDArray

from solarsim.engine.records import UNKNOWN, Dispatch, Inputs
from solarsim.engine.year import HOUR_COLUMNS, Year, run_year
from solarsim.home import Home
from solarsim.run import ledger_of
from solarsim.scenario.programmable import Programmable
from solarsim.scenario.strategy import Strategy
from solarsim.studies.tune._table import (
    EVERY_DAY,
    FIELDS,
    RESERVE,
    SERVES,
    SURPLUS,
    Calendar,
    Rule,
    Settings,
    Table,
    cells_between,
    is_legal,
)

MOST_WINDOWS = 6
_BOOLS = (SURPLUS, SERVES)
_STORED, _TO_LOAD, _TO_GRID = map(HOUR_COLUMNS.index, ("battery_kwh", "battery_to_load_kw", "battery_to_grid_kw"))
_DARKNESS = 10.0  # times the highest listed price: what an unserved kWh beyond the allowed ones costs a candidate


class Scorer:
    """Costs of candidates for one home, counted and remembered.

    Parameters
    ----------
    home : Home
        With the dispatch of ``like`` among its own.
    calendar : Calendar
        Of its timeline.
    like : Strategy
        Whose base settings hold for all that is not searched.
    machine : Programmable
        What the inverter's menu accepts.
    wear_price : float
        For each kWh of ``battery_out_kwh`` [currency/kWh].
    unserved_kwh : float
        What may stay unserved without a penalty [kWh].
    """

    def __init__(
        self,
        home: Home,
        calendar: Calendar,
        like: Strategy,
        machine: Programmable,
        wear_price: float = 0.0,
        unserved_kwh: float = inf,
    ) -> None:
        self.home, self.calendar, self.like, self.machine, self.wear_price = home, calendar, like, machine, wear_price
        self.runs = 0
        self._allowed_kwh = unserved_kwh
        self._lost_price = home.scenario.value_of_lost_load
        self._penalty = _DARKNESS * float(max(1e-3, home.prices.import_price.max()))
        self._inputs = home.inputs(like.name)
        steps = len(home.timeline)
        self._table = np.empty((steps, len(HOUR_COLUMNS)))
        self._laid: dict[str, NDArray[Any]] = {
            name: np.empty(steps, np.bool_ if number in _BOOLS else np.float64) for number, name in enumerate(FIELDS)
        }
        self._dispatch: Dispatch = self._inputs.dispatch._replace(**self._laid)
        self._last: tuple[tuple[int, ...] | None, NDArray[np.float64]] = (None, np.empty(0))
        self._known = UNKNOWN
        self._costs: dict[tuple[tuple[int, ...], bytes], float] = {}
        self._cells: dict[tuple[int, int, int, int, int], NDArray[np.int64]] = {}
        self._steps: dict[tuple[int, ...], NDArray[np.int64]] = {}
        self._start_kwh: float | None = None

    def cost(self, table: Table) -> float:
        """Return what a year under a table costs, wear included; infinite where its settings are not legal."""
        values = self.cells(table)
        if values is None:
            return inf
        key = table.cuts, values.tobytes()
        if key not in self._costs:
            self._lay(table.cuts, values)
            self._costs[key] = self._cost_of(self._run())
        return self._costs[key]

    def fits(self, table: Table) -> bool:
        """Return whether the menu accepts a table; every table that a search keeps has passed here.

        The rules of ``misfits_of``, but for steps of levels: ``Moves.values`` are such steps.
        """
        values, machine = self.cells(table), self.machine
        if values is None or len(table.rules) > MOST_WINDOWS or table.seasons > machine.seasons:
            return False
        laid = values.reshape(len(FIELDS), table.seasons, 2, self.calendar.slots)
        if not (machine.days_of_week or (laid[:, :, 0] == laid[:, :, 1]).all()):
            return False
        if not (machine.reserve_in_slots or (values[RESERVE] == table.base[RESERVE]).all()):
            return False
        return slots_needed(laid, table.base, machine.fill_day) <= machine.slots

    def holds(self, table: Table) -> list[bool]:
        """Return for each rule whether it governs any cell."""
        governing = set(self._codes(table).tolist())
        return [number in governing for number in range(len(table.rules))]

    def governed(self, table: Table, number: int) -> NDArray[np.bool_]:
        """Return where a rule governs: season x workdays or not x slot of the day."""
        return np.asarray(self._codes(table) == number).reshape(table.seasons, 2, self.calendar.slots)

    def same(self, one: Table, other: Table) -> bool:
        """Return whether two tables give the same settings in every hour."""
        cells = self.cells(one), self.cells(other)
        return one.cuts == other.cuts and cells[0] is not None and np.array_equal(cells[0], cells[1])  # type: ignore[arg-type]

    def dispatch(self, table: Table) -> Dispatch:
        """Return the dispatch of a table, in arrays of its own."""
        values = self.cells(table)
        if values is None:
            raise ValueError("the settings of the table are not legal together")
        self._lay(table.cuts, values)
        return self._dispatch._replace(**{name: laid.copy() for name, laid in self._laid.items()})

    def cells(self, table: Table) -> NDArray[np.float64] | None:
        """Return the settings of each cell, one row for each of ``FIELDS``; None where they are not legal together."""
        settings = [*(rule.settings(table.base) for rule in table.rules), table.base]
        if not all(is_legal(each) and each[RESERVE] >= table.base[RESERVE] for each in settings):
            return None
        return np.ascontiguousarray(np.array(settings, np.float64)[self._codes(table)].T)

    def _codes(self, table: Table) -> NDArray[np.int64]:
        """Return the number of the rule that governs each cell; that of the base is the number of rules."""
        count = len(table.rules)
        code = np.full(table.seasons * 2 * self.calendar.slots, count)
        for number in range(count - 1, -1, -1):
            code[self._cells_of(table.rules[number], table.seasons)] = number
        return code

    def _cells_of(self, rule: Rule, seasons: int) -> NDArray[np.int64]:
        """Return the cells of a rule."""
        key = (seasons, rule.seasons, rule.days, rule.start, rule.end)
        if key not in self._cells:
            slots = self.calendar.slots
            inside = np.zeros((seasons, 2, slots), np.bool_)
            hours = cells_between(rule.start, rule.end, slots)
            for season in range(seasons):
                for kind in range(2):
                    if rule.seasons >> season & 1 and rule.days in (EVERY_DAY, kind + 1):
                        inside[season, kind] = hours
            self._cells[key] = np.flatnonzero(inside)
        return self._cells[key]

    def _lay(self, cuts: tuple[int, ...], values: NDArray[np.float64]) -> None:
        """Write the settings of cells into the arrays of the dispatch; what has not changed stays."""
        if cuts not in self._steps:
            calendar = self.calendar
            season = calendar.season_of_day(cuts)[calendar.day]
            self._steps[cuts] = (season * 2 + calendar.kind) * calendar.slots + calendar.slot
        steps = self._steps[cuts]
        last_cuts, last = self._last
        differs = values != last if last_cuts == cuts else np.ones(values.shape, np.bool_)
        for number, laid in enumerate(self._laid.values()):
            if differs[number].any():
                row = values[number] > 0.0 if number in _BOOLS else values[number]
                np.take(row, steps, out=laid, mode="clip")
        changed = np.take(differs.any(axis=0), steps, mode="clip")
        if self._known.changed.size:  # laid before, and not run since
            changed |= self._known.changed
        self._known = self._known._replace(changed=changed)
        self._last = cuts, values

    def _run(self) -> Year:
        """Run the year with the arrays as they are."""
        inputs: Inputs = self._inputs._replace(dispatch=self._dispatch)
        year = run_year(inputs, self._start_kwh, self._table, self._known)
        self._start_kwh, self._known = year.start_kwh, UNKNOWN._replace(end=year.end)
        self.runs += 1
        return year

    def _cost_of(self, year: Year) -> float:
        """Return energy cost, wear and what darkness counts for [currency]."""
        ledger = ledger_of(self.home, year, keep_steps=False)
        cost = ledger.energy_cost
        if self.wear_price > 0.0:
            cost += self.wear_price * battery_out_kwh(year)
        if self._lost_price is not None:
            return cost + self._lost_price * ledger.unserved_kwh
        return cost + self._penalty * max(0.0, ledger.unserved_kwh - self._allowed_kwh)


def battery_out_kwh(year: Year) -> float:
    """Return what the key of this name is: the decrease of stored energy in the steps that discharge [kWh]."""
    stored = year.table[:, _STORED]
    discharges = year.table[:, _TO_LOAD] + year.table[:, _TO_GRID] > 0.0
    return float((np.concatenate([[year.start_kwh], stored[:-1]]) - stored)[discharges].sum())


def slots_needed(values: NDArray[np.float64], base: Settings, fill_day: bool) -> int:
    """Return how many slots the fullest season needs: of settings by season, kind of day and slot of the day.

    The count of ``dispatch.slots``: hours of the same settings on the same days are one slot, and only a slot for every
    day crosses midnight; the hours of the base are filled with as few as possible.
    """
    same_days = (values[:, :, 0] == values[:, :, 1]).all(axis=0)
    counted = (np.array(base) != values.T).any(axis=-1).T
    goes_on = (values[..., 1:] == values[..., :-1]).all(axis=0)
    together = same_days[:, 1:] & same_days[:, :-1]
    apart = ~same_days[:, 1:] & ~same_days[:, :-1]
    starts = np.ones_like(counted)
    starts[..., 1:] = ~(goes_on & (together | apart)[:, None])
    number = (starts & counted).sum(axis=-1)
    several = starts[:, 0, 1:].any(axis=-1)
    meets = several & same_days[:, 0] & same_days[:, -1] & (values[..., 0, 0] == values[..., 0, -1]).all(axis=0)
    both = np.where(same_days[:, None], starts & counted, False)[:, 0].sum(axis=-1)
    filling = _filling(~counted) if fill_day else 0
    return int((number.sum(axis=-1) - both - (meets & counted[:, 0, 0]) + filling).max())


def _filling(is_base: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return how many slots of the base fill each season, from where it holds by season, kind of day and slot."""
    outside = np.zeros((*is_base.shape[:-1], 1), np.bool_)
    starts = is_base & ~np.concatenate([outside, is_base[..., :-1]], axis=-1)
    size = is_base.shape[-1]
    ends = np.minimum.accumulate(np.where(is_base, size, np.arange(size))[..., ::-1], axis=-1)[..., ::-1]
    shared = starts.all(axis=1) & (ends[:, 0] == ends[:, 1])
    meets = is_base[..., 0].all(axis=-1) & is_base[..., -1].all(axis=-1) & ~is_base.all(axis=(1, 2))
    return np.asarray(starts.sum(axis=(1, 2)) - shared.sum(axis=-1) - meets)
