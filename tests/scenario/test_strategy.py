"""Strategies: settings that contradict each other are refused; a window replaces what it names."""

import pytest

from solarsim.errors import ScenarioError
from tests.builders import content, scenario

BASE = content()["strategies"][0]
EVENING = {"from": "16:00", "to": "21:00"}


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"solar_ceiling": 0.05}, r"reserve 0\.1 is above the solar_ceiling 0\.05"),
        ({"reserve": 0.5, "sell_down_to": 0.3}, r"sell_down_to 0\.3 is below the reserve 0\.5"),
        ({"charge_from_grid_to": 0.9, "sell_down_to": 0.5}, "import and export in the same hours"),
        ({"zero_export_bias_kw": 0.05}, "needs an export_limit_kw of 0 somewhere"),
        (
            {"solar_ceiling": 0.6, "windows": [{**EVENING, "reserve": 0.8}]},
            r"in the 1st window \(16:00-21:00\): reserve 0\.8",
        ),
    ],
)
def test_levels_out_of_order_are_refused(changes: dict[str, object], told: str) -> None:
    with pytest.raises(ScenarioError, match=told):
        scenario(strategies=[{**BASE, **changes}])


def test_window_replaces_what_it_names_and_keeps_the_rest() -> None:
    strategy = scenario(strategies=[{**BASE, "windows": [{**EVENING, "reserve": 0.5}]}]).strategies[0]
    inside = strategy.in_window(strategy.windows[0])
    assert (inside.reserve, inside.surplus_to, inside.battery_serves_load) == (0.5, "battery", True)
    assert strategy.reserve == 0.10


def test_a_limit_in_two_units_is_refused() -> None:
    with pytest.raises(ScenarioError, match="grid_charge_kw and grid_charge_a are the same limit in two units"):
        scenario(strategies__0__grid_charge_kw=3.0, strategies__0__grid_charge_a=60.0)
    window = {"from": "01:00", "to": "02:00", "discharge_limit_kw": 3.0, "discharge_limit_a": 60.0}
    with pytest.raises(ScenarioError, match="discharge_limit_kw and discharge_limit_a are the same limit"):
        scenario(strategies__0__windows=[window])


def test_a_limit_in_ampere_needs_the_battery_s_voltage() -> None:
    with pytest.raises(ScenarioError, match=r"'home first' has a limit in ampere, which needs battery\.nominal_v"):
        scenario(strategies__0__grid_charge_a=60.0)
    assert scenario(strategies__0__grid_charge_a=60.0, battery__nominal_v=51.2).battery_v == 51.2


def test_floor_off_the_grid_is_from_the_low_cutoff_to_the_reserve() -> None:
    with pytest.raises(ScenarioError, match=r"off_grid_floor 0\.3 is above the reserve 0\.1"):
        scenario(strategies__0__off_grid_floor=0.3)
    with pytest.raises(ScenarioError, match=r"off_grid_floor of 0\.05, below the battery's low_cutoff 0\.1"):
        scenario(strategies__0__off_grid_floor=0.05)


def test_floor_off_the_grid_may_not_keep_the_generator_from_starting() -> None:
    generator = {
        "kw": 5.0, "start_at": 0.2, "stop_at": 0.8, "least_run_h": 1.0, "charge_kw": 3.0, "liters_per_h": 0.5,
        "liters_per_kwh": 0.3, "fuel_price": 1.0,
    }  # fmt: skip
    asked = {"arrangement": {"kind": "off_grid", "grid": "none"}, "generator": generator}
    with pytest.raises(ScenarioError, match=r"off_grid_floor of 0\.25, above generator\.start_at 0\.2"):
        scenario(**asked, strategies__0__reserve=0.5, strategies__0__off_grid_floor=0.25)


def test_what_is_backed_up_must_be_stated_where_the_battery_serves_only_that() -> None:
    with pytest.raises(ScenarioError, match=r"load_served = 'backed_up', which needs \[arrangement\]"):
        scenario(strategies__0__load_served="backed_up")
