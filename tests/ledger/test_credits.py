"""Net metering and credits, month by month, where every kilowatt-hour can be counted by hand."""

from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from solarsim.ledger.bill import Bill, bill_for
from solarsim.ledger.prices import prices_from
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from tests.builders import timeline

pytestmark = pytest.mark.by_hand

WHERE = timeline("America/Phoenix")
DAYLIGHT = {"from": "06:00", "to": "18:00"}
DAY, NIGHT = {"name": "day", "import_price": 0.2, "windows": (DAYLIGHT,)}, {"name": "night", "import_price": 0.1}
LIGHT = (WHERE.minute_of_day >= 6 * 60) & (WHERE.minute_of_day < 18 * 60)


def billed(
    export: dict[str, object],
    bought: dict[int, tuple[float, float]],
    sold: dict[int, tuple[float, float]],
    hourly: tuple[float, ...] | None = None,
    **others: object,
) -> Bill:
    """Bill kWh by month as (day, night); months left out have none."""
    base = {"name": "t", "currency": "USD", "customer_charge_per_month": 5.0, "rates": (DAY, NIGHT), "export": export}
    rate_plan = RatePlan.model_validate({**base, **others})

    rate_plan.export._hourly = hourly

    def series(kwh: dict[int, tuple[float, float]]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        kw = np.zeros(8760)
        for month, pair in kwh.items():
            for inside, value in zip((LIGHT, ~LIGHT), pair, strict=True):
                kw[inside & (WHERE.month == month)] = value / (inside & (WHERE.month == month)).sum()
        return kw

    return bill_for(series(bought), series(sold), prices_from(rate_plan, WHERE))


def shown(bill: Bill, month: int) -> list[Any]:
    return [
        (line.what, pytest.approx(line.quantity), line.amount)
        for line in bill.lines
        if line.month == month and line.kind != "customer_charge"
    ]


NET = {"pay": "net_metering", "net_within": "rate", "surplus": "carried_as_kwh", "true_up_month": 3}
USE = {4: (100.0, 100.0), 5: (100.0, 100.0), 6: (100.0, 100.0)}
SUN = {4: (160.0, 0.0), 5: (30.0, 0.0)}


def test_surplus_of_a_period_is_kept_for_the_same_period() -> None:
    bill = billed({**NET, "remainder_price": 0.03}, USE, SUN)
    assert shown(bill, 4) == [
        ("night", 100.0, Decimal("10.00")),
        ("day, netted against export", 100.0, Decimal("0.00")),
        ("day, kept for later", 60.0, Decimal("0.00")),
    ]
    # May: 100 less 30 of its own less 60 kept leaves 10.
    assert shown(bill, 5)[:2] == [("day", 10.0, Decimal("2.00")), ("night", 100.0, Decimal("10.00"))]
    assert ("day, netted against kept kWh", 60.0, Decimal("0.00")) in shown(bill, 5)
    assert shown(bill, 6) == [("day", 100.0, Decimal("20.00")), ("night", 100.0, Decimal("10.00"))]


def test_within_the_month_day_offsets_night_too() -> None:
    bill = billed({**NET, "net_within": "month", "remainder_price": 0.03}, USE, SUN)
    # April: 100 day and 60 night are netted, 40 night billed, nothing kept.
    assert shown(bill, 4) == [
        ("night", 40.0, Decimal("4.00")),
        ("day, netted against export", 100.0, Decimal("0.00")),
        ("night, netted against export", 60.0, Decimal("0.00")),
    ]


def test_what_is_left_at_the_true_up_is_paid_and_the_year_begins_with_nothing() -> None:
    """50 kWh of February are settled in March: none of them is there in April."""
    bill = billed({**NET, "remainder_price": 0.03}, {3: (20.0, 0.0), 4: (100.0, 0.0)}, {2: (50.0, 0.0)})
    assert shown(bill, 3) == [
        ("day, netted against kept kWh", 20.0, Decimal("0.00")),
        ("true-up of kept kWh", 30.0, Decimal("-0.90")),
    ]
    assert shown(bill, 4) == [("day", 100.0, Decimal("20.00"))]


def test_credits_are_carried_over_new_year() -> None:
    bill = billed({**NET, "remainder_price": 0.0}, {1: (80.0, 0.0)}, {12: (50.0, 0.0)})
    assert shown(bill, 1) == [
        ("day", 30.0, Decimal("6.00")),
        ("day, netted against kept kWh", 50.0, Decimal("0.00")),
    ]


def test_surplus_as_money_is_worth_its_rate_and_pays_what_the_rate_plan_lets_it() -> None:
    rule = {"offset": ("energy",), "leftover": "carried", "remainder_share": 0.5}
    export = {**NET, "surplus": "carried_as_money", "credits": rule}
    bill = billed(export, USE, SUN)
    # April: night 10.00; 60 kWh x 0.20 = 12.00 earned; 2.00 kept. Fixed 5.00 stays to be paid.
    assert shown(bill, 4)[2:] == [
        ("day, surplus", 60.0, Decimal("-12.00")),
        ("credit kept for later", 2.0, Decimal("2.00")),
    ]
    assert bill.month_total(4) == Decimal("5.00")
    # May: day 70 kWh = 14.00 and night 10.00, less the 2.00.
    assert shown(bill, 5)[-1] == ("kept credit used", 2.0, Decimal("-2.00"))
    # Nothing left: no true-up line. With 50 kWh of day in February 10.00 are left in March, half is paid.
    assert not [line for line in bill.lines if line.what.startswith("true-up")]
    left = billed(export, {}, {2: (50.0, 0.0)})
    assert shown(left, 3) == [("true-up of kept credit", 10.0, Decimal("-5.00"))]
    assert left.total == Decimal("55.00")


def test_surplus_paid_monthly() -> None:
    bill = billed(
        {"pay": "net_metering", "net_within": "rate", "surplus": "paid_monthly", "remainder_price": 0.04}, USE, SUN
    )
    assert shown(bill, 4)[-1] == ("day, surplus", 60.0, Decimal("-2.40"))


FLAT = {"pay": "flat", "price": 0.05}


@pytest.mark.parametrize(
    ("rule", "total", "last"),
    [
        # April: energy 30.00, 1000 kWh sold for 50.00, fixed 5.00.
        (None, "-15.00", ("export", 1000.0, Decimal(-50))),
        ({"offset": ("energy",), "leftover": "lost"}, "5.00", ("credit that pays nothing", 20.0, Decimal(20))),
        ({"offset": ("energy", "customer_charge"), "leftover": "lost"}, "0.00",
         ("credit that pays nothing", 15.0, Decimal(15))),
        ({"offset": ("customer_charge",), "leftover": "lost"}, "30.00",
         ("credit that pays nothing", 45.0, Decimal(45))),
    ],
)  # fmt: skip
def test_credits_offset_what_the_rate_plan_names(
    rule: dict[str, object] | None, total: str, last: tuple[str, float, Decimal]
) -> None:
    export = FLAT if rule is None else {**FLAT, "credits": rule}
    bill = billed(export, {4: (100.0, 100.0)}, {4: (1000.0, 0.0)})
    assert bill.month_total(4) == Decimal(total)
    assert shown(bill, 4)[-1] == last


def test_credits_stop_at_the_minimum_bill_and_are_not_wasted_on_it() -> None:
    rule = {"offset": ("energy", "customer_charge"), "leftover": "carried", "remainder_share": 0.0}
    export = {**FLAT, "credits": rule, "true_up_month": 12}
    bill = billed(export, {4: (100.0, 100.0)}, {4: (1000.0, 0.0)}, minimum={"per_month": 12.0})
    # 35.00 of charges, of which 23.00 may be paid: 27.00 are kept. All other months: 5.00 up to 12.00.
    assert bill.month_total(4) == Decimal("12.00")
    assert shown(bill, 4)[-1] == ("credit kept for later", 27.0, Decimal("27.00"))
    assert bill.month_total(5) == Decimal("12.00")


def test_export_pay_without_credits_stands_aside_of_the_minimum() -> None:
    bill = billed(FLAT, {4: (10.0, 0.0)}, {4: (100.0, 0.0)}, minimum={"per_month": 12.0})
    # Charges 7.00 up to 12.00, less 5.00 paid for energy sold.
    assert bill.month_total(4) == Decimal("7.00")


def test_exports_that_cost_are_netted_within_their_bill_and_never_taken_from_the_credits() -> None:
    """Prices below zero, as wholesale markets know them: 0.10 by day, -0.20 by night.

    March: 10.00 earned, nothing to pay: 10.00 kept. April: 10.00 by day and -10.00 by night earn nothing. May:
    10.00 - 16.00 are 6.00 to pay, and the bill has 4.00 of energy, which the account pays: 6.00 are left in it. June:
    6.00 pay 6.00 of 20.00. The customer charge of 5.00 is never offset.
    """
    rule = {"offset": ("energy",), "leftover": "carried", "remainder_share": 1.0}
    export = {"pay": "hourly_file", "file": "none.csv", "credits": rule, "true_up_month": 12}
    hourly = tuple(np.where(LIGHT, 0.10, -0.20).tolist())
    sold = {3: (100.0, 0.0), 4: (100.0, 50.0), 5: (100.0, 80.0)}
    bill = billed(export, {5: (20.0, 0.0), 6: (100.0, 0.0)}, sold, hourly)
    assert [bill.month_total(month) for month in (3, 4, 5, 6, 7)] == [
        Decimal(each) for each in ("5.00", "5.00", "11.00", "19.00", "5.00")
    ]
    assert shown(bill, 3) == [
        ("export, mean of hours", 100.0, Decimal("-10.00")),
        ("credit kept for later", 10.0, Decimal("10.00")),
    ]
    assert shown(bill, 4) == [("export, mean of hours", 150.0, Decimal("0.00"))]
    assert shown(bill, 5) == [
        ("day", 20.0, Decimal("4.00")),
        ("export, mean of hours", 180.0, Decimal("6.00")),
        ("kept credit used", 4.0, Decimal("-4.00")),
    ]
    assert shown(bill, 6)[-1] == ("kept credit used", 6.0, Decimal("-6.00"))


def test_riders_are_on_all_that_is_imported_netted_or_not() -> None:
    bill = billed({**NET, "remainder_price": 0.0}, USE, SUN, riders=({"name": "fuel", "price": 0.01},))
    assert ("fuel", 200.0, Decimal("2.00")) in shown(bill, 4)


def test_export_by_window_and_by_hour() -> None:
    windows = ({"from": "06:00", "to": "18:00", "price": 0.02},)
    bill = billed({"pay": "by_window", "price": 0.07, "windows": windows}, {}, {4: (100.0, 10.0)})
    assert shown(bill, 4) == [("export", 100.0, Decimal("-2.00")), ("export", 10.0, Decimal("-0.70"))]
    hours = tuple(tuple(0.02 if 6 <= hour < 18 else 0.07 for hour in range(24)) for _ in range(12))
    table = billed({"pay": "by_month_and_hour", "prices": hours}, {}, {4: (100.0, 10.0)})
    # One line with the mean: 2.70 / 110 kWh.
    assert shown(table, 4) == [("export, mean of hours", 110.0, Decimal("-2.70"))]
