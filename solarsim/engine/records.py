"""What goes into the hour and comes out of it: plain records of numbers, one field for each."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
GRID, GENERATOR = 1.0, 2.0  #: what ``Hour.source`` is made of; a generator idles where both are in


class Curve(NamedTuple):
    """Loss of the conversion stage.

    Attributes
    ----------
    rated_kw : float
        Rated output [kW].
    k0_kw : float
        Loss of running at all [kW].
    k1 : float
        Loss in proportion to output [kW/kW].
    k2 : float
        Loss with the square of output, per kW at rated output [kW/kW].
    """

    rated_kw: float
    k0_kw: float
    k1: float
    k2: float


class Limits(NamedTuple):
    """What the hardware allows.

    Attributes
    ----------
    step_h : float
        Length of a step [h].
    curve : Curve
        Inverter rating and loss.
    standby_kw : float
        The inverter's standby, on the AC side, in every step [kW].
    capacity_kwh, minimum_kwh : float
        Stored energy when full, and below which nothing goes [kWh].
    one_way : float
        Efficiency of charging, and of discharging, 0-1.
    kept : float
        Share of the energy above the minimum that self-discharge leaves after a step, 0-1.
    charge_kw, discharge_kw : float
        At the battery's terminals, of cells that are neither cold nor hot [kW].
    taper_kwh : float
        Stored energy between where charging begins to slow down and full [kWh]; 0 where it never does.
    peukert : float
        Peukert's exponent, 1 where there is no such loss.
    rated_kw : float
        Discharge at which the rated capacity holds [kW].
    """

    step_h: float
    curve: Curve
    standby_kw: float
    capacity_kwh: float
    minimum_kwh: float
    one_way: float
    kept: float
    charge_kw: float
    discharge_kw: float
    taper_kwh: float = 0.0
    peukert: float = 1.0
    rated_kw: float = 0.0


class Cells(NamedTuple):
    """What the temperature of the cells means, one entry for each step of a year.

    Attributes
    ----------
    charge_kw, discharge_kw : arrays of float
        Most at the battery's terminals [kW].
    heater_kw : array of float
        What keeps the cells warm takes on the AC side, beside the inverter's standby [kW].
    """

    charge_kw: Floats
    discharge_kw: Floats
    heater_kw: Floats


class CellsNow(NamedTuple):
    """What the temperature of the cells means in one step: one entry of ``Cells`` [kW]."""

    charge_kw: float
    discharge_kw: float
    heater_kw: float


class Orders(NamedTuple):
    """What the rules ask for in one step: one entry of a ``Dispatch``, whose meanings and units hold.

    ``grid`` says that the home is on it, ``generator_kw`` what a generator gives that runs, and
    ``generator_charge_kw`` what charging may take of that, AC [kW].
    """

    surplus_to_battery: bool
    serves_load: bool
    floor: float
    ceiling: float
    charge_to: float
    sell_to: float
    import_cap_kw: float
    export_limit_kw: float
    bias_kw: float
    grid: bool
    backed_kw: float
    generator_kw: float
    generator_charge_kw: float


class Dispatch(NamedTuple):
    """A strategy laid onto the timeline; every array has one entry for each step.

    Attributes
    ----------
    surplus_to_battery : array of bool
        Surplus goes to the battery before the grid.
    serves_load : array of bool
        The battery may serve the home.
    floor : array of float
        No discharge below this state of charge, 0-1.
    ceiling : array of float
        Solar charging stops at this state of charge, 0-1.
    charge_to : array of float
        Charge up to here, from the grid if the sun does not suffice, 0-1; 0 means no such order.
    sell_to : array of float
        Sell from the battery down to here, 0-1; 1 means no such order.
    import_cap_kw : array of float
        The battery covers demand above it, and charging from the grid stays under it [kW].
    export_limit_kw : array of float
        Export stops here [kW].
    bias_kw : array of float
        Import that zero export keeps [kW].
    grid : array of bool
        The grid is there.
    backed_kw : array of float
        Without it: demand that stands behind the inverter and can be served, standby included [kW].
    generator_may_start : array of bool
        Without it: a generator may start or go on.
    """

    surplus_to_battery: Bools
    serves_load: Bools
    floor: Floats
    ceiling: Floats
    charge_to: Floats
    sell_to: Floats
    import_cap_kw: Floats
    export_limit_kw: Floats
    bias_kw: Floats
    grid: Bools
    backed_kw: Floats
    generator_may_start: Bools


class Switching(NamedTuple):
    """When another source than sun and battery comes in, by the state of charge as a step begins.

    Attributes
    ----------
    generator_kw : float
        What a generator gives at most [kW].
    generator_start, generator_stop : float
        Without the grid: a generator starts at or below the one and runs until the other, 0-1.
    generator_least_h : float
        It runs at least so long [h].
    generator_charge_kw : float
        What the inverter takes of it for the battery at most, AC [kW].
    grid_from, grid_until : float
        A home that lives off the grid turns to it at or below the one and stays until the other,
        0-1; at 1 and above it is always on it.
    """

    generator_kw: float
    generator_start: float
    generator_stop: float
    generator_least_h: float
    generator_charge_kw: float
    grid_from: float
    grid_until: float


#: No generator, and a grid that is always taken where it is there.
GRID_ALONE = Switching(0.0, -1.0, -1.0, 0.0, 0.0, 1.0, 1.0)


class Hour(NamedTuple):
    """What one step did: powers [kW]; GRID, GENERATOR or both added for what was in; energy at its END [kWh].

    Solar power that nothing uses is clipped as far as it would be used if the inverter's rating alone were infinite,
    else curtailed. ``temperature_blocked_kw`` is no flow of its own: it was exported, clipped or curtailed.
    """

    pv_to_load_kw: float
    pv_to_battery_kw: float
    pv_to_grid_kw: float
    clipped_kw: float
    curtailed_kw: float
    battery_to_load_kw: float
    battery_to_grid_kw: float
    source_to_load_kw: float
    source_to_battery_kw: float
    unserved_kw: float
    source: float
    temperature_blocked_kw: float
    losses_kw: float
    battery_kwh: float


def cells_at_ease(limits: Limits, steps: int) -> Cells:
    """Give cells that are never cold, never hot and never heated.

    Parameters
    ----------
    limits : Limits
        Hardware.
    steps : int
        Of the year.

    Returns
    -------
    Cells
        The limits in every step.
    """
    return Cells(np.full(steps, limits.charge_kw), np.full(steps, limits.discharge_kw), np.zeros(steps))
