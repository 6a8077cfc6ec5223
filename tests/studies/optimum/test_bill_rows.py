"""The bill as rows of a linear program: the ledger's own amounts, and years that are solved by hand."""

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings

from solarsim.ledger.bill import exact_total, read_meters
from solarsim.ledger.prices import Prices, prices_from
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from solarsim.studies.optimum._bill import add_bill, pays_to_export, why_loose, why_not_convex
from solarsim.studies.optimum._linear import Program, fixed
from solarsim.studies.optimum._program import least_cost
from tests.builders import limits
from tests.rate_plan_draws import WHERE, Series, rate_plans, years
from tests.studies.optimum.small import YEAR, in_month, lowest, plan, prices, year_of

Year = tuple[Series, Series]
NOTHING = np.zeros(len(YEAR))
NO_BATTERY = {"capacity_kwh": 0.0, "minimum_kwh": 0.0, "charge_kw": 0.0, "discharge_kw": 0.0}
JULY_5 = in_month(7, 5.0)  # one hour of 5 kW
RISING = ({"up_to_kwh": 3.0, "price": 0.1}, {"price": 0.3})
NET = {"pay": "net_metering", "net_within": "rate", "surplus": "carried_as_kwh", "true_up_month": 3}
NET |= {"remainder_price": 0.02}


def program_bill(import_kw: Series, export_kw: Series, where: Prices) -> float:
    """Return the lowest bill that the program can make of known import and export."""
    program = Program()
    add_bill(program, where, fixed(import_kw), fixed(export_kw))
    return program.solve().cost


@settings(max_examples=25)
@given(years(), rate_plans())
def test_program_bills_known_flows_as_the_ledger_does(year: Year, rate_plan: RatePlan) -> None:
    """Never above it, or a run could beat the bound; below it only where it pays to keep kWh that would be netted."""
    assume(not why_not_convex(rate_plan))
    where = prices_from(rate_plan, WHERE)
    billed = exact_total(read_meters(*year, where), where)
    found = program_bill(*year, where)
    assert found <= billed + 1e-5
    if not why_loose(where):
        assert found == pytest.approx(billed, abs=1e-5)


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("changes", "cost", "without_battery"),
    [
        # June takes 2 kWh at 0.10 for July, whose first 3 cost 0.10. Without: 3 x 0.10 + 2 x 0.30.
        ({"rates": ({"name": "all", "tiers": RISING},)}, 0.50, 0.90),
        # 3 of 5 kW come from the battery: 2 kW in July, half of that in the 11 bills after it: 13 kW x 6, 5 kWh x 0.20.
        # Without: 5 + 11 x 2.5 = 32.5 kW x 6 = 195.
        (
            {"demand": ({"name": "d", "price": 6.0, "ratchet_share": 0.5, "ratchet_months": 11},)},
            79.0,
            196.0,
        ),
        # Without a ratchet: 2 kW x 6, and 0 to 3 kWh charged within July and other months at up to 2 kW: only where
        # that is no new peak; charged in July at less than 2 kW. Without: 5 x 6.
        ({"demand": ({"name": "d", "price": 6.0, "windows": ({"from": "11:00", "to": "14:00"},)},)}, 13.0, 31.0),
        # 0.60 a month at least; July's 1.00 is spread over two months. Without: 11 x 0.60 + 1.00.
        ({"minimum": {"per_month": 0.6}}, 12 * 0.60, 7.60),
        # 0.05 on 4 of the 5 kWh of July alone.
        ({"allowances": ({"name": "a", "kwh_per_day": 4.0, "credit_price": 0.05, "months": (7,)},)}, 0.80, 0.80),
        ({"adders": ({"name": "tax", "share": 0.1, "on": ("energy",)},)}, 1.10, 1.10),
        ({"adders": ({"name": "discount", "share": -0.1, "on": ("energy",)},)}, 0.90, 0.90),
        ({"riders": ({"name": "r", "price": 0.03},), "customer_charge_per_day": 0.5}, 5 * 0.23 + 6.0, 7.15),
        # A relief of 0.05 on the 3 kWh that June stores for July.
        ({"riders": ({"name": "r", "price": -0.05, "windows": ({"months": (6,)},)},)}, 0.85, 1.00),
    ],
    ids=["tiers", "ratchet", "demand", "minimum", "allowance", "tax", "discount", "riders", "relief"],
)
def test_load_of_one_hour_is_billed_at_least_so_much(
    changes: dict[str, Any], cost: float, without_battery: float
) -> None:
    assert lowest(plan(**changes), NOTHING, JULY_5, **NO_BATTERY) == pytest.approx(without_battery)
    assert lowest(plan(**changes), NOTHING, JULY_5) == pytest.approx(cost)


@pytest.mark.by_hand
def test_tiers_of_all_rates_are_split_by_energy() -> None:
    """4 kWh by day and 2 by night: half of each in either tier: 2 x 0.10 + 2 x 0.30 + 1 x 0.05 + 1 x 0.25."""
    day = {"name": "day", "tiers": RISING, "windows": ({"from": "08:00", "to": "20:00"},)}
    night = {"name": "night", "tiers": ({"up_to_kwh": 3.0, "price": 0.05}, {"price": 0.25})}
    load_kw = in_month(7, 4.0) + in_month(7, 2.0, first_hour=2)
    found = lowest(plan(rates=(day, night), tiers_count="all_rates"), NOTHING, load_kw, **NO_BATTERY)
    assert found == pytest.approx(1.10)


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("sun_in", "load_in", "hardware", "cost"),
    [
        # 8 kWh of April are kept until July: 3 are left in March, at 0.02.
        (4, 7, NO_BATTERY, -0.06),
        # February's 8 kWh are settled in March, and April's 5 are bought.
        (2, 4, NO_BATTERY, 5 * 0.2 - 8 * 0.02),
        # A battery carries 5 of them over the true-up.
        (2, 4, {}, -0.06),
    ],
)
def test_net_metering_carries_until_the_true_up(sun_in: int, load_in: int, hardware: Any, cost: float) -> None:
    sun, load_kw = in_month(sun_in, 4.0, 4.0), in_month(load_in, 5.0)
    assert lowest(plan(export=NET), sun, load_kw, **hardware) == pytest.approx(cost)


@pytest.mark.by_hand
def test_kept_kwh_that_earn_more_than_they_offset_make_the_bound_loose() -> None:
    """A kWh of 0.01 is worth more as a remainder of 0.02 than netted: the ledger nets it, the program need not."""
    rate_plan = plan(rates=({"name": "all", "import_price": 0.01},), export=NET)
    assert "as a remainder" in why_loose(prices(rate_plan))
    assert why_loose(prices(plan(rates=({"name": "all", "import_price": 0.03},), export=NET))) == ""


def test_kept_kwh_pay_no_minimum_and_the_bound_is_loose() -> None:
    """12 bills of 1.50, which the 1.00 for 5 kWh does not exceed; 8 kWh of February are paid out at 0.02 in March.

    In July 5 of April's 8 kWh would be netted; the program keeps them for March, since the minimum pays July's.
    """
    rate_plan = plan(export=NET, minimum={"per_month": 1.5})
    assert lowest(rate_plan, in_month(2, 4.0, 4.0), in_month(4, 5.0), **NO_BATTERY) == pytest.approx(18.0 - 0.16)
    assert lowest(rate_plan, in_month(4, 4.0, 4.0), in_month(7, 5.0), **NO_BATTERY) == pytest.approx(18.0 - 0.16)
    assert "netted at once" in why_loose(prices(rate_plan))


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("sun_kwh", "rule", "hardware", "cost"),
    [
        # 0.80 earned in January pays that much of February's 1.00.
        (8.0, {"leftover": "carried", "remainder_share": 0.5}, NO_BATTERY, 0.20),
        # Of 2.00 earned 1.00 is left in December, and half of it is paid out.
        (20.0, {"leftover": "carried", "remainder_share": 0.5}, NO_BATTERY, -0.50),
        # What January cannot use is lost; a battery keeps the energy instead.
        (8.0, {"leftover": "lost"}, NO_BATTERY, 1.00),
        (8.0, {"leftover": "lost"}, {}, 0.00),
    ],
)
def test_credits_pay_what_the_rule_allows(sun_kwh: float, rule: Any, hardware: Any, cost: float) -> None:
    pay = {"pay": "flat", "price": 0.1, "credits": {"offset": ("energy",), **rule}}
    pay |= {"true_up_month": 12} if rule["leftover"] == "carried" else {}
    sun = in_month(1, *[sun_kwh / 5] * 5, first_hour=8)
    assert lowest(plan(export=pay), sun, in_month(2, 5.0), **hardware) == pytest.approx(cost)


@pytest.mark.by_hand
def test_export_above_the_import_price_fills_and_sells_the_battery_once_a_day() -> None:
    """9 kWh at 0.20 more than they cost, in three hours at the limit of 3 kW, twelve days; nothing more is bought."""
    pay = {"pay": "by_window", "price": 0.0, "windows": ({"from": "17:00", "to": "20:00", "price": 0.4},)}
    rate_plan = plan(export=pay)
    assert pays_to_export(prices(rate_plan)).sum() == 36
    assert lowest(rate_plan, NOTHING, NOTHING) == pytest.approx(-12 * 9 * 0.2)
    assert lowest(rate_plan, NOTHING, NOTHING, export_limit_kw=1.0) == pytest.approx(-12 * 3 * 0.2)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"rates": ({"name": "a", "tiers": ({"up_to_kwh": 9.0, "price": 0.2}, {"price": 0.1})},)}, "tier falls"),
        ({"export": {"pay": "feed_in", "price": 0.1}}, "feed-in pay"),
        ({"adders": ({"name": "d", "share": -0.1, "on": ("energy", "export")},)}, "lines that can be negative"),
        (
            {"adders": tuple({"name": name, "share": -0.6, "on": ("energy",)} for name in "ab")},
            "more than 100%",
        ),
        (
            {
                "rates": (
                    {"name": "a", "import_price": 0.1, "windows": ({"from": "08:00", "to": "20:00"},)},
                    {"name": "b", "import_price": 0.2},
                ),
                "export": {**NET, "net_within": "month"},
            },
            "other prices within a month",
        ),
        (
            {
                "rates": (
                    {"name": "a", "import_price": 0.1, "windows": ({"from": "08:00", "to": "20:00"},)},
                    {"name": "b", "tiers": RISING},
                ),
                "tiers_count": "all_rates",
            },
            "differ between them",
        ),
        ({"export": {**NET, "net_within": "month"}}, ""),
        ({"rates": ({"name": "a", "tiers": RISING},), "minimum": {"per_day": 1.0}}, ""),
    ],
)
def test_bills_that_are_not_convex_are_named(changes: dict[str, Any], words: str) -> None:
    found = why_not_convex(plan(**changes))
    assert words in found
    assert bool(words) == bool(found)


@pytest.mark.by_hand
def test_a_kwh_more_costs_its_tier_demand_charges_aside() -> None:
    """In July the second tier, in February the first one."""
    rate_plan = plan(rates=({"name": "all", "tiers": RISING},), demand=({"name": "d", "price": 6.0},))
    year = year_of(limits(**NO_BATTERY), NOTHING, in_month(7, 5.0) + in_month(2, 1.0))
    found = least_cost(year, prices(rate_plan), 0.0)
    at = {month: found.import_price[in_month(month, 1.0) > 0.0][0] for month in (2, 7)}
    assert at[7] == pytest.approx(0.3)
    assert at[2] == pytest.approx(0.1)
