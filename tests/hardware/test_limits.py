"""Which limit holds."""

import pytest

from solarsim.hardware.limits import limits_from
from solarsim.scenario.model import Scenario
from tests.builders import scenario


def gathered(given: Scenario) -> tuple[float, float]:
    found = limits_from(given.inverter, given.battery, 1.0)
    return found.charge_kw, found.discharge_kw


@pytest.mark.by_hand
def test_lowest_of_bank_and_port_holds_in_each_direction() -> None:
    # 100 A at 51.2 V = 5.12 kW.
    home = scenario(
        battery__nominal_v=51.2,
        battery__max_charge_a=100.0,
        inverter__battery_discharge_kw=4.0,
        battery__max_charge_kw=6.0,
    )
    assert gathered(home) == pytest.approx((5.12, 4.0))


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"battery__max_charge_a": 50.0}, (2.56, 5.0)),
        ({"battery__max_discharge_a": 50.0}, (5.0, 2.56)),
        ({"inverter__battery_charge_a": 50.0}, (2.56, 5.0)),
        ({"inverter__battery_discharge_a": 50.0}, (5.0, 2.56)),
        ({"inverter__battery_charge_kw": 2.0}, (2.0, 5.0)),
        ({"inverter__battery_discharge_kw": 2.0}, (5.0, 2.0)),
        ({"battery__max_charge_kw": 2.0}, (2.0, 5.0)),
        ({"battery__max_discharge_kw": 2.0}, (5.0, 2.0)),
    ],
)
def test_each_of_the_limits_can_be_the_one_that_holds(changes: dict[str, float], expected: tuple[float, float]) -> None:
    # 50 A at 51.2 V = 2.56 kW; the plain home's bank takes and gives 5 kW.
    assert gathered(scenario(battery__nominal_v=51.2, **changes)) == pytest.approx(expected)


@pytest.mark.by_hand
def test_self_discharge_adds_up_to_the_month() -> None:
    home = scenario(battery__self_discharge_per_month=0.05)
    assert limits_from(home.inverter, home.battery, 1.0).kept ** 720 == pytest.approx(0.95)
    assert limits_from(home.inverter, home.battery, 0.5).kept ** 1440 == pytest.approx(0.95)


def test_no_battery_is_a_battery_of_zero_size() -> None:
    without = scenario(battery=None)
    assert limits_from(without.inverter, None, 1.0).capacity_kwh == 0.0
    assert gathered(without) == (0.0, 0.0)
    assert gathered(scenario(battery__capacity_kwh=0.0)) == (0.0, 0.0)
