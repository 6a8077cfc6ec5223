"""What decided a step: one limit or setting after the other is changed and the engine asked again.

A setting of the strategy that is in force is replaced by its opposite, by the value that switches it off, or left out;
a limit of the hardware is moved out of reach. What changes the flows of the step decided it. Limits that each suffice
hide each other: where all other limits changed together change the flows, the smallest set of them is named as one,
until none is left that would.

What an order to charge or to sell does at another level is a reason only where the order itself is one: a setting that
changes nothing when it is switched off decided nothing.
"""

from collections.abc import Callable, Iterator, Sequence
from math import inf
from typing import NamedTuple

from solarsim.engine.records import Floats, Limits
from solarsim.studies.explain._one_step import OneStep, changes

_FAR = 1e6  # times a rating, or kWh: out of reach
_LEVELS = ("reserve", "ceiling", "charge_to", "sell_to", "off_grid_floor")
_SWITCHING_LEVELS = ("generator_start", "generator_stop", "grid_from", "grid_until", "battery_restart")

Relaxed = Callable[[OneStep], OneStep]


class Relaxation(NamedTuple):
    """One setting or limit, and how to do without it; ``limit`` is false for an order that is merely another one."""

    key: str
    relaxed: Relaxed
    limit: bool = True


class Decider(NamedTuple):
    """Settings or limits that decided a step, and what the flows would be by with them changed [kW]."""

    relaxed: tuple[Relaxation, ...]
    changes_kw: dict[str, float]

    @property
    def keys(self) -> tuple[str, ...]:
        """Their names."""
        return tuple(each.key for each in self.relaxed)


def deciders_of(step: OneStep) -> list[Decider]:
    """Return what decided a step."""
    was = step.run()
    found, silent = [], []
    for each in relaxations(step):
        difference = changes(was, each.relaxed(step).run())
        if difference:
            found.append(Decider((each,), difference))
        elif each.limit:
            silent.append(each)
    while (together := _smallest(step, was, silent)) is not None:
        found.append(together)
        silent = [each for each in silent if each not in together.relaxed]
    return found


def all_relaxed(step: OneStep, relaxed: Sequence[Relaxation]) -> OneStep:
    """Return the step with several limits relaxed."""
    for each in relaxed:
        step = each.relaxed(step)
    return step


def _smallest(step: OneStep, was: Floats, silent: list[Relaxation]) -> Decider | None:
    """Return limits that bind only together: none of them can be left out."""
    if not changes(was, all_relaxed(step, silent).run()):
        return None
    kept, smaller = silent, True
    while smaller:  # one that is needed beside others may not be needed once they are gone
        smaller = False
        for each in kept:
            fewer = [other for other in kept if other is not each]
            if changes(was, all_relaxed(step, fewer).run()):
                kept, smaller = fewer, True
    return Decider(tuple(kept), changes(was, all_relaxed(step, kept).run()))


def relaxations(step: OneStep) -> Iterator[Relaxation]:
    """Yield what is in force in a step and could have decided it."""
    on_grid = step.on_grid
    yield from _settings(step) if on_grid else _island_settings(step)
    yield from _hardware(step, on_grid)
    if not on_grid:
        yield from _generator(step)


def _settings(step: OneStep) -> Iterator[Relaxation]:
    """Yield the settings that are in force while the grid is there."""
    order = step.order
    if order("reserve") > step.cutoff:
        yield Relaxation("reserve", _without_reserve)
    if order("ceiling") < 1.0:
        yield Relaxation("solar_ceiling", lambda now: now.ordered(ceiling=1.0))
    yield from _charging(step)
    if step.if_hybrid is None:
        yield from _connected(step)
    else:
        orders = step.if_hybrid
        yield Relaxation("arrangement.kind", lambda now: now.ordered(**orders))
    if order("bias_kw") > 0.0 and order("export_limit_kw") <= 0.0:
        yield Relaxation("zero_export_bias_kw", lambda now: now.ordered(bias_kw=0.0))
    for name in ("import_cap_kw", "grid_charge_kw", "discharge_limit_kw"):
        if order(name) < inf:
            yield Relaxation(name, lambda now, name=name: now.ordered(**{name: inf}))  # type: ignore[misc]
    if order("backed_up_only"):
        yield Relaxation("load_served", lambda now: now.ordered(backed_up_only=False))


def _charging(step: OneStep) -> Iterator[Relaxation]:
    """Yield an order to charge: that it is there, and the level at which it stopped."""
    level = step.order("charge_to")
    highest = float(step.order("sell_to") if step.if_hybrid is None else step.if_hybrid["sell_to"])  # as written
    if level <= 0.0:
        return
    yield Relaxation("charge_from_grid_to", lambda now: now.ordered(charge_to=0.0))
    without = changes(step.run(), step.ordered(charge_to=0.0).run())
    if level < highest and any(without.get(f"{source}_to_battery_kw", 0.0) < 0.0 for source in ("grid", "pv")):
        yield Relaxation("charge_from_grid_to", lambda now: now.ordered(charge_to=highest), limit=False)


def _connected(step: OneStep) -> Iterator[Relaxation]:
    """Yield the settings of a home that may export and serve itself while the grid is there."""
    order = step.order
    flipped, serves = not order("surplus_to_battery"), bool(order("serves_load"))
    yield Relaxation("surplus_to", lambda now: now.ordered(surplus_to_battery=flipped), limit=False)
    yield Relaxation("battery_serves_load", lambda now: now.ordered(serves_load=not serves), limit=not serves)
    if order("sell_to") < 1.0:
        yield Relaxation("sell_down_to", lambda now: now.ordered(sell_to=1.0), limit=False)
        if order("sell_to") > step.cutoff and changes(step.run(), step.ordered(sell_to=1.0).run()):
            yield Relaxation("sell_down_to", _sold_further)
    if step.own_export_kw < inf:
        yield Relaxation("export_limit_kw", lambda now: now.exporting(own_export_kw=inf))
    if step.utility_export_kw < inf:
        yield Relaxation("grid.export_limit_kw", lambda now: now.exporting(utility_export_kw=inf))
    if order("sell_limit_kw") < inf:
        yield Relaxation("sell_limit_kw", lambda now: now.ordered(sell_limit_kw=inf))


def _without_reserve(step: OneStep) -> OneStep:
    """Return the step with a reserve at the low cutoff; the floor of an island may not be above it."""
    return step.ordered(reserve=step.cutoff, off_grid_floor=min(step.order("off_grid_floor"), step.cutoff))


def _sold_further(step: OneStep) -> OneStep:
    """Return the step with selling down to the lowest level that the other levels allow."""
    return step.ordered(sell_to=max(step.cutoff, step.order("reserve"), step.order("charge_to")))


def _island_settings(step: OneStep) -> Iterator[Relaxation]:
    """Yield what is in force while the home is without the grid."""
    if step.order("grid"):
        yield Relaxation("arrangement.grid_from", lambda now: now.switched(grid_from=1.0, grid_until=1.0), limit=False)
    else:
        yield Relaxation(
            "grid", lambda now: now.ordered(grid=True).switched(grid_from=1.0, grid_until=1.0), limit=False
        )
    if step.order("off_grid_floor") > step.cutoff:
        yield Relaxation("off_grid_floor", lambda now: now.ordered(off_grid_floor=0.0))
    yield Relaxation("arrangement", lambda now: now.ordered(backed_kw=_FAR))


def _hardware(step: OneStep, on_grid: bool) -> Iterator[Relaxation]:
    """Yield the limits of inverter, battery and cells."""
    limits, cells = step.inputs.limits, step.inputs.cells
    yield Relaxation("inverter.ac_kw", _rated_far)
    if limits.capacity_kwh <= 0.0:
        return
    if cells.charge_kw[0] < limits.charge_kw:
        yield Relaxation("cells_charge", lambda now: _cells(now, charge_kw=now.inputs.limits.charge_kw))
    if cells.discharge_kw[0] < limits.discharge_kw:
        yield Relaxation("cells_discharge", lambda now: _cells(now, discharge_kw=now.inputs.limits.discharge_kw))
    if limits.charge_kw < inf:
        yield Relaxation("charge_power", _charge_far)
    if limits.discharge_kw < inf:
        yield Relaxation("discharge_power", _discharge_far)
    if limits.taper_kwh > 0.0:
        yield Relaxation("battery.taper_from", lambda now: now.limited(taper_kwh=0.0))
    yield Relaxation("battery_full", lambda now: _with_room(now, 0.0, _FAR))
    if step.before.waits:
        yield Relaxation("battery.restart_at", _restarted)
    floor = step.order("reserve") if on_grid else step.order("off_grid_floor")
    if floor <= step.cutoff:
        yield Relaxation("battery.low_cutoff", lambda now: _with_room(now, _FAR, 0.0))


def _generator(step: OneStep) -> Iterator[Relaxation]:
    """Yield the limits of a generator."""
    switching = step.inputs.switching
    if switching.generator_kw <= 0.0:
        return
    yield Relaxation("generator.kw", lambda now: now.switched(generator_kw=_FAR))
    yield Relaxation("generator.charge_kw", lambda now: now.switched(generator_charge_kw=inf))
    yield Relaxation("generator.start_at", lambda now: now.switched(generator_start=2.0, generator_stop=2.0))
    if switching.generator_least_h > 0.0 and step.before.ran_h > 0.0:
        yield Relaxation("generator.least_run_h", lambda now: now.switched(generator_least_h=0.0))
    if not step.order("generator_may_start"):
        yield Relaxation("generator.may_start", lambda now: now.ordered(generator_may_start=True))
    if switching.tank_liters < inf:
        yield Relaxation(
            "generator.tank_liters",
            lambda now: now._replace(before=now.before._replace(fuel_l=inf)).switched(tank_liters=inf),
        )


def _rated_far(step: OneStep) -> OneStep:
    """Return the step with an inverter that is never full; its losses at an output stay."""
    curve = step.inputs.limits.curve
    return step.limited(curve=curve._replace(rated_kw=curve.rated_kw * _FAR, k2=curve.k2 * _FAR))


def _cells(step: OneStep, **limits_kw: float) -> OneStep:
    """Return the step with other limits of the cells' temperature."""
    cells = step.inputs.cells
    arrays = {name: getattr(cells, name) * 0.0 + value for name, value in limits_kw.items()}
    return step._replace(inputs=step.inputs._replace(cells=cells._replace(**arrays)))


def _charge_far(step: OneStep) -> OneStep:
    """Return the step with a battery that charges at any power as long as its cells are at ease; its taper stays."""
    limits, cells = step.inputs.limits, step.inputs.cells
    cold = cells.charge_kw[0] < limits.charge_kw
    far = step.limited(charge_kw=limits.charge_kw * _FAR, taper_kwh=limits.taper_kwh * _FAR)
    return far if cold else _cells(far, charge_kw=limits.charge_kw * _FAR)


def _discharge_far(step: OneStep) -> OneStep:
    """Return the step with a battery that discharges at any power as long as its cells are at ease."""
    limits, cells = step.inputs.limits, step.inputs.cells
    cold = cells.discharge_kw[0] < limits.discharge_kw
    far = step.limited(discharge_kw=limits.discharge_kw * _FAR)
    return far if cold else _cells(far, discharge_kw=limits.discharge_kw * _FAR)


def _with_room(step: OneStep, below_kwh: float, above_kwh: float) -> OneStep:
    """Return the step with more energy in the battery and more room; every level keeps its distance to what is stored.

    Only a level that means the very end moves with it: full, or the low cutoff.
    """
    limits: Limits = step.inputs.limits
    was_kwh, kwh, cutoff = limits.capacity_kwh, below_kwh + limits.capacity_kwh + above_kwh, step.cutoff

    def moved(level: float) -> float:
        return (level * was_kwh + below_kwh) / kwh

    orders = {}
    for name in _LEVELS:
        level = step.order(name)
        at_end = level >= 1.0 or (name == "charge_to" and level <= 0.0)
        empty = below_kwh > 0.0 and name in ("reserve", "off_grid_floor") and level <= cutoff
        orders[name] = level if at_end else 0.0 if empty else moved(level)
    switching = step.inputs.switching
    levels = {name: getattr(switching, name) for name in _SWITCHING_LEVELS}
    kept_kwh = limits.minimum_kwh + (step.before.stored_kwh - limits.minimum_kwh) * limits.kept
    more = step.ordered(**orders).switched(
        **{name: level if level < 0.0 or level > 1.0 else moved(level) for name, level in levels.items()}
    )
    # What self-discharge leaves is stored now, so that a lower minimum does not change it.
    more = more.limited(capacity_kwh=kwh, kept=1.0, minimum_kwh=0.0 if below_kwh else limits.minimum_kwh)
    return more._replace(before=more.before._replace(stored_kwh=kept_kwh + below_kwh))


def _restarted(step: OneStep) -> OneStep:
    """Return the step with a battery that does not wait."""
    return step._replace(before=step.before._replace(waits=False)).switched(battery_restart=-1.0)
