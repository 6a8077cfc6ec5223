"""Perfect foresight: a year's inputs, prices and possible orders in; the best order of each step out.

A dynamic program over the engine's own ``step``: from the last step back, what stored energy is worth from then on;
then forward, the order that is worth most at the energy that is really stored. What it chooses is a dispatch like any
other, and the year that the engine runs with it is one that the hardware can follow.

numba's cache watches the file of a compiled function, and would keep running an old ``step`` from here. A hash of the
engine's files is therefore a variable of the compiled function, and so a part of the key of its cache. The helper that
calls ``step`` is not cached on its own: its code goes into the function that is.
"""

from pathlib import Path
from types import ModuleType
from typing import Any, NamedTuple
from zlib import crc32

import numpy as np
from numba import njit

from solarsim.engine import records
from solarsim.engine import step as step_module
from solarsim.engine.records import Floats, Inputs, Ints, Orders
from solarsim.engine.step import _conditions_at, _generator_runs, _orders_at, _stays_on_grid, step

LEVELS = 81  #: of stored energy at which its worth is computed
_WARM_H = 720.0  # of the year's start, run first: what energy is worth when the year begins again
_LEVELED = ("reserve", "ceiling", "charge_to", "sell_to")
_CLEARLY = 1e-9  # less money is no reason for another order


class Worth(NamedTuple):
    """What energy costs and earns, one entry for each step.

    Attributes
    ----------
    import_price, export_price : arrays of float
        Cost of import, pay for export [currency/kWh].
    fuel_price : float
        Fuel for each kWh of a generator's output [currency/kWh].
    idle_price : float
        Fuel of a generator at no load, for each hour that it runs [currency].
    unserved_price : float
        For demand that is not served [currency/kWh].
    peak_kw : array of float
        Import above this raises a demand charge [kW]; infinite where none holds.
    peak_price : array of float
        Charge for each kW above it [currency/kW].
    wear_price : float
        For each kWh that leaves the cells [currency/kWh].
    net_kw : array of float
        Import less export of a year to keep near where it costs nothing [kW].
    net_price : float
        For each kWh that a step's import less export is off it [currency/kWh].
    """

    import_price: Floats
    export_price: Floats
    fuel_price: float
    idle_price: float
    unserved_price: float
    peak_kw: Floats
    peak_price: Floats
    wear_price: float
    net_kw: Floats
    net_price: float


class Choices(NamedTuple):
    """Orders that may be given in any step, one entry for each; meanings as in ``Dispatch``.

    Levels are shares of what is above the reserve of the step: 0 is the reserve, 1 full. ``charge_to`` below 0 means
    no such order.
    """

    surplus_to_battery: records.Bools
    serves_load: records.Bools
    reserve: Floats
    ceiling: Floats
    charge_to: Floats
    sell_to: Floats


def possible_orders(levels: int) -> Choices:
    """Return the orders of a schedule: serve or hold, surplus to battery or grid, levels to charge, sell and keep.

    Parameters
    ----------
    levels : int
        Of charge that an order may name, at least 2.

    Returns
    -------
    Choices
        The first order is the plainest: the sun serves the home, then fills the battery, which serves the home.
    """
    shares = np.linspace(0.0, 1.0, levels)
    # Surplus to the battery, serves the home, reserve, ceiling, charge to, sell down to.
    rows = [(to_battery, serves, 0.0, 1.0, -1.0, 1.0) for serves in (True, False) for to_battery in (True, False)]
    rows += [(True, True, 0.0, 1.0, share, 1.0) for share in shares[1:]]
    rows += [(False, True, 0.0, 1.0, -1.0, share) for share in shares[:-1]]
    rows += [(True, True, share, 1.0, -1.0, 1.0) for share in shares[1:-1]]
    rows += [(True, True, 0.0, share, -1.0, 1.0) for share in shares[1:-1]]
    to_battery, serves, *shared = (np.array(each) for each in zip(*rows, strict=True))
    return Choices(to_battery.astype(np.bool_), serves.astype(np.bool_), *(each.astype(np.float64) for each in shared))


@njit(error_model="numpy")
def _level(reserve, share):  # type: ignore[no-untyped-def]
    """Return the state of charge of a share above the reserve, 0-1; 0 below it."""
    return reserve + share * (1.0 - reserve) if share >= 0.0 else 0.0


@njit(error_model="numpy")
def _orders_of(choices, number, given):  # type: ignore[no-untyped-def]
    """Return the orders of one choice; what is no choice is as given."""
    return Orders(
        choices.surplus_to_battery[number],
        choices.serves_load[number],
        _level(given.reserve, choices.reserve[number]),
        _level(given.reserve, choices.ceiling[number]),
        _level(given.reserve, choices.charge_to[number]),
        _level(given.reserve, choices.sell_to[number]),
        given.import_cap_kw,
        given.export_limit_kw,
        given.bias_kw,
        given.grid_charge_kw,
        given.discharge_limit_kw,
        given.sell_limit_kw,
        given.backed_up_only,
        given.off_grid_floor,
        given.grid,
        given.backed_kw,
        given.generator_kw,
        given.generator_charge_kw,
    )


@njit(error_model="numpy")
def _cost_of(worth, i, step_h, hour, on_grid, runs, stored):  # type: ignore[no-untyped-def]
    """Return what a step costs that begins with some stored energy."""
    from_source = hour.source_to_load_kw + hour.source_to_battery_kw
    rate = worth.unserved_price * hour.unserved_kw
    rate -= worth.export_price[i] * (hour.pv_to_grid_kw + hour.battery_to_grid_kw)
    rate += (worth.import_price[i] if on_grid else worth.fuel_price) * from_source
    rate += worth.idle_price if runs else 0.0
    above_kw = max(0.0, from_source - worth.peak_kw[i]) if on_grid else 0.0
    if worth.net_price > 0.0 and on_grid:
        rate += worth.net_price * abs(from_source - hour.pv_to_grid_kw - hour.battery_to_grid_kw - worth.net_kw[i])
    discharges = hour.battery_to_load_kw + hour.battery_to_grid_kw > 0.0
    worn_kwh = max(0.0, stored - hour.battery_kwh) if discharges else 0.0
    return rate * step_h + worth.peak_price[i] * above_kw + worth.wear_price * worn_kwh


@njit(error_model="numpy")
def _between(values, limits, stored):  # type: ignore[no-untyped-def]
    """Return the value at a stored energy, of values at equal distances from the minimum to full."""
    room = limits.capacity_kwh - limits.minimum_kwh
    place = (stored - limits.minimum_kwh) * (values.size - 1) / room if room > 0.0 else 0.0
    below = max(0, min(values.size - 2, int(place)))
    return values[below] + (place - below) * (values[below + 1] - values[below])


@njit(error_model="numpy")
def _stored_at(limits, level, last):  # type: ignore[no-untyped-def]
    """Return the stored energy of a level."""
    if level == last:  # by rounding it could come out above full, where a home would leave the grid
        return limits.capacity_kwh
    return limits.minimum_kwh + (limits.capacity_kwh - limits.minimum_kwh) * level / last


@njit(error_model="numpy")
def _best(inputs, choices, worth, following, i, stored):  # type: ignore[no-untyped-def]
    """Return the lowest cost from a step on, the order that gives it, and the energy stored after the step."""
    limits, switching, rules = inputs.limits, inputs.switching, inputs.dispatch
    on_grid = _stays_on_grid(limits, switching, rules.grid[i], stored, False)
    runs = _generator_runs(limits, switching, rules.generator_may_start[i] and not on_grid, stored, 0.0)
    generator_kw = switching.generator_kw if runs else 0.0
    now, given = _conditions_at(inputs, i), _orders_at(inputs, i, on_grid, generator_kw, rules.backed_kw[i])
    lowest, best, after = np.inf, 0, stored
    for number in range(choices.reserve.size if on_grid else 1):
        hour = step(limits, _orders_of(choices, number, given), now, stored)
        later = _between(following, limits, hour.battery_kwh)
        cost = _cost_of(worth, i, limits.step_h, hour, on_grid, runs, stored) + later
        if cost < lowest - _CLEARLY:
            lowest, best, after = cost, number, hour.battery_kwh
    return lowest, best, after


def _compiled(engine_files: int) -> Any:
    """Return the compiled program; ``engine_files`` is there to be in the key of its cache."""

    @njit(cache=True, nogil=True, error_model="numpy")
    def plan(inputs, choices, worth, costs, chosen, warm):  # type: ignore[no-untyped-def]
        if engine_files < 0:
            return
        limits, steps, last = inputs.limits, inputs.pv_kw.size, costs.shape[1] - 1
        costs[warm, :] = 0.0
        for begin in (warm, steps):
            for i in range(begin - 1, -1, -1):
                for level in range(last + 1):
                    stored = _stored_at(limits, level, last)
                    costs[i, level] = _best(inputs, choices, worth, costs[i + 1], i, stored)[0]
            if begin == warm:
                costs[steps, :] = costs[0, :] - costs[0, 0]
        stored = limits.minimum_kwh
        for _ in range(2):  # the second round begins where the first one ended
            for i in range(steps):
                _, chosen[i], stored = _best(inputs, choices, worth, costs[i + 1], i, stored)

    return plan


def _files_hash(*modules: ModuleType) -> int:
    """Return a hash of the engine's files, and of those of other modules: a part of a cache's key."""
    return crc32(b"".join(Path(str(each.__file__)).read_bytes() for each in (records, step_module, *modules)))


_plan = _compiled(_files_hash())


def best_orders(inputs: Inputs, choices: Choices, worth: Worth) -> Ints:
    """Return the number of the order to give in each step, with all of the year known beforehand.

    Parameters
    ----------
    inputs : Inputs
        Hardware, sun and load. Of the dispatch all that is no choice holds in every step.
    choices : Choices
        Orders to choose from.
    worth : Worth
        What energy costs and earns.

    Returns
    -------
    array of int
        One entry for each step. What a step cannot see from the stored energy is not foreseen: how long a generator
        has run, its tank, a battery that waits for its restart level.
    """
    steps = inputs.pv_kw.size
    costs, chosen = np.empty((steps + 1, LEVELS)), np.zeros(steps, np.int64)
    _plan(inputs, choices, worth, costs, chosen, min(steps, round(_WARM_H / inputs.limits.step_h)))
    return chosen


def orders_given(choices: Choices, chosen: Ints, reserve: Floats) -> dict[str, Any]:
    """Return the fields of a dispatch that the chosen orders fill, over the reserve of each step, 0-1."""
    shares = {name: getattr(choices, name)[chosen] for name in Choices._fields}
    above = {name: np.where(shares[name] >= 0.0, reserve + shares[name] * (1.0 - reserve), 0.0) for name in _LEVELED}
    return {**shares, **above}
