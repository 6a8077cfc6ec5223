"""Tiers, riders, allowances, fixed and demand charges, minimum and percentages, one bill at a time."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from solarsim.ledger.bill import Bill, bill_for, bill_notes
from solarsim.ledger.lines import BillLine
from solarsim.ledger.prices import prices_from
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from solarsim.scenario.site import Site
from tests.builders import timeline

pytestmark = pytest.mark.by_hand

WHERE = timeline("America/Phoenix")
PEAK = {"name": "peak", "windows": ({"from": "16:00", "to": "20:00"},)}
TIERS = ({"up_to_kwh": 100.0, "price": 0.1}, {"up_to_kwh": 300.0, "price": 0.2}, {"price": 0.3})


def rate_plan(*rates: Mapping[str, object], **others: object) -> RatePlan:
    base = {"name": "t", "currency": "USD", "customer_charge_per_month": 0.0, "export": {"pay": "none"}}
    return RatePlan.model_validate({**base, "rates": rates or ({"name": "all", "import_price": 0.1},), **others})


def steady(plan: RatePlan, *daily_kwh: float) -> Bill:
    """Bill a home that draws so many kWh a day, by month, evenly over the day."""
    kw = np.array(daily_kwh if len(daily_kwh) == 12 else daily_kwh * 12)[WHERE.month - 1] / 24
    return bill_for(kw, 0 * kw, prices_from(plan, WHERE))


def shown(bill: Bill, month: int) -> list[Any]:
    """Give name, quantity and amount of each line of a month."""
    return [(line.what, pytest.approx(line.quantity), line.amount) for line in bill.lines if line.month == month]


def test_tiers_of_a_month_end_where_they_say() -> None:
    # June: 30 x 12 = 360 kWh: 100 at 0.1, 200 at 0.2, 60 at 0.3. February: 28 x 12 = 336.
    bill = steady(rate_plan({"name": "home", "tiers": TIERS}), 12.0)
    assert shown(bill, 6) == [
        ("home, to 100 kWh", 100.0, Decimal("10.00")),
        ("home, to 300 kWh", 200.0, Decimal("40.00")),
        ("home, above", 60.0, Decimal("18.00")),
    ]
    assert shown(bill, 2)[2][1:] == (36.0, Decimal("10.80"))


def test_tiers_by_day_grow_with_the_days_of_the_bill() -> None:
    # 12 kWh a day, first 5 a day: 31 x 5 = 155 in January, 28 x 5 = 140 in February.
    by_day = ({"up_to_kwh_per_day": 5.0, "price": 0.1}, {"price": 0.3})
    bill = steady(rate_plan({"name": "home", "tiers": by_day}), 12.0)
    assert [shown(bill, month)[0][1] for month in (1, 2)] == [155.0, 140.0]
    assert shown(bill, 1)[0][0] == "home, to 5 kWh a day"


def test_tiers_inside_a_period_count_its_own_energy_or_all() -> None:
    # June: 30 x 24 = 720 kWh, a sixth of it on peak: 120 kWh.
    rates = {**PEAK, "tiers": TIERS}, {"name": "rest", "import_price": 0.05}
    own = steady(rate_plan(*rates, tiers_count="own_rate"), 24.0)
    assert shown(own, 6)[:2] == [
        ("peak, to 100 kWh", 100.0, Decimal("10.00")),
        ("peak, to 300 kWh", 20.0, Decimal("4.00")),
    ]
    # Of all 720 kWh 100 are in tier 1, 200 in tier 2, 420 above; the peak has a sixth of each.
    whole = steady(rate_plan(*rates, tiers_count="all_rates"), 24.0)
    assert [line[1] for line in shown(whole, 6)] == [100 / 6, 200 / 6, 70.0, 600.0]


def test_tier_of_a_season_counts_its_days_of_the_bill() -> None:
    """The bill of June is read on day 10: 21 days of May, 10 of June, 31 in all; 10 kWh a day."""
    summer = {"name": "summer", "tiers": TIERS, "windows": ({"months": (6, 7, 8, 9)},)}
    plan = rate_plan(summer, {"name": "winter", "tiers": TIERS}, tiers_count="own_rate", reading_day=10)
    june = shown(steady(plan, 10.0), 6)
    # Summer: 100 kWh, of which 100 x 10 / 31 in tier 1; winter: 210 kWh, 100 x 21 / 31, then up to 300 x 21 / 31.
    assert [line[:2] for line in june] == [
        ("summer, to 100 kWh", 100 * 10 / 31),
        ("summer, to 300 kWh", 200 * 10 / 31),
        ("summer, above", 100 - 300 * 10 / 31),
        ("winter, to 100 kWh", 100 * 21 / 31),
        ("winter, to 300 kWh", 200 * 21 / 31),
        ("winter, above", 210 - 300 * 21 / 31),
    ]


def test_reading_day_makes_a_circle_of_the_year() -> None:
    """Only 20 December to 5 January has load: with readings on day 5 all of it is January's bill, 17 days."""
    day = WHERE.wall.astype("datetime64[D]").astype(str)
    kw = np.where((day >= "2026-12-20") | (day <= "2026-01-05"), 1.0, 0.0)
    plan = rate_plan(reading_day=5, customer_charge_per_day=0.5)
    lines = bill_for(kw, 0 * kw, prices_from(plan, WHERE)).lines
    assert [(line.month, line.quantity) for line in lines if line.kind == "energy"] == [(1, 17 * 24)]
    # January's bill: 26 days of December and 5 of January; March's: 23 of February and 5.
    days = [line.quantity for line in lines if line.unit == "day"]
    assert days == [31, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30]
    assert bill_notes(plan)[0].startswith("rate plan 't': bills end on the meter reading day, day 5 of the month")


@pytest.mark.trade
@pytest.mark.parametrize(
    ("currency", "price", "asked"), [("USD", 14.5, True), ("EUR", 0.45, False), ("JPY", 31.0, False)]
)
def test_prices_that_look_like_cents_are_asked_about(currency: str, price: float, asked: bool) -> None:
    rate = {"name": "all", "tiers": ({"up_to_kwh": 100.0, "price": 0.1}, {"price": price})}
    doubts = bill_notes(
        RatePlan.model_validate(
            {
                "name": "t",
                "currency": currency,
                "customer_charge_per_month": 0.0,
                "rates": (rate,),
                "export": {"pay": "none"},
            }
        )
    )
    assert [f"price: {price:g} is above the usual 2 {currency}/kWh" in " ".join(doubts)] == [asked]


def test_riders_charge_what_is_imported_while_they_hold() -> None:
    evening = {"name": "evening relief", "price": -0.01, "windows": PEAK["windows"]}
    plan = rate_plan(riders=({"name": "fuel", "price": 0.02}, evening))
    # June: 720 kWh at 0.02, 120 of them at -0.01.
    assert shown(steady(plan, 24.0), 6)[1:] == [
        ("fuel", 720.0, Decimal("14.40")),
        ("evening relief", 120.0, Decimal("-1.20")),
    ]
    prices = prices_from(plan, WHERE)
    assert sorted(set(prices.import_price.round(9).tolist())) == [0.11, 0.12]


def test_tier_of_a_season_that_begins_within_a_month_counts_its_days() -> None:
    """Summer from 15 May: 17 of the 31 days of May; 9 kWh a day."""
    summer = {"name": "summer", "tiers": TIERS, "windows": ({"dates": {"from": "05-15", "to": "09-30"}},)}
    plan = rate_plan(summer, {"name": "winter", "tiers": TIERS}, tiers_count="own_rate")
    may = shown(steady(plan, 9.0), 5)
    # Summer: 153 kWh, of which 100 x 17 / 31 in tier 1; winter: 126 kWh, 100 x 14 / 31 in tier 1.
    assert [line[:2] for line in may] == [
        ("summer, to 100 kWh", 100 * 17 / 31),
        ("summer, to 300 kWh", 153 - 100 * 17 / 31),
        ("winter, to 100 kWh", 100 * 14 / 31),
        ("winter, to 300 kWh", 126 - 100 * 14 / 31),
    ]
    assert [line[0] for line in shown(steady(plan, 9.0), 6)] == ["summer, to 100 kWh", "summer, to 300 kWh"]


def test_allowance_of_a_season_that_ends_within_a_month_counts_its_days() -> None:
    """From 10 July to 20 August: 22 days of July, 20 of August, 5 kWh a day allowed of 10."""
    rule = {"name": "b", "kwh_per_day": 5.0, "credit_price": 0.1, "dates": {"from": "07-10", "to": "08-20"}}
    bill = steady(rate_plan(allowances=(rule,)), 10.0)
    assert [shown(bill, month)[1:] for month in (6, 7, 8, 9)] == [
        [],
        [("b", 110.0, Decimal("-11.00"))],
        [("b", 100.0, Decimal("-10.00"))],
        [],
    ]


def test_allowance_is_a_credit_on_the_first_kilowatt_hours_of_its_months() -> None:
    # 6 kWh a day in July only: 31 x 6 = 186 of 310 kWh; in a month of 155 kWh all of them.
    plan = rate_plan(allowances=({"name": "baseline", "kwh_per_day": 6.0, "credit_price": 0.03, "months": (7, 8)},))
    bill = steady(plan, *[10.0] * 7, *[5.0] * 5)
    assert shown(bill, 7)[1:] == [("baseline", 186.0, Decimal("-5.58"))]
    assert shown(bill, 8)[1:] == [("baseline", 155.0, Decimal("-4.65"))]
    assert shown(bill, 6)[1:] == []
    monthly = rate_plan(allowances=({"name": "baseline", "kwh_per_month": 100.0, "credit_price": 0.03},))
    assert shown(steady(monthly, 10.0), 7)[1:] == [("baseline", 100.0, Decimal("-3.00"))]


def test_allowance_of_a_season_counts_its_days_of_the_bill() -> None:
    """The bill of July is read on day 10: 20 days of June, 10 of July; 3 kWh a day in 30 days, 5 allowed."""
    rule = {"name": "baseline", "kwh_per_day": 5.0, "credit_price": 0.03, "months": (7, 8)}
    bill = steady(rate_plan(allowances=(rule,), reading_day=10), 3.0)
    # 10 of 30 days: 30 of the 90 kWh, less than 10 x 5.
    assert shown(bill, 7)[1:] == [("baseline", 30.0, Decimal("-0.90"))]


def demand_of(kw: object, **charge: object) -> list[BillLine]:
    plan = rate_plan(demand=({"name": "d", "price": 10.0, **charge},))
    series = np.broadcast_to(np.asarray(kw, np.float64), (8760,)).copy()
    lines = bill_for(series, 0 * series, prices_from(plan, WHERE)).lines
    return [line for line in lines if line.kind == "demand"]


@pytest.mark.by_hand
def test_demand_follows_the_meter_s_quarter_hours_and_its_note_the_step() -> None:
    """A quarter hour of 8 kW in an hour of 2 kW otherwise: hours see 3.5 kW, quarter hours 8."""
    plan = rate_plan(demand=({"name": "d", "price": 10.0},))
    seen = {}
    for minutes, parts in ((60, [3.5]), (30, [5.0, 2.0]), (15, [8.0, 2.0, 2.0, 2.0])):
        where = timeline(step_minutes=minutes)
        kw = np.full(len(where), 1.0)
        kw[: len(parts)] = parts
        bill = bill_for(kw, np.zeros(len(where)), prices_from(plan, where))
        line = next(line for line in bill.lines if line.kind == "demand" and line.month == 1)
        seen[minutes] = (line.quantity, line.what)
        assert sum(line.quantity for line in bill.lines if line.unit == "kWh") == pytest.approx(8760.0 - 1.0 + 3.5)
        words = "hourly mean" if minutes == 60 else f"{minutes}-minute mean"
        assert f"demand is the highest {words} here" in bill_notes(plan, where.step_h)[0]
    assert seen == {60: (3.5, "d, hourly mean"), 30: (5.0, "d, 30-minute mean"), 15: (8.0, "d, 15-minute mean")}


def test_demand_is_the_highest_hourly_mean_in_its_window() -> None:
    kw = np.ones(8760)
    kw[24 * 14 + 17] = 4.25  # 15 January 17:00
    kw[24 * 14 + 12] = 9.0  # at noon
    lines = demand_of(kw, windows=PEAK["windows"])
    assert (lines[0].quantity, lines[0].amount, lines[0].what) == (4.25, Decimal("42.50"), "d, hourly mean")
    assert lines[1].quantity == 1.0
    assert demand_of(kw)[0].quantity == 9.0
    assert [line.month for line in demand_of(kw, windows=({"months": (7, 8)},))] == [7, 8]


def test_ratchet_remembers_the_bills_before_round_the_year() -> None:
    kw = np.where(WHERE.month == 11, 8.0, 2.0)
    lines = demand_of(kw, ratchet_share=0.5, ratchet_months=3)
    # November 8; December to February at least 0.5 x 8 = 4; all others 2.
    assert [line.quantity for line in lines] == [4, 4, 2, 2, 2, 2, 2, 2, 2, 2, 8, 4]
    assert [line.month for line in lines if line.what == "d, ratchet of hourly mean"] == [1, 2, 12]


def test_ratchet_charges_only_bills_that_have_hours_of_the_charge() -> None:
    summer = {"windows": ({"months": (7, 8)},), "ratchet_share": 0.9, "ratchet_months": 11}
    assert [line.month for line in demand_of(np.ones(8760), **summer)] == [7, 8]


def test_quarter_hours_are_called_so() -> None:
    site = Site(name="here", time_zone="America/Phoenix", calendar_year=2026, albedo=0.2)
    quarters, plan = site.timeline(0.25), rate_plan(demand=({"name": "d", "price": 10.0},))
    one = np.ones(len(quarters))
    lines = bill_for(one, 0 * one, prices_from(plan, quarters)).lines
    assert lines[-1].what == "d, 15-minute mean"


def test_minimum_lifts_the_charges_before_percentages() -> None:
    # July 31 kWh at 0.1 = 3.10 and 2.00 fixed = 5.10, up to 9.00 by 3.90; 10 % of all 9.00.
    tax = {"name": "tax", "share": 0.1, "on": ("energy", "customer_charge", "minimum")}
    plan = rate_plan(customer_charge_per_month=2.0, minimum={"per_month": 9.0}, adders=(tax,))
    july = shown(steady(plan, 1.0), 7)
    assert july[2:] == [("up to the minimum bill", 1.0, Decimal("3.90")), ("tax", 9.0, Decimal("0.90"))]
    # 31 days x 0.25 = 7.75: 2.65 more.
    by_day = rate_plan(customer_charge_per_month=2.0, minimum={"per_day": 0.25})
    assert shown(steady(by_day, 1.0), 7)[2] == ("up to the minimum bill", 1.0, Decimal("2.65"))
    assert len(shown(steady(plan, 10.0), 7)) == 3  # 33.00 is above it


def test_percentages_act_on_what_they_name_and_on_those_above_them() -> None:
    # 31 kWh x 10 a day x 0.1 = 31.00; fee 5 % of 33.00 = 1.65; tax 10 % of 31.00 + 1.65 = 3.265 -> 3.27.
    fee = {"name": "fee", "share": 0.05, "on": ("energy", "customer_charge")}
    tax = {"name": "tax", "share": 0.1, "on": ("energy", "tax")}
    july = shown(steady(rate_plan(customer_charge_per_month=2.0, adders=(fee, tax)), 10.0), 7)
    assert july[2:] == [("fee", 33.0, Decimal("1.65")), ("tax", 32.65, Decimal("3.27"))]


def test_percentages_never_act_on_less_than_nothing() -> None:
    tax = {"name": "tax", "share": 0.1, "on": ("energy", "export")}
    plan = rate_plan(adders=(tax,), export={"pay": "flat", "price": 0.5})
    one = np.ones(8760)
    lines = bill_for(0 * one, one, prices_from(plan, WHERE)).lines
    assert {line.kind for line in lines} == {"export"}
