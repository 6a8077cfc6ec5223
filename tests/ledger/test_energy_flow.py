"""The year's energy from source to use."""

import pytest

from solarsim.ledger.energy_flow import EnergyFlow, energy_flow_from
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.flows import FlowsYear

WAYS = {
    "pv_available_kwh": 100.0, "pv_to_load_kwh": 30.0, "pv_to_battery_kwh": 40.0, "pv_to_grid_kwh": 10.0,
    "clipped_kwh": 5.0, "curtailed_kwh": 7.0, "battery_to_load_kwh": 33.0, "battery_to_grid_kwh": 4.0,
    "grid_to_load_kwh": 20.0, "grid_to_battery_kwh": 6.0, "generator_to_load_kwh": 3.0,
    "generator_to_battery_kwh": 1.0, "unserved_kwh": 2.0,
}  # fmt: skip


@pytest.mark.by_hand
def test_sums_of_the_ways() -> None:
    found = energy_flow_from({**WAYS, "load_kwh": 80.0, "standby_kwh": 8.0})
    assert found.demand_kwh == 88.0  # = 30 + 33 + 20 + 3 + 2
    assert found.pv_not_used_kwh == 5.0 + 7.0
    assert found.pv_losses_kwh == 100.0 - 12.0 - (30.0 + 40.0 + 10.0)
    assert found.charge_kwh == 40.0 + 6.0 + 1.0
    assert found.discharge_kwh == 33.0 + 4.0
    assert found.battery_losses_kwh == 47.0 - 37.0
    assert (found.losses_kwh, found.served_kwh, found.supply_kwh) == (8.0 + 10.0, 88.0 - 2.0, 100.0 + 26.0 + 4.0)
    assert (found.import_kwh, found.export_kwh, found.generator_kwh) == (26.0, 14.0, 4.0)


def test_what_is_lost_on_the_ways_is_what_the_energy_balance_loses(demo_comparison: Comparison) -> None:
    for run in demo_comparison.runs:
        year = FlowsYear(demo_comparison.home, run, "demo", "USD")
        flow: EnergyFlow = year.energy_flow
        assert flow.pv_losses_kwh >= 0.0
        assert flow.pv_losses_kwh + flow.battery_losses_kwh == pytest.approx(run.losses_kwh, abs=1e-6)
        served = flow.pv_to_load_kwh + flow.battery_to_load_kwh + flow.grid_to_load_kwh + flow.generator_to_load_kwh
        assert served + flow.unserved_kwh == pytest.approx(flow.demand_kwh, abs=1e-6)
        assert year.record()["energy_flow"]["import_kwh"] == pytest.approx(run.import_kwh, abs=1e-6)
