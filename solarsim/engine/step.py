"""The hour: sun, demand, stored energy and orders in; who served whom and stored energy out.

One scalar function, ``step``, compiled by numba and looped by ``run_steps``. All powers are means
over the step [kW]. Flows to load and grid are AC at the home's bus; solar power, what is curtailed
of it and what it brings into the battery are DC; source to battery is AC. The source is the grid, or
where it is out a generator, if one runs.

The inverter is one conversion stage. Putting out ``a`` kW takes ``a + k0 + k1*a + k2*a*a/rated`` kW
while converting, and nothing at rest; the same curve holds from DC to AC (serving, selling) and
from AC to DC (charging from the grid).

All compiled code stands in this one file: numba's cache of a function looks at the function's own
file only, and would keep running an old ``step`` after a change elsewhere. So whoever changes a record
changes ``COMPILED_FOR`` here too; a test tells the new value.
"""

from math import exp, sqrt

import numpy as np
from numba import njit

from solarsim.engine.records import (
    GENERATOR,
    GRID,
    Cells,
    CellsNow,
    Curve,
    Dispatch,
    Floats,
    Hour,
    Ints,
    Limits,
    Orders,
    Switching,
)

COMPILED_FOR = "cc6b7d4f"  #: the records' fields, in short
_NOTHING_KW = 1e-9  # less is rounding


@njit(cache=True, error_model="numpy")
def input_for(curve: Curve, output_kw: float) -> float:
    """Tell what the stage takes to put out a power [kW]; at rest it takes nothing."""
    if output_kw <= 0.0:
        return 0.0
    return output_kw + curve.k0_kw + curve.k1 * output_kw + curve.k2 * output_kw * output_kw / curve.rated_kw


@njit(cache=True, error_model="numpy")
def output_from(curve: Curve, input_kw: float) -> float:
    """Tell what the stage puts out from a power [kW], at most its rating: ``input_for`` turned round."""
    above = input_kw - curve.k0_kw
    if above <= 0.0:
        return 0.0
    slope = 1.0 + curve.k1
    # The root in the form that stays exact where k2 is 0.
    root = 2.0 * above / (slope + sqrt(slope * slope + 4.0 * curve.k2 / curve.rated_kw * above))
    return min(root, curve.rated_kw)


@njit(cache=True, error_model="numpy")
def outputs_from(curve: Curve, input_kw: Floats) -> Floats:
    """Tell what a stage puts out from powers, step by step [kW]."""
    output_kw = np.empty_like(input_kw)
    for i in range(input_kw.size):
        output_kw[i] = output_from(curve, input_kw[i])
    return output_kw


@njit(cache=True, error_model="numpy")
def output_within(curve: Curve, wanted_kw: float, available_kw: float) -> float:
    """Tell what the stage puts out of a wanted power, given what it may take [kW]."""
    wanted_kw = min(wanted_kw, curve.rated_kw)
    if input_for(curve, wanted_kw) <= available_kw:
        return wanted_kw
    return min(wanted_kw, output_from(curve, available_kw))  # by rounding it can come out higher


@njit(cache=True, error_model="numpy")
def taken_of(limits: Limits, already_kw: float, more_kw: float, stored_kwh: float) -> float:
    """Tell what the battery takes over a step of a steady offer, beyond what it takes already, mean [kW].

    Stored energy is that at the start of the step [kWh]. Near full the charger holds the voltage and the
    current falls: here in a straight line from the full limit, where the taper begins, to 0 at full. A steady
    offer is taken whole until the line falls below it; from then on the room that is left shrinks
    exponentially. This is the exact mean of the step: two half steps take what one whole step does.
    """
    offered_kw = already_kw + more_kw
    if limits.taper_kwh <= 0.0 or offered_kw <= 0.0:
        return more_kw
    gain_kw = limits.one_way * offered_kw
    knee = limits.capacity_kwh - limits.taper_kwh * offered_kw / limits.charge_kw
    if stored_kwh + gain_kw * limits.step_h <= knee:
        return more_kw
    steady_h = max(0.0, knee - stored_kwh) / gain_kw
    room = limits.capacity_kwh - max(stored_kwh, knee)
    shrunk = room * exp(-limits.one_way * limits.charge_kw / limits.taper_kwh * (limits.step_h - steady_h))
    return max(0.0, (limits.capacity_kwh - shrunk - stored_kwh) / (limits.one_way * limits.step_h) - already_kw)


@njit(cache=True, error_model="numpy")
def drained_by(limits: Limits, discharge_kw: float) -> float:
    """Tell at which power cells drain while they give one [kW]: Peukert's law above the rated discharge."""
    if limits.peukert <= 1.0 or discharge_kw <= limits.rated_kw:
        return discharge_kw
    return float(discharge_kw * (discharge_kw / limits.rated_kw) ** (limits.peukert - 1.0))


@njit(cache=True, error_model="numpy")
def given_from(limits: Limits, drained_kw: float) -> float:
    """Tell what cells give while they drain at a power [kW]: ``drained_by`` turned round."""
    if limits.peukert <= 1.0 or drained_kw <= limits.rated_kw:
        return drained_kw
    return float(limits.rated_kw * (drained_kw / limits.rated_kw) ** (1.0 / limits.peukert))


_SOURCE = Hour._fields.index("source")


@njit(cache=True, error_model="numpy")
def step(
    limits: Limits,
    orders: Orders,
    cells: CellsNow,
    pv_kw: float,
    load_kw: float,
    stored_kwh: float,
    ac_solar_kw: float = 0.0,
) -> Hour:
    """Decide one step.

    Without the grid only what is backed up is served, from the sun, then the battery down to its hard
    minimum: the reserve is for this. A generator that runs stands in the grid's place: it serves the
    home and charges the battery with what it has left, and the battery helps above its rating.

    Parameters
    ----------
    limits : Limits
        Hardware.
    orders : Orders
        Rules in force.
    cells : CellsNow
        What the cells' temperature allows and needs.
    pv_kw : float
        Solar power offered at the DC side [kW].
    load_kw : float
        The home's load without the inverter's standby [kW].
    stored_kwh : float
        At the start of the step [kWh].
    ac_solar_kw : float
        Solar power that inverters of its own offer on the home's AC side [kW]. It serves the home first; what is left
        charges the battery through the stage, if that puts nothing out, and is sold, in the rule's order.

    Returns
    -------
    Hour
        Flows and the energy stored at the end of the step.
    """
    hours, curve, one_way = limits.step_h, limits.curve, limits.one_way
    demand = load_kw + limits.standby_kw + cells.heater_kw
    capacity = limits.capacity_kwh
    most_charge_ac, dark = curve.rated_kw, 0.0
    if not orders.grid:
        dark = max(0.0, demand - orders.backed_kw)
        demand -= dark
        most_charge_ac = min(curve.rated_kw, orders.generator_charge_kw)
        runs = orders.generator_kw > 0.0
        orders = Orders(
            surplus_to_battery=True,
            serves_load=not runs,
            floor=limits.minimum_kwh / capacity if capacity > 0.0 else 0.0,
            ceiling=1.0,
            charge_to=1.0 if runs else 0.0,
            sell_to=1.0,
            import_cap_kw=orders.generator_kw,
            export_limit_kw=0.0,
            bias_kw=0.0,
            grid=False,
            backed_kw=orders.backed_kw,
            generator_kw=orders.generator_kw,
            generator_charge_kw=orders.generator_charge_kw,
        )
    stored = limits.minimum_kwh + (stored_kwh - limits.minimum_kwh) * limits.kept

    # Zero export keeps a small import, so that the meter never runs backwards.
    bias = orders.bias_kw if orders.export_limit_kw <= 0.0 else 0.0
    servable = max(0.0, demand - bias)
    ac_to_load, ac_free = 0.0, 0.0
    if ac_solar_kw > 0.0:
        ac_to_load = min(ac_solar_kw, servable)
        ac_free = ac_solar_kw - ac_to_load
        demand -= ac_to_load
        servable -= ac_to_load
    # While solar power is left on the AC side it is first at the meter; the stage may sell up to what then remains.
    most_out = servable + max(0.0, orders.export_limit_kw - ac_free)

    # 1. An order to charge takes the sun first and the grid for the rest. The stage passes power one
    #    way at a time: while it charges from the grid, the grid also serves the home.
    ordered, from_grid = 0.0, 0.0
    if orders.charge_to > 0.0:
        wanted = max(0.0, orders.charge_to * capacity - stored) / (one_way * hours)
        offer = cells.charge_kw
        if demand <= orders.import_cap_kw:
            most_from_grid = min(most_charge_ac, orders.import_cap_kw - demand + ac_free)
            offer = min(offer, pv_kw + output_from(curve, most_from_grid))
        else:
            must_serve = min(curve.rated_kw, demand - orders.import_cap_kw)
            offer = min(offer, max(0.0, pv_kw - input_for(curve, must_serve)))
        ordered = min(wanted, taken_of(limits, 0.0, offer, stored))
        from_grid = ordered - pv_kw
        if from_grid <= curve.k0_kw:
            # Not worth starting the stage for: it would eat more than it delivers.
            from_grid = 0.0
            ordered = min(ordered, pv_kw)
    source_to_battery = input_for(curve, from_grid)
    free_kw = max(0.0, pv_kw - ordered)

    # 2. How far the battery may lift the inverter's output: to serve the home down to the floor, to
    #    cover demand above the import cap, to sell down to its own level.
    alone = output_from(curve, free_kw)
    with_battery = 0.0
    if ordered <= 0.0:
        to_serve = servable if orders.serves_load else min(servable, max(0.0, demand - orders.import_cap_kw))
        above_floor = max(0.0, stored - orders.floor * capacity)
        down_to_floor = min(cells.discharge_kw, given_from(limits, above_floor * one_way / hours))
        if to_serve > alone and down_to_floor > 0.0:
            with_battery = output_within(curve, to_serve, free_kw + down_to_floor)
        if orders.sell_to < 1.0 and orders.export_limit_kw > 0.0:
            to_sell = max(0.0, stored - max(orders.floor, orders.sell_to) * capacity)
            down_to_sell = min(cells.discharge_kw, given_from(limits, to_sell * one_way / hours))
            if down_to_sell > 0.0:
                with_battery = max(with_battery, output_within(curve, most_out, free_kw + down_to_sell))

    # 3. Either the battery gives, or the sun's surplus goes where the rule says; never both.
    charge, discharge, temperature_blocked = ordered, 0.0, 0.0
    if with_battery > alone:
        out = with_battery
        discharge = max(0.0, input_for(curve, out) - free_kw)
    else:
        room = max(0.0, orders.ceiling * capacity - stored) / (one_way * hours) - ordered
        out = min(alone, servable if orders.surplus_to_battery else most_out)
        surplus = max(0.0, free_kw - input_for(curve, out))
        taken = max(0.0, min(room, taken_of(limits, ordered, min(surplus, cells.charge_kw - ordered), stored)))
        if cells.charge_kw < limits.charge_kw:
            at_ease = min(room, taken_of(limits, ordered, min(surplus, limits.charge_kw - ordered), stored))
            temperature_blocked = max(0.0, at_ease - taken)
        charge += taken
        if orders.surplus_to_battery:
            out = max(out, output_within(curve, most_out, free_kw - taken))
    clipped, curtailed = 0.0, 0.0
    if discharge <= 0.0:
        curtailed = max(0.0, free_kw - (charge - ordered) - input_for(curve, out))
        if curtailed > 0.0 and out >= curve.rated_kw:  # the home and the grid may have room for more
            clipped = min(curtailed, input_for(curve, min(most_out, free_kw)) - input_for(curve, out))
            clipped = max(0.0, clipped)
            curtailed -= clipped

    # 4. Solar power left on the AC side: into an order to charge, into the battery, to the grid.
    ac_to_charger, from_ac, ac_charging, ac_to_grid = 0.0, 0.0, 0.0, 0.0
    if ac_free > 0.0:
        ac_to_charger = min(ac_free, source_to_battery)
        ac_free -= ac_to_charger
        if out <= 0.0 and source_to_battery <= 0.0:
            offer = ac_free if orders.surplus_to_battery else max(0.0, ac_free - orders.export_limit_kw)
            room = max(0.0, orders.ceiling * capacity - stored) / (one_way * hours) - charge
            most = min(output_from(curve, min(offer, curve.rated_kw)), cells.charge_kw - charge)
            from_ac = max(0.0, min(room, taken_of(limits, charge, max(0.0, most), stored)))
            if from_ac <= curve.k0_kw:
                from_ac = 0.0  # not worth starting the stage for
            charge += from_ac
            ac_charging = input_for(curve, from_ac)
            ac_free -= ac_charging
        ac_to_grid = min(ac_free, orders.export_limit_kw)
        left = ac_free - ac_to_grid
        if left > 0.0 and source_to_battery + ac_charging >= curve.rated_kw:  # the battery may have room for more
            level = orders.charge_to if from_grid > 0.0 else orders.ceiling
            room = (level * capacity - stored) / (one_way * hours) - charge
            more = max(0.0, min(room, taken_of(limits, charge, max(0.0, cells.charge_kw - charge), stored)))
            passed = from_grid + from_ac
            ac_clipped = min(left, input_for(curve, passed + more) - input_for(curve, passed))
            clipped += ac_clipped
            left -= ac_clipped
        curtailed += left
    # What of an order the AC side's own sun filled is the sun's, and not the source's.
    sun_s = from_grid * ac_to_charger / source_to_battery if ac_to_charger > 0.0 else 0.0

    # 5. The books of the step.
    to_load = min(out, servable)
    rest = demand - to_load
    from_source = rest if orders.grid else min(rest, orders.generator_kw)
    to_grid = out - to_load
    solar_out = min(out, alone) if discharge > 0.0 else out
    pv_to_load = min(solar_out, to_load)
    pv_to_grid = min(solar_out - pv_to_load, to_grid)
    drained = drained_by(limits, discharge)
    end = stored + one_way * charge * hours - drained * hours / one_way
    losses = (
        (input_for(curve, out) - out)
        + (source_to_battery - from_grid)
        + (ac_charging - from_ac)
        + charge * (1.0 - one_way)
        + (drained / one_way - discharge)
        + (stored_kwh - stored) / hours
    )
    return Hour(
        pv_to_load_kw=pv_to_load + ac_to_load,
        pv_to_battery_kw=charge - from_grid + sun_s,
        pv_to_grid_kw=pv_to_grid + ac_to_grid,
        clipped_kw=clipped,
        curtailed_kw=curtailed,
        battery_to_load_kw=to_load - pv_to_load,
        battery_to_grid_kw=to_grid - pv_to_grid,
        source_to_load_kw=from_source,
        source_to_battery_kw=source_to_battery - ac_to_charger,
        unserved_kw=dark + rest - from_source,
        source=(GRID if orders.grid else 0.0) + (GENERATOR if orders.generator_kw > 0.0 else 0.0),
        losses_kw=losses,
        battery_kwh=min(capacity, max(limits.minimum_kwh, end)),
        temperature_blocked_kw=temperature_blocked,
    )


@njit(cache=True, error_model="numpy")
def stays_on_grid(limits: Limits, switching: Switching, grid: bool, stored_kwh: float, on_grid: bool) -> bool:
    """Say whether the home is on the grid in a step.

    Parameters
    ----------
    limits, switching
        Capacity and levels.
    grid : bool
        It is there.
    stored_kwh : float
        At the start of the step [kWh].
    on_grid : bool
        Whether the home was on it in the step before.

    Returns
    -------
    bool
        Off it between its two levels, where there are such.
    """
    if not grid or stored_kwh <= switching.grid_from * limits.capacity_kwh:
        return grid
    return on_grid and stored_kwh < switching.grid_until * limits.capacity_kwh


@njit(cache=True, error_model="numpy")
def generator_runs(limits: Limits, switching: Switching, may_start: bool, stored_kwh: float, ran_h: float) -> bool:
    """Say whether a generator runs in a step.

    Parameters
    ----------
    limits, switching
        Capacity and levels.
    may_start : bool
        The grid is out, and the hour is not one in which it must be quiet.
    stored_kwh : float
        At the start of the step [kWh].
    ran_h : float
        For how long it has been running; 0 where it stands still [h].

    Returns
    -------
    bool
        Once started it runs for its least time, whatever comes.
    """
    if ran_h > 0.0:
        goes_on = may_start and stored_kwh < switching.generator_stop * limits.capacity_kwh
        return goes_on or ran_h < switching.generator_least_h
    return may_start and stored_kwh <= switching.generator_start * limits.capacity_kwh


@njit(cache=True, error_model="numpy")
def orders_at(dispatch: Dispatch, switching: Switching, i: int, on_grid: bool, runs: bool) -> Orders:
    """Take one step's orders out of a dispatch."""
    return Orders(
        dispatch.surplus_to_battery[i],
        dispatch.serves_load[i],
        dispatch.floor[i],
        dispatch.ceiling[i],
        dispatch.charge_to[i],
        dispatch.sell_to[i],
        dispatch.import_cap_kw[i],
        dispatch.export_limit_kw[i],
        dispatch.bias_kw[i],
        on_grid,
        dispatch.backed_kw[i],
        switching.generator_kw if runs else 0.0,
        switching.generator_charge_kw,
    )


@njit(cache=True, error_model="numpy")
def cells_at(cells: Cells, i: int) -> CellsNow:
    """Take one step out of what the temperature means over a year."""
    return CellsNow(cells.charge_kw[i], cells.discharge_kw[i], cells.heater_kw[i])


@njit(cache=True, error_model="numpy")
def run_steps(
    limits: Limits,
    dispatch: Dispatch,
    switching: Switching,
    cells: Cells,
    pv_kw: Floats,
    load_kw: Floats,
    start_kwh: float,
    table: Floats,
    again: bool = False,
    ac_solar_kw: Floats | None = None,
    on_grid: bool = False,
    ran_h: float = 0.0,
) -> float:
    """Loop over all steps of a dispatch.

    Parameters
    ----------
    limits : Limits
        Hardware.
    dispatch : Dispatch
        Rules, one entry for each step.
    switching : Switching
        When generator and grid come in.
    cells : Cells
        What the cells' temperature allows and needs, one entry for each step.
    pv_kw, load_kw : arrays of float
        As in ``step``, one entry for each step [kW].
    start_kwh : float
        Stored at the start of the first step [kWh].
    table : array of float
        Filled: one row for each step, one column for each field of ``Hour``; steps side by side are written fastest.
    again : bool
        The table holds the same steps from another start: stop where both have stored the same, since all that
        follows is the same.
    ac_solar_kw : array of float, optional
        As in ``step``, one entry for each step [kW].
    on_grid : bool
        Whether the home was on the grid just before the first step.
    ran_h : float
        For how long a generator has been running by then; 0 where none runs [h].

    Returns
    -------
    float
        Stored at the end of the last step [kWh].
    """
    stored = start_kwh
    for i in range(pv_kw.size):
        on_grid = stays_on_grid(limits, switching, dispatch.grid[i], stored, on_grid)
        runs = generator_runs(limits, switching, dispatch.generator_may_start[i] and not on_grid, stored, ran_h)
        ran_h = ran_h + limits.step_h if runs else 0.0
        orders, now = orders_at(dispatch, switching, i, on_grid, runs), cells_at(cells, i)
        ac_kw = 0.0 if ac_solar_kw is None else ac_solar_kw[i]
        hour = step(limits, orders, now, pv_kw[i], load_kw[i], stored, ac_kw)
        # How long a generator has run is not in the table: while one runs, two passes cannot be told to have met.
        met = again and table[i, -1] == hour.battery_kwh and table[i, _SOURCE] == hour.source and not runs
        for column in range(len(hour)):
            table[i, column] = hour[column]
        stored = hour.battery_kwh
        if met:
            return float(table[-1, -1])
    return stored


@njit(cache=True, error_model="numpy")
def run_outages(
    limits: Limits,
    dispatch: Dispatch,
    switching: Switching,
    cells: Cells,
    pv_kw: Floats,
    load_kw: Floats,
    starts: Ints,
    stored_kwh: Floats,
    lasted_h: Floats,
    unserved_kwh: Floats,
    ac_solar_kw: Floats | None = None,
) -> None:
    """Let the grid fail again and again, each time from the energy stored then.

    Parameters
    ----------
    limits, dispatch, switching, cells
        As in ``run_steps``; after the dispatch's last step comes its first. The grid is out throughout.
    pv_kw, load_kw : arrays of float
        As in ``step``, one entry for each step [kW].
    starts : array of int
        The steps at whose start the grid fails.
    stored_kwh : array of float
        At the start of each step of the dispatch [kWh].
    lasted_h : array of float
        Filled, one entry for each start: how long all that is backed up was served, at most the
        longest outage; within the step that fails, the share of demand that was served [h].
    unserved_kwh : array of float
        Filled, one row for each start and one column for each step of the outage: what of the backed
        up demand was not served from the start until the end of that step [kWh].
    ac_solar_kw : array of float, optional
        As in ``step``, one entry for each step [kW].
    """
    steps = unserved_kwh.shape[1]
    for place in range(starts.size):
        start = starts[place]
        stored, ran_h, missing_kwh = stored_kwh[start], 0.0, 0.0
        lasted_h[place] = steps * limits.step_h
        for number in range(steps):
            i = (start + number) % pv_kw.size
            runs = generator_runs(limits, switching, dispatch.generator_may_start[i], stored, ran_h)
            ran_h = ran_h + limits.step_h if runs else 0.0
            orders, now = orders_at(dispatch, switching, i, False, runs), cells_at(cells, i)
            ac_kw = 0.0 if ac_solar_kw is None else ac_solar_kw[i]
            hour = step(limits, orders, now, pv_kw[i], load_kw[i], stored, ac_kw)
            stored = hour.battery_kwh
            demand = load_kw[i] + limits.standby_kw + now.heater_kw
            backed = min(dispatch.backed_kw[i], demand)
            missing = hour.unserved_kw - (demand - backed)
            if missing > _NOTHING_KW:
                if missing_kwh == 0.0:
                    lasted_h[place] = (number + 1.0 - missing / backed) * limits.step_h
                missing_kwh += missing * limits.step_h
            unserved_kwh[place, number] = missing_kwh
