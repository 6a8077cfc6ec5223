"""The demo home with another life: its series are computed once."""

from dataclasses import replace
from typing import Any

from solarsim.home import Home, home_from
from solarsim.scenario.life import Lifetime
from solarsim.scenario.model import Scenario
from tests.builders import scenario

STILL: dict[str, Any] = {
    "years": 4,
    "money": "nominal",
    "discount_rate": 0.05,
    "panel_degradation_per_year": 0.0,
    "battery_fade_per_year": 0.0,
}


def other_life(home: Home, **life: Any) -> tuple[Scenario, Home]:
    """Return a home's scenario with another table ``[life]``: four years in which nothing changes, keys replaced."""
    scenario = home.scenario.model_copy(update={"life": Lifetime.model_validate(STILL | life)})
    return scenario, replace(home, scenario=scenario)


def off_grid_life(**life: Any) -> tuple[Scenario, str, Home]:
    """Return a home without a grid that leaves demand unserved, with costs and two years of life; and its strategy."""
    parts = {"parts": [{"name": "all", "quantity": 1.0, "unit_price": 5000.0}]}
    alone = {"kind": "off_grid", "grid": "none"}
    dark = scenario(arrangement=alone, costs=parts, life=STILL | {"years": 2} | life)
    return dark, dark.strategies[0].name, home_from(dark)
