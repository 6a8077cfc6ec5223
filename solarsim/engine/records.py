"""What goes into the hour and comes out of it: plain records of numbers, one field for each."""

from math import inf, nan
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
GRID, GENERATOR = 1.0, 2.0  #: what ``Hour.source`` is made of; with both in, the generator idles


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
        Stored energy when full, and at the low cutoff [kWh].
    one_way : float
        Efficiency of charging, and of discharging, 0-1.
    kept : float
        Share of the energy above the minimum that self-discharge leaves after a step, 0-1.
    charge_kw, discharge_kw : float
        Limits at the battery's terminals while the cells are neither cold nor hot [kW].
    taper_kwh : float
        Stored energy from where charging begins to slow down to full [kWh]; 0 where it never does.
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
    """What the temperature of the cells allows and needs, one entry for each step of a year.

    Attributes
    ----------
    charge_kw, discharge_kw : arrays of float
        Limits at the battery's terminals [kW].
    heater_kw : array of float
        What the battery's heater draws on the AC side [kW].
    """

    charge_kw: Floats
    discharge_kw: Floats
    heater_kw: Floats


class Dispatch(NamedTuple):
    """A strategy laid onto the timeline; every array has one entry for each step.

    Attributes
    ----------
    surplus_to_battery : array of bool
        Surplus goes to the battery before the grid.
    serves_load : array of bool
        The battery may serve the home.
    reserve : array of float
        No discharge below this state of charge while the grid is there, 0-1.
    ceiling : array of float
        Solar charging stops at this state of charge, 0-1.
    charge_to : array of float
        Charge up to here, from the grid where the sun is not enough, 0-1; 0 means no such order. Below it the battery
        only serves demand above the import cap.
    sell_to : array of float
        Export from the battery down to here, 0-1; 1 means no such order.
    import_cap_kw : array of float
        The battery covers demand above it, and charging from the grid stays under it [kW].
    export_limit_kw : array of float
        Export stops here [kW].
    bias_kw : array of float
        Import that zero export keeps [kW].
    grid_charge_kw : array of float
        Most that an order to charge adds from the AC side, at the battery's terminals [kW].
    discharge_limit_kw : array of float
        Most that the battery discharges at its terminals while the grid is there [kW].
    sell_limit_kw : array of float
        Most that an order to sell exports from the battery, AC [kW].
    backed_up_only : array of bool
        While the grid is there, the battery serves no more than ``backed_kw``.
    off_grid_floor : array of float
        Without the grid: no discharge below this state of charge, 0-1; never below the low cutoff.
    grid : array of bool
        The grid is there.
    backed_kw : array of float
        Demand behind the inverter that can be served without the grid, standby included [kW].
    generator_may_start : array of bool
        Without the grid: a generator may start or go on.
    tank_filled : array of bool
        Without the grid: the generator's tank is filled as the step begins. With the grid it always is.
    """

    surplus_to_battery: Bools
    serves_load: Bools
    reserve: Floats
    ceiling: Floats
    charge_to: Floats
    sell_to: Floats
    import_cap_kw: Floats
    export_limit_kw: Floats
    bias_kw: Floats
    grid_charge_kw: Floats
    discharge_limit_kw: Floats
    sell_limit_kw: Floats
    backed_up_only: Bools
    off_grid_floor: Floats
    grid: Bools
    backed_kw: Floats
    generator_may_start: Bools
    tank_filled: Bools


class Switching(NamedTuple):
    """When another source than sun and battery comes in, by the state of charge as a step begins.

    Attributes
    ----------
    generator_kw : float
        Rating of the generator [kW].
    generator_start, generator_stop : float
        Without the grid: a generator starts at or below the one and runs until the other, 0-1.
    generator_least_h : float
        Its shortest run [h].
    generator_charge_kw : float
        Most that the inverter draws from it for the battery, AC [kW].
    grid_from, grid_until : float
        A home that lives off the grid turns to it at or below the one and stays until the other, 0-1; at 1 and above
        it is always on it.
    tank_liters : float
        Fuel of a full tank [l]; infinite where it never runs empty.
    liters_per_h, liters_per_kwh : float
        What the generator burns at no load [l/h], and for each kWh on top [l/kWh].
    battery_restart : float
        A battery that has reached its low cutoff does not discharge below this state of charge, 0-1; negative where
        it discharges again at once.
    """

    generator_kw: float
    generator_start: float
    generator_stop: float
    generator_least_h: float
    generator_charge_kw: float
    grid_from: float
    grid_until: float
    tank_liters: float = inf
    liters_per_h: float = 0.0
    liters_per_kwh: float = 0.0
    battery_restart: float = -1.0


#: No generator, and a home that is on the grid whenever that is there.
GRID_ALONE = Switching(0.0, -1.0, -1.0, 0.0, 0.0, 1.0, 1.0)


class Inputs(NamedTuple):
    """All that a year of the engine needs; every array has one entry for each step.

    Attributes
    ----------
    limits : Limits
        Hardware.
    dispatch : Dispatch
        Rules.
    switching : Switching
        When generator and grid come in.
    cells : Cells
        What the cells' temperature allows and needs.
    pv_kw : array of float
        Solar power available at the inverter's DC inputs [kW].
    ac_solar_kw : array of float
        Solar power available on the home's AC side, from inverters of its own [kW].
    load_kw : array of float
        The home's load, without standby [kW].
    """

    limits: Limits
    dispatch: Dispatch
    switching: Switching
    cells: Cells
    pv_kw: Floats
    ac_solar_kw: Floats
    load_kw: Floats


class Orders(NamedTuple):
    """The rules of one step: one entry of a ``Dispatch``, whose meanings and units hold.

    ``grid`` says that the home is on it, ``generator_kw`` is what a generator that runs can deliver, else 0, and
    ``generator_charge_kw`` the most of it for charging, AC [kW].
    """

    surplus_to_battery: bool
    serves_load: bool
    reserve: float
    ceiling: float
    charge_to: float
    sell_to: float
    import_cap_kw: float
    export_limit_kw: float
    bias_kw: float
    grid_charge_kw: float
    discharge_limit_kw: float
    sell_limit_kw: float
    backed_up_only: bool
    off_grid_floor: float
    grid: bool
    backed_kw: float
    generator_kw: float
    generator_charge_kw: float


class Conditions(NamedTuple):
    """Sun, load and cells of one step: one entry of the series of ``Inputs``, whose meanings hold [kW]."""

    pv_kw: float
    ac_solar_kw: float
    load_kw: float
    charge_kw: float
    discharge_kw: float
    heater_kw: float


class Hour(NamedTuple):
    """The flows of one step: powers [kW]; ``source`` is GRID, GENERATOR or both added; energy at its END [kWh].

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


class State(NamedTuple):
    """What one step leaves to the next.

    Attributes
    ----------
    stored_kwh : float
        Stored energy [kWh].
    on_grid : bool
        The home is on the grid.
    ran_h : float
        For how long a generator has been running, as far as it matters; 0 where none runs [h].
    fuel_l : float
        What is left in the generator's tank [l].
    waits : bool
        The battery has reached its low cutoff, and not yet the state of charge at which it restarts.
    """

    stored_kwh: float
    on_grid: bool = False
    ran_h: float = 0.0
    fuel_l: float = inf
    waits: bool = False


class Pass(NamedTuple):
    """An earlier pass through the same steps, whose hours a table holds.

    Attributes
    ----------
    end : State
        At the end of its last step.
    changed : array of bool
        For each step whether its inputs are others than in that pass; empty where none are. Limits and switching must
        be the same.
    """

    end: State
    changed: Bools


UNKNOWN = Pass(State(nan), np.zeros(0, np.bool_))  #: no earlier pass


def cells_at_ease(limits: Limits, steps: int) -> Cells:
    """Return cells that are never cold, never hot and never heated.

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
