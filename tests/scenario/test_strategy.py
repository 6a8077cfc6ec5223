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
            r"in window 1 \(16:00-21:00\): reserve 0\.8",
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
