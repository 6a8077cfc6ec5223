"""The hour: sun, demand, stored energy and orders in; who served whom and the stored energy out.

One scalar function, ``step``, compiled by numba and looped by ``run_steps``. All powers are means over the step [kW].
Flows to load and grid are AC at the home's bus; solar power, what is clipped and curtailed of it and what it brings
into the battery are DC; source to battery is AC. The source is the grid or, while it is out, a generator that runs.

The inverter is one conversion stage. An output of ``a`` kW needs an input of ``a + k0 + k1*a + k2*a*a/rated`` kW while
converting, and nothing when idle; the same curve holds from DC to AC (serving, exporting) and from AC to DC (charging
from the grid).

All compiled code is in this one file: numba's cache of a function watches the function's own file only, and would
keep running an old ``step`` after a change elsewhere. Whoever changes a record changes ``COMPILED_FOR`` too; a test
prints the new value.
"""

from math import exp, inf, sqrt

import numpy as np

from solarsim.engine.compiler import njit
from solarsim.engine.reasons import (
    ABOVE_START_LEVEL,
    AT_BATTERY_LIMIT,
    AT_CUTOFF,
    AT_GENERATOR_RATING,
    AT_INVERTER_RATING,
    AT_OFF_GRID_FLOOR,
    BLOCKED_BY_TEMPERATURE,
    QUIET_HOURS,
    TANK_EMPTY,
    WAITS_TO_RESTART,
)
from solarsim.engine.records import (
    GENERATOR,
    GRID,
    Conditions,
    Curve,
    Floats,
    Hour,
    Inputs,
    Ints,
    Limits,
    Orders,
    Pass,
    State,
    Switching,
)

COMPILED_FOR = "74fc1905"  #: a short hash of the records' fields
_NOTHING_KW = 1e-9  # less is rounding
_SOURCE, _STORED = Hour._fields.index("source"), Hour._fields.index("battery_kwh")


@njit(cache=True, error_model="numpy")
def input_for(curve: Curve, output_kw: float) -> float:
    """Return the input power for an output power [kW]; 0 when idle."""
    if output_kw <= 0.0:
        return 0.0
    return curve.k0_kw + (1.0 + curve.k1 + curve.k2 / curve.rated_kw * output_kw) * output_kw


@njit(cache=True, error_model="numpy")
def _output_from(curve: Curve, input_kw: float) -> float:
    """Return the output power from an input power, at most the rating: the inverse of ``input_for``."""
    above = input_kw - curve.k0_kw
    if above <= 0.0:
        return 0.0
    slope = 1.0 + curve.k1
    # The root in the form that stays exact where k2 is 0.
    root = 2.0 * above / (slope + sqrt(slope * slope + 4.0 * curve.k2 / curve.rated_kw * above))
    return min(root, curve.rated_kw)


@njit(cache=True, error_model="numpy")
def outputs_from(curve: Curve, input_kw: Floats) -> Floats:
    """Return the output power of a stage for each input power, at most its rating [kW]."""
    output_kw = np.empty_like(input_kw)
    for i in range(input_kw.size):
        output_kw[i] = _output_from(curve, input_kw[i])
    return output_kw


@njit(cache=True, error_model="numpy")
def _output_within(curve: Curve, wanted_kw: float, available_kw: float) -> float:
    """Return how much of a wanted output an available input allows."""
    wanted_kw = min(wanted_kw, curve.rated_kw)
    if input_for(curve, wanted_kw) <= available_kw:
        return wanted_kw
    return min(wanted_kw, _output_from(curve, available_kw))  # by rounding it can come out higher


@njit(cache=True, error_model="numpy")
def _accepted(limits: Limits, already_kw: float, more_kw: float, stored_kwh: float) -> float:
    """Return how much of a steady further charging power the battery accepts, mean over the step."""
    # Near full the charger holds the voltage and the current falls: here in a straight line from the full limit,
    # where the taper begins, to 0 at full. A steady power is accepted whole until the line falls below it; from then
    # on the remaining room shrinks exponentially. The mean is exact: two half steps accept what one whole step does.
    offered_kw = already_kw + more_kw
    if limits.taper_kwh <= 0.0 or offered_kw <= 0.0:
        return more_kw
    gain_kw = limits.one_way * offered_kw
    knee = limits.capacity_kwh - limits.taper_kwh * offered_kw / limits.charge_kw
    if stored_kwh + gain_kw * limits.step_h <= knee:
        return more_kw
    steady_h = max(0.0, knee - stored_kwh) / gain_kw
    room = limits.capacity_kwh - max(stored_kwh, knee)
    left = room * exp(-limits.one_way * limits.charge_kw / limits.taper_kwh * (limits.step_h - steady_h))
    return max(0.0, (limits.capacity_kwh - left - stored_kwh) / (limits.one_way * limits.step_h) - already_kw)


@njit(cache=True, error_model="numpy")
def _drained(limits: Limits, discharge_kw: float) -> float:
    """Return the power at which cells drain for a power at the terminals: Peukert's law above the rated discharge."""
    if limits.peukert <= 1.0 or discharge_kw <= limits.rated_kw:
        return discharge_kw
    return float(discharge_kw * (discharge_kw / limits.rated_kw) ** (limits.peukert - 1.0))


@njit(cache=True, error_model="numpy")
def _delivered(limits: Limits, drained_kw: float) -> float:
    """Return the power at the terminals of cells that drain at a power: the inverse of ``_drained``."""
    if limits.peukert <= 1.0 or drained_kw <= limits.rated_kw:
        return drained_kw
    return float(limits.rated_kw * (drained_kw / limits.rated_kw) ** (1.0 / limits.peukert))


@njit(cache=True, error_model="numpy")
def _discharge_down_to(limits: Limits, most_kw: float, stored_kwh: float, level: float) -> float:
    """Return the discharge power that brings the stored energy down to a state of charge, at most ``most_kw``."""
    above_kwh = max(0.0, stored_kwh - level * limits.capacity_kwh)
    return min(most_kw, _delivered(limits, above_kwh * limits.one_way / limits.step_h))


@njit(cache=True, error_model="numpy")
def _room(limits: Limits, stored_kwh: float, level: float, charge_kw: float) -> float:
    """Return the charging power, beyond one that is decided, that would bring the stored energy up to a level."""
    return max(0.0, level * limits.capacity_kwh - stored_kwh) / (limits.one_way * limits.step_h) - charge_kw


@njit(cache=True, error_model="numpy")
def _orders_without_grid(limits: Limits, orders: Orders) -> Orders:
    """Return the orders of an island: down to its own floor; a generator that runs serves, and charges to full."""
    runs = orders.generator_kw > 0.0
    cutoff = limits.minimum_kwh / limits.capacity_kwh if limits.capacity_kwh > 0.0 else 0.0
    # By position: numba does not compile a call with so many names.
    return Orders(
        True,  # surplus_to_battery
        not runs,  # serves_load
        max(cutoff, orders.off_grid_floor),  # reserve
        1.0,  # ceiling
        1.0 if runs else 0.0,  # charge_to
        1.0,  # sell_to
        orders.generator_kw,  # import_cap_kw
        0.0,  # export_limit_kw
        0.0,  # bias_kw
        inf,  # grid_charge_kw
        inf,  # discharge_limit_kw
        0.0,  # sell_limit_kw
        False,  # backed_up_only
        orders.off_grid_floor,
        False,  # grid
        orders.backed_kw,
        orders.generator_kw,
        orders.generator_charge_kw,
    )


@njit(cache=True, error_model="numpy", forceinline=True)  # a third faster: its inputs stay in registers
def step(limits: Limits, orders: Orders, now: Conditions, stored_kwh: float) -> Hour:
    """Decide one step.

    An import cap holds before an order to charge: demand above it is served by the sun, then by the battery down to
    its reserve. Without the grid only what is backed up is served, by the sun, then by the battery down to its floor
    off the grid: the reserve is for this. A running generator replaces the grid: it serves the home and charges the
    battery with the rest, and the battery helps above its rating.

    Solar power that nothing uses is clipped as far as the home, the export limit or (from the AC side) the battery
    would have used it at the same loss if the rating alone were infinite; the rest of it is curtailed.

    Parameters
    ----------
    limits : Limits
        Hardware.
    orders : Orders
        Rules in force.
    now : Conditions
        Sun, load and what the cells' temperature allows. Solar power on the AC side serves the home first; what is
        left charges the battery through the stage, if that has no output, and is exported, in the rule's order.
    stored_kwh : float
        At the start of the step [kWh].

    Returns
    -------
    Hour
        Flows and the energy stored at the end of the step.
    """
    hours, curve, one_way = limits.step_h, limits.curve, limits.one_way
    demand, shed, most_charge_ac = now.load_kw + limits.standby_kw + now.heater_kw, 0.0, curve.rated_kw
    if not orders.grid:
        shed = max(0.0, demand - orders.backed_kw)
        demand -= shed
        most_charge_ac = min(most_charge_ac, orders.generator_charge_kw)
        orders = _orders_without_grid(limits, orders)
    stored = limits.minimum_kwh + (stored_kwh - limits.minimum_kwh) * limits.kept

    # Zero export keeps a small import, so that the meter never runs backwards.
    servable = max(0.0, demand - (orders.bias_kw if orders.export_limit_kw <= 0.0 else 0.0))
    ac_to_load, ac_free = 0.0, 0.0
    if now.ac_solar_kw > 0.0:
        ac_to_load = min(now.ac_solar_kw, servable)
        ac_free = now.ac_solar_kw - ac_to_load
        demand -= ac_to_load
        servable -= ac_to_load
    above_cap = max(0.0, demand - orders.import_cap_kw)
    # Solar power left on the AC side is first at the meter; the stage may export up to what then remains.
    most_out = servable + max(0.0, orders.export_limit_kw - ac_free)

    # 1. An order to charge uses the sun first and the grid for the rest. The stage passes power one way at a time:
    #    while it charges from the grid, the grid also serves the home, and the import cap leaves what it can.
    ordered, from_grid = 0.0, 0.0
    if orders.charge_to > 0.0:
        if above_cap > 0.0:
            offer = max(0.0, now.pv_kw - input_for(curve, min(curve.rated_kw, above_cap)))
        else:
            from_ac_side = _output_from(curve, min(most_charge_ac, orders.import_cap_kw - demand + ac_free))
            offer = now.pv_kw + min(orders.grid_charge_kw, from_ac_side)
        offer = min(now.charge_kw, offer)
        ordered = min(_room(limits, stored, orders.charge_to, 0.0), _accepted(limits, 0.0, offer, stored))
        from_grid = ordered - now.pv_kw
        if from_grid <= curve.k0_kw:  # starting the stage would cost more than it delivers
            from_grid = 0.0
            ordered = min(ordered, now.pv_kw)
    source_to_battery = input_for(curve, from_grid)
    free_kw = max(0.0, now.pv_kw - ordered)

    # 2. How far the battery may lift the inverter's output: to serve the home, or what of it is backed up, no further
    #    down than an order to charge would bring it; to cover demand above the import cap, down to the reserve; to
    #    export, down to its own level. What leaves the inverter to be sold meets all of the home's load first.
    alone = _output_from(curve, free_kw)
    with_battery = 0.0
    if ordered <= 0.0:
        floor, most_discharge = max(orders.reserve, orders.charge_to), min(now.discharge_kw, orders.discharge_limit_kw)
        served = min(servable, orders.backed_kw) if orders.backed_up_only else servable
        if orders.serves_load and served > alone:
            most = _discharge_down_to(limits, most_discharge, stored, floor)
            if most > 0.0:
                with_battery = _output_within(curve, served, free_kw + most)
        if above_cap > with_battery and min(above_cap, served) > alone:
            most = _discharge_down_to(limits, most_discharge, stored, orders.reserve)
            if most > 0.0:
                with_battery = max(with_battery, _output_within(curve, min(above_cap, served), free_kw + most))
        if orders.sell_to < 1.0 and orders.export_limit_kw > 0.0 and orders.sell_limit_kw > 0.0:
            most = _discharge_down_to(limits, most_discharge, stored, max(floor, orders.sell_to))
            if most > 0.0:
                with_sale = min(most_out, max(alone, servable) + orders.sell_limit_kw)
                with_battery = max(with_battery, _output_within(curve, with_sale, free_kw + most))

    # 3. Either the battery discharges, or the sun's surplus goes where the rule says; never both.
    charge, discharge, temperature_blocked, clipped, curtailed = ordered, 0.0, 0.0, 0.0, 0.0
    if with_battery > alone:
        out = with_battery
    else:
        out = min(alone, servable if orders.surplus_to_battery else most_out)
        surplus, room = max(0.0, free_kw - input_for(curve, out)), _room(limits, stored, orders.ceiling, ordered)
        taken = max(0.0, min(room, _accepted(limits, ordered, min(surplus, now.charge_kw - ordered), stored)))
        if now.charge_kw < limits.charge_kw:
            at_ease = min(room, _accepted(limits, ordered, min(surplus, limits.charge_kw - ordered), stored))
            temperature_blocked = max(0.0, at_ease - taken)
        charge += taken
        if orders.surplus_to_battery:
            out = max(out, _output_within(curve, most_out, free_kw - taken))
    out_input = input_for(curve, out)
    if with_battery > alone:
        discharge = max(0.0, out_input - free_kw)
    if discharge <= 0.0:
        curtailed = max(0.0, free_kw - (charge - ordered) - out_input)
        if curtailed > 0.0 and out >= curve.rated_kw:
            clipped = max(0.0, min(curtailed, input_for(curve, min(most_out, free_kw)) - out_input))
            curtailed -= clipped

    # 4. Solar power left on the AC side: into an order to charge, into the battery, to the grid.
    ac_to_charger, from_ac, ac_charging, ac_to_grid = 0.0, 0.0, 0.0, 0.0
    if ac_free > 0.0:
        ac_to_charger = min(ac_free, source_to_battery)
        ac_free -= ac_to_charger
        if out <= 0.0 and source_to_battery <= 0.0:
            offer = ac_free if orders.surplus_to_battery else max(0.0, ac_free - orders.export_limit_kw)
            most = min(_output_from(curve, min(offer, curve.rated_kw)), now.charge_kw - charge)
            room = _room(limits, stored, orders.ceiling, charge)
            from_ac = max(0.0, min(room, _accepted(limits, charge, max(0.0, most), stored)))
            if from_ac <= curve.k0_kw:
                from_ac = 0.0
            charge += from_ac
            ac_charging = input_for(curve, from_ac)
            ac_free -= ac_charging
        ac_to_grid = min(ac_free, orders.export_limit_kw)
        unused = ac_free - ac_to_grid
        if unused > 0.0 and source_to_battery + ac_charging >= curve.rated_kw:
            room = _room(limits, stored, orders.charge_to if from_grid > 0.0 else orders.ceiling, charge)
            more = max(0.0, min(room, _accepted(limits, charge, max(0.0, now.charge_kw - charge), stored)))
            passed = from_grid + from_ac
            ac_clipped = min(unused, input_for(curve, passed + more) - input_for(curve, passed))
            clipped += ac_clipped
            unused -= ac_clipped
        curtailed += unused
    # The part of an order that solar power on the AC side filled comes from the sun, not from the source.
    sun_in_order = from_grid * ac_to_charger / source_to_battery if ac_to_charger > 0.0 else 0.0

    # 5. The balance of the step.
    to_load = min(out, servable)
    rest = demand - to_load
    from_source = rest if orders.grid else min(rest, orders.generator_kw)
    to_grid = out - to_load
    solar_out = min(out, alone) if discharge > 0.0 else out
    pv_to_load = min(solar_out, to_load)
    pv_to_grid = min(solar_out - pv_to_load, to_grid)
    drained = _drained(limits, discharge)
    end = stored + one_way * charge * hours - drained * hours / one_way
    losses = (
        (out_input - out)
        + (source_to_battery - from_grid)
        + (ac_charging - from_ac)
        + charge * (1.0 - one_way)
        + (drained / one_way - discharge)
        + (stored_kwh - stored) / hours
    )
    return Hour(
        pv_to_load_kw=pv_to_load + ac_to_load,
        pv_to_battery_kw=charge - from_grid + sun_in_order,
        pv_to_grid_kw=pv_to_grid + ac_to_grid,
        clipped_kw=clipped,
        curtailed_kw=curtailed,
        battery_to_load_kw=to_load - pv_to_load,
        battery_to_grid_kw=to_grid - pv_to_grid,
        source_to_load_kw=from_source,
        source_to_battery_kw=source_to_battery - ac_to_charger,
        unserved_kw=shed + rest - from_source,
        source=(GRID if orders.grid else 0.0) + (GENERATOR if orders.generator_kw > 0.0 else 0.0),
        temperature_blocked_kw=temperature_blocked,
        losses_kw=losses,
        battery_kwh=min(limits.capacity_kwh, max(limits.minimum_kwh, end)),
    )


@njit(cache=True, error_model="numpy")
def fuel_liters(liters_per_h: float, liters_per_kwh: float, run_h: float, generated_kwh: float) -> float:
    """Return what a generator burns, from its run time and its output: a line (common practice, no source).

    Parameters
    ----------
    liters_per_h : float
        At no load [l/h].
    liters_per_kwh : float
        For each kWh on top [l/kWh].
    run_h : float
        Time in which it runs, idle or not [h].
    generated_kwh : float
        Its output in that time [kWh].

    Returns
    -------
    float
        [l].

    Examples
    --------
    >>> fuel_liters(0.5, 0.25, 6.0, 10.0)
    5.5
    """
    return liters_per_h * run_h + liters_per_kwh * generated_kwh


@njit(cache=True, error_model="numpy")
def _fueled_kw(limits: Limits, switching: Switching, fuel_l: float) -> float:
    """Return the highest mean output of a generator that runs for a whole step; 0 where the fuel is too little."""
    step_h, per_h, per_kwh = limits.step_h, switching.liters_per_h, switching.liters_per_kwh
    if fuel_l >= fuel_liters(per_h, per_kwh, step_h, switching.generator_kw * step_h):
        return switching.generator_kw
    left_kw = (fuel_l - fuel_liters(per_h, per_kwh, step_h, 0.0)) / (per_kwh * step_h)
    return left_kw if left_kw > _NOTHING_KW else 0.0


@njit(cache=True, error_model="numpy")
def _fuel_left(limits: Limits, switching: Switching, on_grid: bool, hour: Hour, fuel_l: float) -> float:
    """Return what is left in the tank after a step in which the generator runs [l]; on the grid it idles."""
    generated_kwh = 0.0 if on_grid else (hour.source_to_load_kw + hour.source_to_battery_kw) * limits.step_h
    return max(
        0.0, fuel_l - fuel_liters(switching.liters_per_h, switching.liters_per_kwh, limits.step_h, generated_kwh)
    )


@njit(cache=True, error_model="numpy")
def _stays_on_grid(limits: Limits, switching: Switching, grid: bool, stored_kwh: float, on_grid: bool) -> bool:
    """Return whether the home is on a grid that is there: not between its two levels, where it was off it."""
    if not grid or stored_kwh <= switching.grid_from * limits.capacity_kwh:
        return grid
    return on_grid and stored_kwh < switching.grid_until * limits.capacity_kwh


@njit(cache=True, error_model="numpy")
def _generator_runs(limits: Limits, switching: Switching, may_start: bool, stored_kwh: float, ran_h: float) -> bool:
    """Return whether a generator runs in a step; once started it runs for its shortest run, whatever happens."""
    if ran_h > 0.0:
        goes_on = may_start and stored_kwh < switching.generator_stop * limits.capacity_kwh
        return goes_on or ran_h < switching.generator_least_h
    return may_start and stored_kwh <= switching.generator_start * limits.capacity_kwh


@njit(cache=True, error_model="numpy")
def _ran(limits: Limits, switching: Switching, runs: bool, ran_h: float) -> float:
    """Return how long a generator has been running after a step; beyond its shortest run it makes no difference."""
    return min(ran_h + limits.step_h, max(switching.generator_least_h, limits.step_h)) if runs else 0.0


@njit(cache=True, error_model="numpy")
def _waits(limits: Limits, switching: Switching, stored_kwh: float, waits: bool) -> bool:
    """Return whether the battery waits to restart: it reached its low cutoff, where the rest cannot start the stage."""
    if stored_kwh >= switching.battery_restart * limits.capacity_kwh:
        return False
    above_kwh = (stored_kwh - limits.minimum_kwh) * limits.one_way
    return waits or above_kwh <= (limits.curve.k0_kw + _NOTHING_KW) * limits.step_h


@njit(cache=True, error_model="numpy")
def _orders_at(inputs: Inputs, i: int, on_grid: bool, generator_kw: float, backed_kw: float) -> Orders:
    """Return the orders of one step."""
    rules = inputs.dispatch
    return Orders(
        rules.surplus_to_battery[i],
        rules.serves_load[i],
        rules.reserve[i],
        rules.ceiling[i],
        rules.charge_to[i],
        rules.sell_to[i],
        rules.import_cap_kw[i],
        rules.export_limit_kw[i],
        rules.bias_kw[i],
        rules.grid_charge_kw[i],
        rules.discharge_limit_kw[i],
        rules.sell_limit_kw[i],
        rules.backed_up_only[i],
        rules.off_grid_floor[i],
        on_grid,
        backed_kw,
        generator_kw,
        inputs.switching.generator_charge_kw,
    )


@njit(cache=True, error_model="numpy")
def _conditions_at(inputs: Inputs, i: int) -> Conditions:
    """Return the conditions of one step."""
    pv_kw, ac_solar_kw, load_kw, cells = inputs.pv_kw[i], inputs.ac_solar_kw[i], inputs.load_kw[i], inputs.cells
    return Conditions(pv_kw, ac_solar_kw, load_kw, cells.charge_kw[i], cells.discharge_kw[i], cells.heater_kw[i])


@njit(cache=True, error_model="numpy")
def _hour_waiting(inputs: Inputs, i: int, on_grid: bool, generator_kw: float, stored_kwh: float) -> Hour:
    """Run one step in which the battery waits to restart, and so does not discharge.

    Without grid and generator the inverter is off: nothing is served, the sun at the DC inputs charges, and the
    inverters on the AC side stop.
    """
    now, dark = _conditions_at(inputs, i), not on_grid and generator_kw <= 0.0
    orders = _orders_at(inputs, i, on_grid, generator_kw, 0.0 if dark else inputs.dispatch.backed_kw[i])
    ac_kw = 0.0 if dark else now.ac_solar_kw
    rests = Conditions(now.pv_kw, ac_kw, now.load_kw, now.charge_kw, 0.0, now.heater_kw)
    hour = step(inputs.limits, orders, rests, stored_kwh)
    return Hour(
        hour.pv_to_load_kw,
        hour.pv_to_battery_kw,
        hour.pv_to_grid_kw,
        hour.clipped_kw,
        hour.curtailed_kw + now.ac_solar_kw - ac_kw,
        hour.battery_to_load_kw,
        hour.battery_to_grid_kw,
        hour.source_to_load_kw,
        hour.source_to_battery_kw,
        hour.unserved_kw,
        hour.source,
        hour.temperature_blocked_kw,
        hour.losses_kw,
        hour.battery_kwh,
    )


@njit(cache=True, error_model="numpy")
def run_steps(inputs: Inputs, start: State, table: Floats, known: Pass) -> State:
    """Run all steps of a year's inputs; a step that the table holds from the same state and inputs stays as it is.

    Parameters
    ----------
    inputs : Inputs
        Hardware, rules, sun and load.
    start : State
        At the start of the first step.
    table : array of float
        Filled: one row for each step, one column for each field of ``Hour``; steps side by side are written fastest.
    known : Pass
        What the table holds already, ``UNKNOWN`` where that is nothing.

    Returns
    -------
    State
        At the end of the last step.
    """
    limits, switching, again = inputs.limits, inputs.switching, known.end.stored_kwh >= 0.0
    nothing_changed, same = known.changed.size == 0, False
    stored, on_grid, ran_h, fuel_l, waits = start.stored_kwh, start.on_grid, start.ran_h, start.fuel_l, start.waits
    has_tank, restarts = switching.tank_liters < inf, switching.battery_restart >= 0.0
    for i in range(inputs.pv_kw.size):
        if same and not known.changed[i]:
            kept, source = table[i, _STORED], table[i, _SOURCE]
            waits_too = restarts and _waits(limits, switching, kept, True)
            # Fuel, running hours and wait are not in the table: the step is kept where none of them depends on before.
            if source < GENERATOR and not waits_too and (not has_tank or _fills(inputs, i)):
                stored, on_grid, ran_h, fuel_l, waits = kept, source == GRID, 0.0, switching.tank_liters, False
                continue
        on_grid = _stays_on_grid(limits, switching, inputs.dispatch.grid[i], stored, on_grid)
        may_start = inputs.dispatch.generator_may_start[i] and not on_grid
        runs = _generator_runs(limits, switching, may_start, stored, ran_h)
        generator_kw = switching.generator_kw if runs else 0.0
        if has_tank:
            fuel_l = switching.tank_liters if _fills(inputs, i) else fuel_l
            generator_kw = min(generator_kw, _fueled_kw(limits, switching, fuel_l))
            runs = generator_kw > 0.0
        ran_h = _ran(limits, switching, runs, ran_h)
        # The processor foresees a branch; a choice of numbers would make each step wait for the one before.
        if waits:
            hour = _hour_waiting(inputs, i, on_grid, generator_kw, stored)
        else:
            orders = _orders_at(inputs, i, on_grid, generator_kw, inputs.dispatch.backed_kw[i])
            hour = step(limits, orders, _conditions_at(inputs, i), stored)
        if has_tank and runs:
            fuel_l = _fuel_left(limits, switching, on_grid, hour, fuel_l)
        if restarts:
            waits = _waits(limits, switching, hour.battery_kwh, waits)
        met = again and table[i, _STORED] == hour.battery_kwh and table[i, _SOURCE] == hour.source and not runs
        for column in range(len(hour)):
            table[i, column] = hour[column]
        stored = hour.battery_kwh
        # Two passes have met where neither fuel nor wait depends on what came before.
        met = met and (not has_tank or _fills(inputs, i)) and waits == _waits(limits, switching, stored, not waits)
        if met and nothing_changed:
            return known.end
        same = met
    return State(stored, on_grid, ran_h, fuel_l, waits)


@njit(cache=True, error_model="numpy")
def _fills(inputs: Inputs, i: int) -> bool:
    """Return whether the generator's tank is filled as a step begins."""
    return bool(inputs.dispatch.grid[i] or inputs.dispatch.tank_filled[i])


@njit(cache=True, error_model="numpy")
def _why_unserved(
    inputs: Inputs, i: int, hour: Hour, stored_kwh: float, ran_h: float, fuel_l: float, waits: bool, runs: bool
) -> int:
    """Return why an island leaves backed-up demand unserved in a step: numbers of ``reasons``, added.

    The state is that before the step, its tank filled where the step begins with that.
    """
    limits, switching, discharge_kw = inputs.limits, inputs.switching, inputs.cells.discharge_kw[i]
    kept_kwh = limits.minimum_kwh + (stored_kwh - limits.minimum_kwh) * limits.kept
    floor_kwh = max(limits.minimum_kwh, inputs.dispatch.off_grid_floor[i] * limits.capacity_kwh)
    energy_kw = _delivered(limits, max(0.0, kept_kwh - floor_kwh) * limits.one_way / limits.step_h)
    stage_kw = hour.pv_to_load_kw - min(inputs.ac_solar_kw[i], hour.pv_to_load_kw) + hour.battery_to_load_kw
    if waits:
        why = WAITS_TO_RESTART
    elif stage_kw >= limits.curve.rated_kw - _NOTHING_KW:
        why = AT_INVERTER_RATING
    elif energy_kw <= discharge_kw:
        why = AT_OFF_GRID_FLOOR if floor_kwh > limits.minimum_kwh else AT_CUTOFF
    else:
        why = BLOCKED_BY_TEMPERATURE if discharge_kw < limits.discharge_kw else AT_BATTERY_LIMIT
    if switching.generator_kw <= 0.0:
        return why
    if runs:
        fueled_kw = _fueled_kw(limits, switching, fuel_l)
        return why + (AT_GENERATOR_RATING if fueled_kw >= switching.generator_kw else TANK_EMPTY)
    level = switching.generator_stop if ran_h > 0.0 else switching.generator_start
    if stored_kwh > level * limits.capacity_kwh:
        return why + ABOVE_START_LEVEL
    return why + (TANK_EMPTY if inputs.dispatch.generator_may_start[i] else QUIET_HOURS)


@njit(cache=True, error_model="numpy")
def run_outages(
    inputs: Inputs,
    starts: Ints,
    stored_kwh: Floats,
    begin: State,
    lasted_h: Floats,
    unserved_kwh: Floats,
    why: Ints,
    to_the_end: bool,
) -> None:
    """Simulate one outage per start step, from the energy stored at that step.

    Parameters
    ----------
    inputs : Inputs
        Of a year; after its last step comes its first. The grid is out throughout.
    starts : array of int
        The steps at whose start the grid fails.
    stored_kwh : array of float
        At the start of each step of the year [kWh].
    begin : State
        All else at each start: the tank, how long the generator has been running, whether the battery waits to restart.
    lasted_h : array of float
        Filled, one entry for each start: how long all that is backed up was served, at most the longest outage;
        within the step that fails, the share of demand that was served [h].
    unserved_kwh : array of float
        Filled, one row for each start and one column for each step of the outage: backed up demand that was not
        served from the start until the end of that step [kWh].
    why : array of int
        Filled, rows and columns as for ``unserved_kwh``: why the step leaves some unserved, numbers of ``reasons``
        added; 0 where all is served.
    to_the_end : bool
        False where each outage ends for its caller with the first step that leaves some unserved: later columns of its
        rows are not filled.
    """
    limits, switching, rules = inputs.limits, inputs.switching, inputs.dispatch
    has_tank, restarts = switching.tank_liters < inf, switching.battery_restart >= 0.0
    steps = unserved_kwh.shape[1]
    for place in range(starts.size):
        start = starts[place]
        stored, ran_h, fuel_l, total_kwh = stored_kwh[start], begin.ran_h, begin.fuel_l, 0.0
        waits = restarts and _waits(limits, switching, stored, begin.waits)
        lasted_h[place] = steps * limits.step_h
        for number in range(steps):
            i = (start + number) % inputs.pv_kw.size
            was_kwh, had_run_h, waited = stored, ran_h, waits
            runs = _generator_runs(limits, switching, rules.generator_may_start[i], stored, ran_h)
            generator_kw = switching.generator_kw if runs else 0.0
            if has_tank:
                fuel_l = switching.tank_liters if rules.tank_filled[i] else fuel_l
                generator_kw = min(generator_kw, _fueled_kw(limits, switching, fuel_l))
                runs = generator_kw > 0.0
            ran_h = _ran(limits, switching, runs, ran_h)
            if waits:
                hour = _hour_waiting(inputs, i, False, generator_kw, stored)
            else:
                orders = _orders_at(inputs, i, False, generator_kw, rules.backed_kw[i])
                hour = step(limits, orders, _conditions_at(inputs, i), stored)
            stored = hour.battery_kwh
            demand = inputs.load_kw[i] + limits.standby_kw + inputs.cells.heater_kw[i]
            backed = min(rules.backed_kw[i], demand)
            unserved = hour.unserved_kw - (demand - backed)
            why[place, number] = 0
            if unserved > _NOTHING_KW:
                if total_kwh == 0.0:
                    lasted_h[place] = (number + 1.0 - unserved / backed) * limits.step_h
                total_kwh += unserved * limits.step_h
                why[place, number] = _why_unserved(inputs, i, hour, was_kwh, had_run_h, fuel_l, waited, runs)
            unserved_kwh[place, number] = total_kwh
            if total_kwh > 0.0 and not to_the_end:
                break
            if has_tank and runs:
                fuel_l = _fuel_left(limits, switching, False, hour, fuel_l)
            if restarts:
                waits = _waits(limits, switching, stored, waits)
