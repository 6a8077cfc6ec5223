"""What must hold for the bill of any year under any rate plan."""

from collections import defaultdict
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solarsim.ledger.bill import Bill, bill_for, to_the_cent
from solarsim.ledger.credits import FROM_KEPT, KEPT, NETTED, months_from_true_up
from solarsim.ledger.prices import prices_from
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from solarsim.scenario.site import Site
from tests.rate_plan_draws import CREDITS, NIGHT, PEAK, STEPS, WHERE, Series, exports, rate_plans, years

Year = tuple[Series, Series]


def bill(year: Year, rate_plan: RatePlan) -> Bill:
    return bill_for(*year, prices_from(rate_plan, WHERE))


def unrounded(bill: Bill) -> dict[str, float]:
    """Return the year's quantity x rate by kind of line [currency]."""
    sums: dict[str, float] = defaultdict(float)
    for line in bill.lines:
        sums[line.kind] += line.quantity * line.rate
    return sums


def by_bill(kw: Series, rate_plan: RatePlan) -> list[float]:
    """Add up by bill from the calendar alone, as someone without our code would [kWh]."""
    sums = [0.0] * 12
    for day, value in zip(WHERE.wall.astype("datetime64[D]").tolist(), kw.tolist(), strict=True):
        late = rate_plan.reading_day is not None and day.day > rate_plan.reading_day
        sums[day.month % 12 if late else day.month - 1] += value
    return sums


@settings(max_examples=120)
@given(years(), rate_plans())
def test_lines_add_up_to_the_total_and_each_is_quantity_times_rate(year: Year, rate_plan: RatePlan) -> None:
    made = bill(year, rate_plan)
    assert made.total == sum(line.amount for line in made.lines)
    assert made.total == sum(made.month_total(month) for month in range(1, 13))
    assert all(line.amount == to_the_cent(line.quantity * line.rate) for line in made.lines)
    assert all(line.quantity > 0 for line in made.lines)
    assert [line.month for line in made.lines] == sorted(line.month for line in made.lines)
    exact = sum(line.quantity * line.rate for line in made.lines)
    assert float(made.total) == pytest.approx(exact, abs=0.005 * len(made.lines) + 1e-6)


@settings(max_examples=80)
@given(years(), rate_plans())
def test_no_bill_loses_a_kilowatt_hour(year: Year, rate_plan: RatePlan) -> None:
    made = bill(year, rate_plan)
    bought, sold = by_bill(year[0], rate_plan), by_bill(year[1], rate_plan)
    for month in range(1, 13):
        lines = [line for line in made.lines if line.month == month and line.unit == "kWh"]
        billed = sum(line.quantity for line in lines if line.kind == "energy" and line.what != "baseline")
        netted = sum(line.quantity for line in lines if line.what.endswith(NETTED))
        later = sum(line.quantity for line in lines if line.what.endswith(FROM_KEPT))
        given_away = sum(line.quantity for line in lines if line.kind == "export" or line.what.endswith(KEPT))
        assert billed + netted + later == pytest.approx(bought[month - 1], abs=1e-6)
        assert given_away == pytest.approx(sold[month - 1], abs=1e-6)
        for rider in (line for line in lines if line.what == "fuel"):
            assert rider.quantity == pytest.approx(bought[month - 1])


@settings(max_examples=120)
@given(years(), rate_plans())
def test_a_credit_never_appears_from_nothing(year: Year, rate_plan: RatePlan) -> None:
    """Walk the year from true-up to true-up with two purses, kWh and money: neither is ever overdrawn."""
    made, export = bill(year, rate_plan), rate_plan.export
    kwh, money = 0.0, Decimal(0)
    for month in months_from_true_up(export):
        lines = [line for line in made.lines if line.month == month]
        for line in (line for line in lines if line.kind == "credit"):
            if line.what.endswith(KEPT) and line.unit == "kWh":
                kwh += line.quantity
            elif line.unit == "kWh":
                kwh -= line.quantity
            elif line.what == "credit kept for later":
                money += line.amount
            elif line.what != "credit that pays nothing":
                money -= to_the_cent(line.quantity)
            assert kwh >= -1e-6
            assert money >= 0
        if month == export.true_up_month:
            assert kwh == pytest.approx(0.0, abs=1e-6)
            assert money == 0


@settings(max_examples=80)
@given(years(), rate_plans().filter(lambda rate_plan: rate_plan.export.credits is not None))
def test_credits_pay_only_what_they_may_and_never_the_minimum(year: Year, rate_plan: RatePlan) -> None:
    made, rule = bill(year, rate_plan), rate_plan.export.credits
    assert rule is not None
    for month in range(1, 13):
        sums: dict[str, Decimal] = defaultdict(Decimal)
        for line in (line for line in made.lines if line.month == month):
            sums["settled" if line.what.startswith("true-up") else line.kind] += line.amount
        charges = [sums[kind] for kind in ("energy", "rider", "customer_charge", "demand")]
        out_of_reach = sum(charges) - sum(sums[kind] for kind in rule.offset)
        left = sum(charges) + sums["export"] + sums["credit"]
        assert left >= min(out_of_reach, sum(charges))
        if rate_plan.minimum is not None:
            assert left + sums["minimum"] >= to_the_cent(rate_plan.minimum.per_month or 28 * 0.6)


@settings(max_examples=60)
@given(years(), rate_plans())
def test_doubling_prices_of_a_kind_doubles_its_lines_alone(year: Year, rate_plan: RatePlan) -> None:
    prices = prices_from(rate_plan, WHERE)
    once = unrounded(bill_for(*year, prices))
    for energy, demand, fixed in ((2.0, 1.0, 1.0), (1.0, 2.0, 1.0), (1.0, 1.0, 2.0)):
        dearer = rate_plan.grown(energy=energy, demand=demand, customer_charge=fixed, export=1.0)
        again = prices.repriced(dearer)
        fresh = prices_from(dearer, WHERE)
        np.testing.assert_array_equal(again.import_price, fresh.import_price)
        np.testing.assert_array_equal(again.export_price, fresh.export_price)
        twice = unrounded(bill_for(*year, again))
        for kind, factor in (("energy", energy), ("rider", energy), ("demand", demand), ("customer_charge", fixed)):
            assert twice.get(kind, 0.0) == pytest.approx(factor * once.get(kind, 0.0))


def plan(export: dict[str, object], *prices: float, **others: object) -> RatePlan:
    """Give a plan of one price, or of a dear evening, a night and a day."""
    windows = [(PEAK,), (NIGHT,), ()][-len(prices) :] if len(prices) > 1 else [()]
    rates = tuple(
        {"name": f"rate {place}", "import_price": price, "windows": when}
        for place, (price, when) in enumerate(zip(prices, windows, strict=True))
    )
    return RatePlan.model_validate(
        {"name": "p", "currency": "USD", "customer_charge_per_month": 10.0, "rates": rates, "export": export, **others}
    )


MONTHLY = {"pay": "net_metering", "net_within": "month", "surplus": "paid_monthly"}
LINES = 0.005 * 12 * 12  # what rounding each of up to twelve lines a month may come to


@settings(max_examples=40)
@given(years())
def test_export_at_retail_is_net_metering(year: Year) -> None:
    retail = bill(year, plan({"pay": "same_as_import"}, 0.21))
    netted = bill(year, plan({**MONTHLY, "remainder_price": 0.21}, 0.21))
    assert float(netted.total) == pytest.approx(float(retail.total), abs=LINES)
    prices = (0.4, 0.1, 0.2)
    carried = {"pay": "net_metering", "net_within": "rate", "surplus": "carried_as_money", "true_up_month": 3}
    rule = {**CREDITS, "remainder_share": 1.0}
    assert float(bill(year, plan({**carried, "credits": rule}, *prices)).total) == pytest.approx(
        float(bill(year, plan({"pay": "same_as_import"}, *prices)).total), abs=2 * LINES
    )


@settings(max_examples=40)
@given(years(), st.sampled_from([(0.2,), (0.4, 0.1, 0.2)]))
def test_export_at_zero_is_the_bill_of_the_imports(year: Year, prices: tuple[float, ...]) -> None:
    bought_alone = bill((year[0], np.zeros(STEPS)), plan({"pay": "none"}, *prices))
    assert bill(year, plan({"pay": "flat", "price": 0.0}, *prices)).total == bought_alone.total
    assert bill(year, plan({"pay": "none"}, *prices)).total == bought_alone.total


@settings(max_examples=40)
@given(years(), st.floats(0, 0.1), st.sampled_from([(0.2,), (0.4, 0.1, 0.2)]))
def test_hourly_netting_never_costs_less_than_by_rate_nor_that_less_than_by_month(
    year: Year, pay: float, prices: tuple[float, ...]
) -> None:
    """Where export pays no more than any rate costs."""
    hourly = bill(year, plan({"pay": "flat", "price": pay}, *prices)).total
    by_rate = bill(year, plan({**MONTHLY, "net_within": "rate", "remainder_price": pay}, *prices)).total
    by_month = bill(year, plan({**MONTHLY, "remainder_price": pay}, *prices)).total
    assert float(hourly) >= float(by_rate) - LINES
    assert float(by_rate) >= float(by_month) - LINES


@settings(max_examples=40)
@given(years(), st.data())
def test_kept_kilowatt_hours_never_pay_fixed_charges(year: Year, data: st.DataObject) -> None:
    export = data.draw(exports(tiered=False).filter(lambda each: each.get("surplus") == "carried_as_kwh"))
    made = bill(year, plan({**export, "remainder_price": 0.0}, 0.4, 0.1, 0.2))
    assert all(made.month_total(month) >= 10 for month in range(1, 13))


@settings(max_examples=40)
@given(years(), st.sampled_from(["up_to_kwh", "up_to_kwh_per_day"]))
def test_periods_that_share_prices_and_tiers_equal_the_plan_without_periods(year: Year, key: str) -> None:
    end = 300.0 if key == "up_to_kwh" else 10.0
    tiers = ({key: end, "price": 0.1}, {key: 2 * end, "price": 0.2}, {"price": 0.3})
    base = {
        "name": "p",
        "currency": "USD",
        "customer_charge_per_month": 10.0,
        "export": {"pay": "none"},
        "reading_day": 12,
    }
    rates = tuple(
        {"name": str(place), "tiers": tiers, "windows": when} for place, when in enumerate([(PEAK,), (NIGHT,), ()])
    )
    many = RatePlan.model_validate({**base, "rates": rates, "tiers_count": "all_rates"})
    one = RatePlan.model_validate({**base, "rates": ({"name": "all", "tiers": tiers},)})
    assert float(bill(year, many).total) == pytest.approx(float(bill(year, one).total), abs=LINES)


@settings(max_examples=20)
@given(st.integers(0, 2**32 - 1))
def test_quarter_hours_never_give_a_lower_peak_than_hours(seed: int) -> None:
    site = Site(name="here", time_zone="America/Chicago", calendar_year=2026, albedo=0.2)
    quarters = site.timeline(0.25)
    kw = np.random.default_rng(seed).exponential(1.0, len(quarters))
    hourly = kw.reshape(-1, 4).mean(axis=1)
    charge = {"name": "d", "price": 9.0, "windows": (PEAK,), "ratchet_share": 0.8, "ratchet_months": 3}
    rate_plan = plan({"pay": "none"}, 0.1, demand=(charge,))
    fine = bill_for(kw, 0 * kw, prices_from(rate_plan, quarters))
    coarse = bill((hourly, 0 * hourly), rate_plan)
    peaks = [[line.quantity for line in made.lines if line.kind == "demand"] for made in (fine, coarse)]
    assert len(peaks[0]) == 12
    assert all(one >= other - 1e-12 for one, other in zip(*peaks, strict=True))
