"""A generator's year: hours, starts, liters and money. All numbers by hand."""

from dataclasses import replace

import numpy as np
import pytest

from solarsim.engine.records import GENERATOR, GRID
from solarsim.ledger.generator import GeneratorYear, generator_year
from solarsim.scenario.backup.backup import Generator
from solarsim.studies.compare.compare import Comparison

pytestmark = pytest.mark.by_hand

GENSET = Generator.model_validate(
    {
        "kw": 4.0, "start_at": 0.2, "stop_at": 0.8, "least_run_h": 1.0, "charge_kw": 2.0, "liters_per_h": 0.5,
        "liters_per_kwh": 0.25, "fuel_price": 2.0,
    }
)  # fmt: skip


def test_a_run_over_the_turn_of_the_year_is_one_start(demo_comparison: Comparison) -> None:
    """It runs in the last and the first two hours (one run) and in three hours more, idle in one of them.

    6 h x 0.5 l/h and 5 h x 2 kW x 0.25 l/kWh are 5.5 l, at 2 a liter 11.
    """
    source, generator_kw = np.full(8760, float(GRID)), np.zeros(8760)
    source[[8759, 0, 1, 100, 101]], generator_kw[[8759, 0, 1, 100, 101]] = GENERATOR, 2.0
    source[102] = GENERATOR + GRID  # the grid is back, and the generator idles
    flows = demo_comparison.runs[0].flows
    ran = replace(flows, given={**flows.given, "source": source, "generator_kw": generator_kw})
    assert generator_year(ran, GENSET) == GeneratorYear(run_h=6.0, starts=2, liters=5.5, fuel_cost=11.0)
    assert generator_year(ran, None) == GeneratorYear()
