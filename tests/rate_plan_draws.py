"""Random rate plans and years for property tests: hypothesis draws what a utility could write."""

from typing import Any

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray

from solarsim.scenario.rate_plan.rate_plan import RatePlan
from tests.builders import timeline

WHERE = timeline("America/Chicago", holidays={"country": "US", "observed": False})
STEPS = len(WHERE)
SUMMER = (6, 7, 8, 9)
PEAK = {"days": ("weekday",), "from": "16:00", "to": "21:00"}
NIGHT = {"from": "23:00", "to": "05:00"}

Series = NDArray[np.float64]


def _price(low: float = 0.0, high: float = 0.4) -> st.SearchStrategy[float]:
    return st.integers(0, 400).map(lambda step: round(low + (high - low) * step / 400, 4))


PERIODS: list[list[tuple[dict[str, Any], ...]]] = [
    [()],
    [(PEAK,), ()],
    [(PEAK,), (NIGHT,), ()],
    [({**PEAK, "months": SUMMER},), ({"months": SUMMER, **NIGHT},), ()],
]
RIDERS = ({"name": "fuel", "price": 0.013}, {"name": "relief", "price": -0.01, "windows": (PEAK,)})
DEMAND = {"name": "peak", "price": 6.5, "windows": (PEAK,), "ratchet_share": 0.7, "ratchet_months": 11}
ALL_KINDS = ("energy", "customer_charge", "rider", "demand", "minimum", "export", "credit", "tax")
ADDERS = (
    {"name": "fee", "share": 0.03, "on": ("energy", "customer_charge")},
    {"name": "tax", "share": 0.07, "on": ALL_KINDS},
)
ALLOWANCE = {"name": "baseline", "kwh_per_day": 5.0, "credit_price": 0.01, "months": SUMMER}


@st.composite
def _rates(draw: st.DrawFn) -> tuple[dict[str, Any], ...]:
    windows = draw(st.sampled_from(PERIODS))
    rates = []
    for number, when in enumerate(windows):
        rate: dict[str, Any] = {"name": f"rate {number}", "windows": when}
        if draw(st.booleans()):
            key = draw(st.sampled_from(["up_to_kwh", "up_to_kwh_per_day"]))
            first = draw(st.floats(1, 300)) / (1 if key == "up_to_kwh" else 30)
            rate["tiers"] = (
                {key: first, "price": draw(_price())},
                {key: 2 * first, "price": draw(_price())},
                {"price": draw(_price())},
            )
        else:
            rate["import_price"] = draw(_price())
        rates.append(rate)
    return tuple(rates)


CREDITS = {"offset": ("energy",), "leftover": "carried", "remainder_share": 0.5}


@st.composite
def exports(draw: st.DrawFn, tiered: bool) -> dict[str, Any]:
    """Draw what exports earn."""
    month = draw(st.integers(1, 12))
    table = tuple(tuple(round(0.01 * (m + h % 7), 3) for h in range(24)) for m in range(12))
    offset = draw(st.sampled_from([("energy",), ("energy", "rider"), ("energy", "rider", "customer_charge", "demand")]))
    rule: dict[str, Any] = draw(
        st.sampled_from(
            [{"offset": offset, "leftover": "lost"}, {**CREDITS, "offset": offset}, {**CREDITS, "remainder_share": 0.0}]
        )
    )
    carried = {"true_up_month": month} if rule["leftover"] == "carried" else {}
    money: list[dict[str, Any]] = [
        {"pay": "none"},
        {"pay": "flat", "price": draw(_price(0, 0.1))},
        {"pay": "flat", "price": draw(_price(0, 0.1)), "credits": rule, **carried},
        {"pay": "by_window", "price": 0.03, "windows": ({**NIGHT, "price": 0.01}, {**PEAK, "price": 0.2})},
        {"pay": "by_month_and_hour", "prices": table, "credits": rule, **carried},
    ]
    within = draw(st.sampled_from(["rate", "month"]))
    net = {"pay": "net_metering", "net_within": within}
    netting = [
        {**net, "surplus": "carried_as_kwh", "true_up_month": month, "remainder_price": 0.02},
        {**net, "surplus": "paid_monthly", "remainder_price": 0.02},
        {**net, "surplus": "carried_as_money", "credits": CREDITS, "true_up_month": month},
    ]
    own = [] if tiered else [{"pay": "same_as_import"}]
    return draw(st.sampled_from([*money, *netting, *own]))


@st.composite
def rate_plans(draw: st.DrawFn) -> RatePlan:
    """Draw a rate plan."""
    rates = draw(_rates())
    tiered = any("tiers" in rate for rate in rates)
    plan: dict[str, Any] = {
        "name": "drawn",
        "currency": "USD",
        "customer_charge_per_month": draw(st.sampled_from([0.0, 9.75])),
        "customer_charge_per_day": draw(st.sampled_from([0.0, 0.31])),
        "rates": rates,
        "export": draw(exports(tiered)),
        "reading_day": draw(st.none() | st.integers(1, 28)),
        "riders": draw(st.sampled_from([(), RIDERS])),
        "demand": draw(st.sampled_from([(), (DEMAND,)])),
        "minimum": draw(st.sampled_from([None, {"per_month": 25.0}, {"per_day": 0.6}])),
        "adders": draw(st.sampled_from([(), ADDERS])),
        "allowances": draw(st.sampled_from([(), (ALLOWANCE,)])),
    }
    if tiered and len(rates) > 1:
        plan["tiers_count"] = draw(st.sampled_from(["own_rate", "all_rates"]))
    return RatePlan.model_validate(plan)


@st.composite
def years(draw: st.DrawFn) -> tuple[Series, Series]:
    """Draw a year of import and export [kW]; never both in one step."""
    random = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    net = random.uniform(-draw(st.floats(0, 4)), draw(st.floats(0, 4)), STEPS)
    # A summer of surplus and a winter of need, so that something is carried.
    net -= draw(st.floats(0, 2)) * np.sin(np.linspace(0, np.pi, STEPS)) - draw(st.floats(0, 1))
    return np.maximum(net, 0.0), np.maximum(-net, 0.0)
