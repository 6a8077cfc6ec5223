"""The hourly table: columns that are made from what the engine was given. All numbers by hand."""

import numpy as np
import pytest

from solarsim.engine.records import Dispatch
from solarsim.engine.year import run_year
from solarsim.home import Home
from solarsim.ledger.flows import Flows, balance_error_kw, flows_from_year
from tests.builders import inputs_of, limits, orders

pytestmark = pytest.mark.by_hand


def flows_of(home: Home, load_kw: float, **rules: object) -> Flows:
    """Run a year of one rule at a constant load without sun."""
    steps = len(home.timeline)
    asked = {**orders()._asdict(), "generator_may_start": False, "tank_filled": False, **rules}
    dispatch = Dispatch(**{key: np.broadcast_to(asked[key], steps).copy() for key in Dispatch._fields})
    year = run_year(inputs_of(limits(standby_kw=0.5), dispatch, np.zeros(steps), np.full(steps, load_kw)))
    return flows_from_year(home.timeline, home.prices, year)


@pytest.mark.parametrize(
    ("rules", "floor"),
    [
        ({}, 0.2),
        ({"reserve": 0.4}, 0.4),
        ({"charge_to": 0.7}, 0.7),
        ({"charge_to": 0.1}, 0.2),
        ({"charge_to": 0.7, "import_cap_kw": 2.5}, 0.7),  # a demand of 2.5 is not above it
        ({"charge_to": 0.7, "import_cap_kw": 2.4}, 0.2),  # of 2.5 is, and the reserve is the floor
        ({"charge_to": 0.7, "grid": False, "backed_kw": 99.0}, 0.1),  # the low cutoff
    ],
)
def test_discharge_floor_is_the_level_in_force(demo_home: Home, rules: dict[str, object], floor: float) -> None:
    flows = flows_of(demo_home, 2.0, **rules)
    assert set(flows["discharge_floor"].tolist()) == {floor}
    assert balance_error_kw(flows) <= 1e-6


def test_discharge_floor_follows_the_grid_hour_by_hour(demo_home: Home) -> None:
    """Out from the third to the fifth hour: the battery of 10 kWh serves 2.5 kW down to its low cutoff of 1 kWh."""
    grid = np.ones(8760, np.bool_)
    grid[2:5] = False
    flows = flows_of(demo_home, 2.0, grid=grid, charge_to=0.6, backed_kw=99.0)
    assert flows["discharge_floor"][:7].tolist() == [0.6, 0.6, 0.1, 0.1, 0.1, 0.6, 0.6]
    assert flows["battery_kwh"][:7].tolist() == [6.0, 6.0, 3.5, 1.0, 1.0, 4.0, 6.0]
    assert flows["unserved_kw"][2:6].tolist() == [0.0, 0.0, 2.5, 0.0]


def test_a_table_without_a_battery_has_no_floor(demo_home: Home) -> None:
    steps = len(demo_home.timeline)
    dispatch = Dispatch(**{key: np.full(steps, orders()._asdict().get(key, False)) for key in Dispatch._fields})
    none = limits(capacity_kwh=0.0, minimum_kwh=0.0, charge_kw=0.0, discharge_kw=0.0)
    year = run_year(inputs_of(none, dispatch, np.zeros(steps), np.ones(steps)))
    assert not flows_from_year(demo_home.timeline, demo_home.prices, year)["discharge_floor"].any()
