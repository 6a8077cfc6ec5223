"""Controllers that plan: what they expect of the hours ahead in, the order of each step out.

A plan is a stochastic dynamic program over the engine's own ``step``. It knows a few courses that the time ahead may
take, each with a probability, and looks for one order for each step and each level of stored energy: the lowest cost in
the mean of all courses, each of which goes on as it began for some hours. Then the steps until the next plan happen as
they do, the order of each chosen by that plan at the energy that is really stored. What a controller chooses is a
dispatch like any other.

Of the time ahead a plan knows only ``Outlook``, the expected series and the prices. Of the inputs that happen it sees
what the user ordered and the energy stored so far, never the sun or load of a step that is not over.

The compiled code is kept as in ``foresight``: see there.
"""

from typing import Any, NamedTuple

import numpy as np
from numba import njit

from solarsim.engine import foresight
from solarsim.engine.foresight import _CLEARLY, Choices, Worth, _between, _cost_of, _files_hash, _orders_of, _stored_at
from solarsim.engine.records import Conditions, Floats, Inputs, Ints
from solarsim.engine.step import _conditions_at, _orders_at, step


class Outlook(NamedTuple):
    """What a controller expects when it plans: some courses for each plan, all of the same length.

    Attributes
    ----------
    begins : array of int
        First step of each plan, ascending; the first is 0. A plan is followed until the next one begins.
    lasts : int
        A course goes on as it began for so many steps; then all of them are possible again.
    weight : array of float
        Probability of each course, 0-1; one row for each plan, which adds up to 1. A plan whose row is 0 expects
        nothing: order 0 is given throughout.
    source : array of int
        Step of the expected series that stands for each step ahead: plan, course, step.
    sun, load : arrays of float
        By which the solar power and the load of that step are multiplied; shaped like ``source``.
    """

    begins: Ints
    lasts: int
    weight: Floats
    source: Ints
    sun: Floats
    load: Floats


class Memory(NamedTuple):
    """What a controller carries from one stretch of steps to the next.

    Attributes
    ----------
    stored_kwh : float
        Stored energy [kWh].
    later_cost : array of float
        What each level of stored energy, from the minimum to full, cost beyond the lowest level when the last plan was
        made [currency]; zeros before the first. It values the energy at the end of the next plan.
    chosen : array of int
        Order of each step of the year; filled so far.
    import_kw, export_kw : arrays of float
        Import and export of each step of the year; filled so far [kW].
    """

    stored_kwh: float
    later_cost: Floats
    chosen: Ints
    import_kw: Floats
    export_kw: Floats


@njit(error_model="numpy")
def _expected_at(expected, outlook, plan, course, ahead):  # type: ignore[no-untyped-def]
    """Return the conditions that a course of a plan expects."""
    sun, load = outlook.sun[plan, course, ahead], outlook.load[plan, course, ahead]
    then = _conditions_at(expected, outlook.source[plan, course, ahead])
    return Conditions(
        then.pv_kw * sun,
        then.ac_solar_kw * sun,
        then.load_kw * load,
        then.charge_kw,
        then.discharge_kw,
        then.heater_kw,
    )


@njit(error_model="numpy")
def _best_in_mean(inputs, expected, choices, worth, outlook, plan, ahead, later, stored, tried, found):  # type: ignore[no-untyped-def]
    """Return the order of the lowest mean cost from a step on; fill in what each course costs with it.

    ``later`` has one row for each course: what each level of stored energy costs from the next step on.
    """
    limits, step_h = inputs.limits, inputs.limits.step_h
    i = (outlook.begins[plan] + ahead) % inputs.pv_kw.size
    given = _orders_at(inputs, i, True, 0.0, inputs.dispatch.backed_kw[i])
    lowest, best = np.inf, 0
    for number in range(choices.reserve.size):
        orders, mean = _orders_of(choices, number, given), 0.0
        for course in range(later.shape[0]):
            weight = outlook.weight[plan, course]
            if weight > 0.0:
                hour = step(limits, orders, _expected_at(expected, outlook, plan, course, ahead), stored)
                cost = _cost_of(worth, i, step_h, hour, True, False, stored)
                tried[course] = cost + _between(later[course], limits, hour.battery_kwh)
                mean += weight * tried[course]
        if mean < lowest - _CLEARLY:
            lowest, best = mean, number
            found[:] = tried
    return best


@njit(error_model="numpy")
def _level_out(weight, costs):  # type: ignore[no-untyped-def]
    """Make the mean of all courses the cost of each: from here on any of them may follow."""
    for level in range(costs.shape[1]):
        costs[:, level] = (weight * costs[:, level]).sum()


@njit(error_model="numpy")
def _look_ahead(inputs, expected, choices, worth, outlook, plan, later_cost, costs):  # type: ignore[no-untyped-def]
    """Fill in what each step ahead costs from there on, by course and level of stored energy."""
    limits, levels, horizon = inputs.limits, later_cost.size, outlook.source.shape[2]
    weight = outlook.weight[plan]
    tried, found = np.zeros(weight.size), np.zeros(weight.size)
    costs[horizon, :, :] = later_cost
    for ahead in range(horizon - 1, -1, -1):
        later = costs[ahead + 1]
        if (ahead + 1) % outlook.lasts == 0:
            _level_out(weight, later)
        for level in range(levels):
            stored = _stored_at(limits, level, levels - 1)
            _best_in_mean(inputs, expected, choices, worth, outlook, plan, ahead, later, stored, tried, found)
            costs[ahead, :, level] = found
    for level in range(levels):
        later_cost[level] = (weight * (costs[0, :, level] - costs[0, :, 0])).sum()


def _compiled(engine_files: int) -> Any:
    """Return the compiled controller; ``engine_files`` is there to be in the key of its cache."""

    @njit(cache=True, nogil=True, error_model="numpy")
    def follow(inputs, expected, choices, worth, outlook, first, end, memory):  # type: ignore[no-untyped-def]
        stored, later_cost, chosen = memory.stored_kwh, memory.later_cost, memory.chosen
        if engine_files < 0:
            return stored
        limits, rules, begins = inputs.limits, inputs.dispatch, outlook.begins
        courses, horizon = outlook.source.shape[1], outlook.source.shape[2]
        costs = np.zeros((horizon + 1, courses, later_cost.size))
        tried, found = np.zeros(courses), np.zeros(courses)
        for plan in range(begins.size):
            if begins[plan] < first or begins[plan] >= end:
                continue
            expects = outlook.weight[plan].sum() > 0.0
            if expects:
                _look_ahead(inputs, expected, choices, worth, outlook, plan, later_cost, costs)
            for i in range(begins[plan], begins[plan + 1] if plan + 1 < begins.size else inputs.pv_kw.size):
                ahead, best = i - begins[plan], 0
                if expects and rules.grid[i]:
                    later = costs[ahead + 1]
                    best = _best_in_mean(
                        inputs, expected, choices, worth, outlook, plan, ahead, later, stored, tried, found
                    )
                given = _orders_at(inputs, i, rules.grid[i], 0.0, rules.backed_kw[i])
                hour = step(limits, _orders_of(choices, best, given), _conditions_at(inputs, i), stored)
                stored, chosen[i] = hour.battery_kwh, best
                memory.import_kw[i] = (hour.source_to_load_kw + hour.source_to_battery_kw) if rules.grid[i] else 0.0
                memory.export_kw[i] = hour.pv_to_grid_kw + hour.battery_to_grid_kw
        return stored

    return follow


_follow = _compiled(_files_hash(foresight))


def before_first_plan(inputs: Inputs, levels: int) -> Memory:
    """Return the memory of a controller that has not planned yet; its battery is empty.

    Parameters
    ----------
    inputs : Inputs
        Of the year.
    levels : int
        Of stored energy at which plans compute costs, at least 2.

    Returns
    -------
    Memory
        Of the start of the first step.
    """
    steps = inputs.pv_kw.size
    return Memory(
        inputs.limits.minimum_kwh, np.zeros(levels), np.zeros(steps, np.int64), np.zeros(steps), np.zeros(steps)
    )


def follow_plans(
    inputs: Inputs,
    expected: Inputs,
    choices: Choices,
    worth: Worth,
    outlook: Outlook,
    memory: Memory,
    first: int,
    end: int,
) -> Memory:
    """Plan and act through a stretch of the year.

    Parameters
    ----------
    inputs : Inputs
        Hardware, sun and load as they happen. Of the dispatch all that is no choice holds in every step.
    expected : Inputs
        The series that the outlook's sources are steps of.
    choices : Choices
        Orders to choose from; the first is given where nothing is expected, or the grid is out.
    worth : Worth
        What the controller takes energy to cost and to earn, for all steps of the year: plans look beyond the stretch.
    outlook : Outlook
        What it expects when it plans.
    memory : Memory
        From the stretch before, or ``before_first_plan``.
    first, end : int
        All plans that begin from the one step to before the other are made, and followed to the next.

    Returns
    -------
    Memory
        Of the end of the stretch. Plans foresee no outage and no generator, and the state of either is not followed.

    Raises
    ------
    ValueError
        An array has another shape than the rest, a source is no step, or a plan ends before the next one begins.
    """
    steps, (plans, courses, horizon) = inputs.pv_kw.size, outlook.source.shape
    follows = np.diff(outlook.begins, append=steps)
    fits = outlook.weight.shape == (plans, courses) and outlook.sun.shape == outlook.load.shape == outlook.source.shape
    if not fits or outlook.begins.shape != (plans,) or outlook.begins[0] != 0 or memory.chosen.size != steps:
        raise ValueError("the outlook's arrays do not fit each other or the year")
    if outlook.source.min() < 0 or outlook.source.max() >= expected.pv_kw.size:  # the compiled loop would read beyond
        raise ValueError("the outlook names a step that the expected series do not have")
    if follows.min() < 1 or follows.max() > horizon:
        raise ValueError(f"a plan is followed for {follows.max()} steps, and looks {horizon} ahead")
    memory = memory._replace(
        later_cost=memory.later_cost.copy(),
        chosen=memory.chosen.copy(),
        import_kw=memory.import_kw.copy(),
        export_kw=memory.export_kw.copy(),
    )
    return memory._replace(stored_kwh=_follow(inputs, expected, choices, worth, outlook, first, end, memory))
