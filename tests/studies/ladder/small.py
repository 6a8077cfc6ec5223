"""Three weeks of a home, with a plan of prices: enough for a controller to plan on."""

from typing import Any

import numpy as np

from solarsim.engine.records import Floats, Inputs
from solarsim.ledger.prices import Prices, prices_from
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from tests.builders import inputs_of, limits
from tests.draws import cut
from tests.engine.test_year import dispatch
from tests.rate_plan_draws import WHERE
from tests.studies.optimum.small import plan

A_DAY = 24
#: 27 January to 16 February: two bills.
STEPS = np.arange(26 * A_DAY, 47 * A_DAY)
WEEKS = cut(WHERE, STEPS)
EVENING = {"name": "evening", "import_price": 0.45, "windows": ({"from": "17:00", "to": "21:00"},)}
TWO_PRICES: tuple[dict[str, Any], ...] = (EVENING, {"name": "all else", "import_price": 0.12})


def rate_plan(**changes: Any) -> RatePlan:
    """Return a plan with expensive evenings, with keys replaced."""
    return plan(**{"rates": TWO_PRICES, "export": {"pay": "flat", "price": 0.05}, **changes})


def prices(**changes: Any) -> Prices:
    """Return the prices of such a plan in these weeks."""
    return prices_from(rate_plan(**changes), WEEKS)


def weeks(seed: int = 1) -> Inputs:
    """Return a home whose days have more or less sun and load."""
    rng = np.random.default_rng(seed)
    hour, days = np.arange(STEPS.size) % A_DAY, STEPS.size // A_DAY

    def daily(least: float, most: float) -> Floats:
        return np.repeat(rng.uniform(least, most, days), A_DAY)

    pv = daily(0.2, 4.0) * np.clip(np.sin((hour - 6.0) / 12.0 * np.pi), 0.0, None)
    load = daily(0.5, 1.5) * (0.6 + 1.2 * ((hour >= 17) & (hour < 22)))
    hardware = limits(one_way=0.96, standby_kw=0.03)
    return inputs_of(hardware, dispatch(STEPS.size, reserve=0.2), pv, load)
