"""The demo home with another life: its series are computed once."""

from dataclasses import replace
from typing import Any

from solarsim.home import Home
from solarsim.scenario.life import Lifetime
from solarsim.scenario.model import Scenario

STILL: dict[str, Any] = {
    "years": 4,
    "money": "nominal",
    "discount_rate": 0.05,
    "panel_degradation_per_year": 0.0,
    "battery_fade_per_year": 0.0,
}


def other_life(home: Home, **life: Any) -> tuple[Scenario, Home]:
    """Give a home's scenario another table ``[life]``: four years in which nothing changes, keys replaced."""
    scenario = home.scenario.model_copy(update={"life": Lifetime.model_validate(STILL | life)})
    return scenario, replace(home, scenario=scenario)
