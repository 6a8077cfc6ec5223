"""What the hardware allows, as rows of a linear program: a year's inputs in, import and export of each step out.

In each step

    import - export + generator + unserved = demand + charger input - inverter output - solar power on the AC side
    solar + discharge + charger output - charge >= inverter input
    stored after <= stored before x kept + charge x one_way - discharge / one_way     (the year a circle)

The stage's input is convex in its output once the loss of running at all is spread by the chord from the origin, as far
as the output of a step can reach; tangents lie below it, so a bound stays a bound. Output is made of pieces, each with
the slope of its chord or tangent: the first ones need least and are filled first. A bank's taper near full and
Peukert's loss are left out, which only loosens the bound.

A reserve binds discharge, not the state: self-discharge and a reserve that rises put the stored energy below it
legitimately. So the energy above each level of reserve is a store of its own, which every charge fills and which is
drawn on while a reserve at or above its level holds. What a run stores above a level is never more than that:
max(0, kept x e - r) <= kept x max(0, e - r).
"""

from dataclasses import dataclass
from itertools import pairwise
from math import inf, sqrt

import numpy as np

from solarsim.engine.records import Bools, Curve, Dispatch, Inputs, Limits, Switching
from solarsim.engine.step import outputs_from
from solarsim.studies.optimum._linear import Floats, Linear, Program, fixed

_TANGENTS = 4
_TINY_KW = 1e-3  # a chord to less would be as steep as no solver likes


@dataclass(frozen=True, eq=False)
class Steps:
    """What each step of a program's year may do [kW]."""

    import_kw: Linear
    export_kw: Linear
    discharge_kw: Linear
    generator_kw: Linear
    unserved_kw: Linear


def steps_of(program: Program, year: Inputs, export_limit_kw: float) -> Steps:
    """Add the columns and rows of a year's hardware; of its dispatch only reserve and supply count."""
    limits, rules, cells = year.limits, year.dispatch, year.cells
    n, curve = year.pv_kw.size, limits.curve
    demand_kw = year.load_kw + limits.standby_kw + cells.heater_kw
    most_in_kw, most_out_kw = most_import(year), most_export(year, export_limit_kw)

    bought, sold = program.columns(n, most_in_kw), program.columns(n, most_out_kw)
    permitted_kw = np.where(rules.grid, export_limit_kw, 0.0)
    most_converted_kw = (
        np.minimum(curve.rated_kw, demand_kw + permitted_kw),
        np.minimum(curve.rated_kw, cells.charge_kw),
    )
    out, stage_in = _stage(program, curve, most_converted_kw[0])
    from_ac, into_charger = _stage(program, curve, most_converted_kw[1])
    charge, discharge = program.columns(n, cells.charge_kw), program.columns(n, cells.discharge_kw)
    generated, unserved = _without_grid(program, year, demand_kw)
    served = bought - sold + out - into_charger + generated + unserved
    if year.ac_solar_kw.any():
        served = served + program.columns(n, year.ac_solar_kw)
    program.equal(served, demand_kw)
    program.at_most(stage_in + charge, discharge + from_ac + year.pv_kw)
    _stores(program, limits, floors_kwh(limits, rules, year.switching), charge, discharge)
    return Steps(bought, sold, discharge, generated, unserved)


def _stage(program: Program, curve: Curve, most_kw: Floats) -> tuple[Linear, Linear]:
    """Add what the stage puts out in one direction; return it and the input that it needs at least [kW]."""
    out = needed = fixed(np.zeros(most_kw.size))
    for slope, length in pieces_below(curve, most_kw):
        if length.any():
            piece = program.columns(most_kw.size, length)
            out, needed = out + piece, needed + slope * piece
    return out, needed


def not_both(program: Program, year: Inputs, steps: Steps, export_limit_kw: float, where: Bools) -> None:
    """Keep import and export apart in some steps, as far as a linear program can: their shares add up to 1 at most."""
    most_in_kw, most_out_kw = most_import(year), most_export(year, export_limit_kw)
    places = np.flatnonzero(where & (most_in_kw > 0.0) & (most_out_kw > 0.0))
    shares = (1.0 / most_in_kw[places]) * steps.import_kw.at(places)
    program.at_most(shares + (1.0 / most_out_kw[places]) * steps.export_kw.at(places), np.ones(places.size))


def most_import(year: Inputs) -> Floats:
    """Return the highest import of each step: demand, and what the charger draws at its limit [kW]."""
    curve, cells = year.limits.curve, year.cells
    charged_kw = np.minimum(curve.rated_kw, cells.charge_kw)
    drawn_kw = curve.k0_kw + (1.0 + curve.k1 + curve.k2 / curve.rated_kw * charged_kw) * charged_kw
    demand_kw = year.load_kw + year.limits.standby_kw + cells.heater_kw
    return np.where(year.dispatch.grid, demand_kw + np.where(charged_kw > 0.0, drawn_kw, 0.0), 0.0)


def most_export(year: Inputs, export_limit_kw: float) -> Floats:
    """Return the highest export of each step: what sun and battery can put out, at most the limit [kW]."""
    out_kw = outputs_from(year.limits.curve, year.pv_kw + year.cells.discharge_kw) + year.ac_solar_kw
    return np.where(year.dispatch.grid, np.minimum(export_limit_kw, out_kw), 0.0)


def floors_kwh(limits: Limits, rules: Dispatch, switching: Switching) -> Floats:
    """Return the energy above the low cutoff that the reserve keeps from discharge in each step [kWh]."""
    room_kwh = limits.capacity_kwh - limits.minimum_kwh
    kept_kwh = np.clip(rules.reserve * limits.capacity_kwh - limits.minimum_kwh, 0.0, room_kwh)
    return np.where(_may_be_island(rules, switching), 0.0, kept_kwh)


def _may_be_island(rules: Dispatch, switching: Switching) -> Bools:
    """Return in which steps the home may be without the grid: it is out, or the home turns to it last."""
    return ~rules.grid | (switching.grid_from < 1.0)


def _stores(program: Program, limits: Limits, floors: Floats, charge: Linear, discharge: Linear) -> None:
    """Add the energy above each level of reserve [kWh]."""
    steps, hours = np.arange(floors.size), limits.step_h
    rooms = [(level, limits.capacity_kwh - limits.minimum_kwh - level) for level in np.unique(floors).tolist()]
    below: tuple[float, float, Linear] | None = None
    for level, room in rooms:
        stored = program.columns(floors.size, room)
        filled = limits.kept * stored.at(steps - 1) + limits.one_way * hours * charge
        program.at_most(stored + np.where(floors >= level, hours / limits.one_way, 0.0) * discharge, filled)
        if below is not None:
            lower, more_room, all_above = below
            program.at_most(all_above - stored, np.full(floors.size, level - lower))
            program.at_most(more_room * stored - room * all_above, np.zeros(floors.size))
        below = level, room, stored


def _without_grid(program: Program, year: Inputs, demand_kw: Floats) -> tuple[Linear, Linear]:
    """Add what a generator may put out, and what may stay unserved: nothing where the grid is always there [kW]."""
    rules, switching, n = year.dispatch, year.switching, demand_kw.size
    island = _may_be_island(rules, switching)
    if not island.any():
        return fixed(np.zeros(n)), fixed(np.zeros(n))
    shed_kw = np.where(rules.grid, 0.0, np.maximum(0.0, demand_kw - rules.backed_kw))
    unserved = program.columns(n, np.where(island, demand_kw, 0.0), shed_kw)
    may_run = rules.generator_may_start & (switching.generator_kw > 0.0)
    for step in range(1, int(np.ceil(switching.generator_least_h / year.limits.step_h))):
        may_run = may_run | np.roll(rules.generator_may_start & (switching.generator_kw > 0.0), step)
    return program.columns(n, np.where(island & may_run, switching.generator_kw, 0.0)), unserved


def pieces_below(curve: Curve, most_kw: Floats) -> list[tuple[Floats, Floats]]:
    """Return pieces of output up to a limit of each step, from 0 on: input for each kW of output, and length [kW].

    Together they lie below the stage's curve: the chord from the origin that touches it, or ends on it at the limit;
    then tangents. A curve without a square term has only its chord.
    """
    square, rated_kw = curve.k2 / curve.rated_kw, curve.rated_kw
    touch_kw = min(sqrt(curve.k0_kw / square), rated_kw) if square > 0.0 else rated_kw
    ends_kw = np.clip(most_kw, min(_TINY_KW, touch_kw), touch_kw)
    running = np.divide(curve.k0_kw, ends_kw, out=np.zeros_like(ends_kw), where=ends_kw > 0.0)
    points = [touch_kw, *(np.linspace(touch_kw, rated_kw, _TANGENTS)[1:].tolist() if touch_kw < rated_kw else [])]
    slopes = [1.0 + curve.k1 + running + square * ends_kw]
    slopes += [np.full_like(ends_kw, 1.0 + curve.k1 + 2.0 * square * point) for point in points[1:]]
    # The chord is the tangent where it touches; two tangents of a parabola meet midway.
    meets = [0.0, *(sum(pair) / 2.0 for pair in pairwise(points)), inf]
    lengths = [np.clip(most_kw - low, 0.0, high - low) for low, high in pairwise(meets)]
    return list(zip(slopes, lengths, strict=True))
