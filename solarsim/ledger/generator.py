"""What a generator did in a year: flows and its datasheet in; hours, starts, liters and money out."""

from typing import NamedTuple

import numpy as np

from solarsim.ledger.flows import Flows
from solarsim.scenario.backup.backup import Generator


class GeneratorYear(NamedTuple):
    """A generator's year.

    Attributes
    ----------
    run_h : float
        Hours in which it ran, idle or not [h].
    starts : int
        How often it started.
    liters : float
        Fuel [l].
    fuel_cost : float
        [currency].
    """

    run_h: float
    starts: int
    liters: float
    fuel_cost: float


NO_GENERATOR = GeneratorYear(0.0, 0, 0.0, 0.0)


def generator_year(flows: Flows, generator: Generator | None) -> GeneratorYear:
    """Add up a generator's year.

    Parameters
    ----------
    flows : Flows
        Every step.
    generator : Generator or None
        Its fuel curve and the fuel's price.

    Returns
    -------
    GeneratorYear
        The year is a circle: a run over its turn is one start.
    """
    if generator is None:
        return NO_GENERATOR
    runs, step_h = flows.generator_runs, flows.timeline.step_h
    run_h = float(runs.sum()) * step_h
    starts = int((runs & ~np.roll(runs, 1)).sum())
    liters = fuel_liters(generator, run_h, float(flows["generator_kw"].sum()) * step_h)
    return GeneratorYear(run_h, starts, liters, liters * generator.fuel_price)


def fuel_liters(generator: Generator, run_h: float, generated_kwh: float) -> float:
    """Tell what a generator burns: a straight line over its power (common practice, no source).

    Parameters
    ----------
    generator : Generator
        Litres for each hour and on top for each kilowatt-hour: two points of a datasheet give both.
    run_h : float
        Time that it runs [h].
    generated_kwh : float
        What it gives in that time [kWh].

    Returns
    -------
    float
        Fuel [l].
    """
    return generator.liters_per_h * run_h + generator.liters_per_kwh * generated_kwh
