"""What a generator did in a year: flows and its datasheet in; hours, starts, liters and money out."""

from typing import NamedTuple

import numpy as np

from solarsim.engine import step
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

    run_h: float = 0.0
    starts: int = 0
    liters: float = 0.0
    fuel_cost: float = 0.0


def generator_year(flows: Flows, generator: Generator | None) -> GeneratorYear:
    """Return a generator's year. The year is a circle: a run over its turn is one start."""
    if generator is None or flows.year is None:
        return GeneratorYear()
    runs, step_h = flows.generator_runs, flows.timeline.step_h
    run_h = float(runs.sum()) * step_h
    starts = int((runs & ~np.roll(runs, 1)).sum())
    liters = fuel_liters(generator, run_h, flows.totals["generator_kw"] * step_h)
    return GeneratorYear(run_h, starts, liters, liters * generator.fuel_price)


def fuel_liters(generator: Generator, run_h: float, generated_kwh: float) -> float:
    """Return what a generator burns [l], from run time [h] and output [kWh]: the law by which its tank empties."""
    return step.fuel_liters(generator.liters_per_h, generator.liters_per_kwh, run_h, generated_kwh)
