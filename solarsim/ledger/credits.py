"""Exports on the bill: what kilowatt-hours offset, what money they earn, what is kept and settled later.

The year of credits ends with the bill of the true-up month and begins after it with nothing; since
the year is a circle, the bill of a year is that from true-up to true-up.
"""

from collections.abc import Mapping
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from solarsim.ledger.lines import NOTHING, BillLine, bill_line
from solarsim.scenario.rate_plan.export import ExportPay
from solarsim.scenario.rate_plan.rate_plan import Credits, Kind, RatePlan

NETTED, FROM_KEPT, KEPT = "netted against export", "netted against kept kWh", "kept for later"


def months_from_true_up(pay: ExportPay) -> list[int]:
    """Give the twelve months in the order in which credits are carried: after the true-up month first."""
    return [(pay.starts_after_month + place) % 12 + 1 for place in range(12)]


def net_meter(
    rate_plan: RatePlan, bought_kwh: NDArray[np.float64], sold_kwh: NDArray[np.float64]
) -> tuple[NDArray[np.float64], dict[int, list[BillLine]]]:
    """Let exported kilowatt-hours offset bought ones, bill by bill.

    Lines at rate 0 show where each exported kWh went: what was bought in a rate is what is billed,
    netted and netted against kept kWh; what was sold is what is netted, kept, or earns money.

    Parameters
    ----------
    rate_plan : RatePlan
        With net metering.
    bought_kwh, sold_kwh : arrays of float
        Twelve bills x rates [kWh].

    Returns
    -------
    (array of float, dict of int to list of BillLine)
        Billed energy, twelve bills x rates [kWh]; the lines of each bill, 1 to 12.
    """
    pay, names = rate_plan.export, [rate.name for rate in rate_plan.rates]
    whole = pay.net_within == "month"
    billed, kept = np.zeros_like(bought_kwh), np.zeros(len(names))
    found: dict[int, list[BillLine]] = {}
    for month in months_from_true_up(pay):
        left, surplus = bought_kwh[month - 1].copy(), sold_kwh[month - 1].copy()
        netted = _offset(left, surplus, whole)
        from_kept = _offset(left, kept, whole)
        billed[month - 1] = left
        lines: list[BillLine] = []
        for name, direct, later in zip(names, netted.tolist(), from_kept.tolist(), strict=True):
            if direct > 0.0:
                lines.append(bill_line(month, "export", f"{name}, {NETTED}", direct, "kWh", 0.0))
            if later > 0.0:
                lines.append(bill_line(month, "credit", f"{name}, {FROM_KEPT}", later, "kWh", 0.0))
        for rate, name, over in zip(rate_plan.rates, names, surplus.tolist(), strict=True):
            if over <= 0.0:
                continue
            if pay.surplus == "carried_as_kwh":
                lines.append(bill_line(month, "credit", f"{name}, {KEPT}", over, "kWh", 0.0))
            elif pay.surplus == "carried_as_money":
                lines.append(bill_line(month, "export", f"{name}, surplus", over, "kWh", 0.0 - rate.listed_price))
            else:
                price = 0.0 - (pay.remainder_price or 0.0)
                lines.append(bill_line(month, "export", f"{name}, surplus", over, "kWh", price))
        if pay.surplus == "carried_as_kwh":
            kept += surplus
        if month == pay.true_up_month and kept.sum() > 0.0:
            price = 0.0 - (pay.remainder_price or 0.0)
            lines.append(bill_line(month, "credit", "true-up of kept kWh", float(kept.sum()), "kWh", price))
        found[month] = lines
    return billed, found


def _offset(left: NDArray[np.float64], given: NDArray[np.float64], whole: bool) -> NDArray[np.float64]:
    """Take from what is left to bill what is given in the same rate, then elsewhere; both shrink in place."""
    taken = np.minimum(left, given)
    left -= taken
    given -= taken
    if whole:
        for giver in np.flatnonzero(given > 0.0):
            for taker in np.flatnonzero(left > 0.0):
                amount = min(left[taker], given[giver])
                left[taker] -= amount
                given[giver] -= amount
                taken[taker] += amount
    return taken


def export_lines(
    month: int, sold_kwh: NDArray[np.float64], prices: NDArray[np.float64], earned: float | None
) -> list[BillLine]:
    """Pay for the exports of a bill in money.

    Parameters
    ----------
    month : int
        The bill, 1 to 12.
    sold_kwh : array of float
        By rate or window [kWh].
    prices : array of float
        Of each [currency/kWh].
    earned : float or None
        Where each hour has its own price: what all of it earned [currency]; the line then shows
        the mean.

    Returns
    -------
    list of BillLine
        One for each price; none without energy.
    """
    if earned is not None:
        kwh = float(sold_kwh.sum())
        return (
            [bill_line(month, "export", "export, mean of hours", kwh, "kWh", 0.0 - earned / kwh)] if kwh > 0.0 else []
        )
    return [
        bill_line(month, "export", "export", float(sold_kwh[prices == price].sum()), "kWh", 0.0 - price)
        for price in sorted(set(prices[sold_kwh > 0.0].tolist()))
    ]


def money_credits(
    month: int,
    currency: str,
    rule: Credits,
    true_up: bool,
    charges: Mapping[Kind, Decimal],
    minimum: Decimal,
    earned: Decimal,
    account: Decimal,
) -> tuple[list[BillLine], Decimal]:
    """Let what exports earned, now and before, pay what it may pay of a bill.

    Parameters
    ----------
    month : int
        The bill, 1 to 12.
    currency : str
        ISO 4217 code.
    rule : Credits
        What may be paid, and what becomes of the rest.
    true_up : bool
        Whether the account is settled with this bill.
    charges : mapping of str to Decimal
        The bill's charges by kind [currency].
    minimum : Decimal
        What the charges come to at least [currency].
    earned, account : Decimal
        Earned in this bill, whose lines stand in it already, and kept from earlier ones [currency];
        what exports cost at negative prices is paid in this bill and takes nothing from the account.

    Returns
    -------
    (list of BillLine, Decimal)
        Lines that take out of the bill what is kept, or bring in what was; the new account.
    """
    payable = sum((charges.get(kind, NOTHING) for kind in rule.offset), NOTHING)
    above_minimum = sum(charges.values(), NOTHING) - minimum
    earned = max(NOTHING, earned)
    pool = account + earned
    used = max(NOTHING, min(pool, payable, above_minimum))
    lines = []
    if earned > used:
        words = "credit kept for later" if rule.leftover == "carried" else "credit that pays nothing"
        lines.append(bill_line(month, "credit", words, float(earned - used), currency, 1.0))
    elif used > earned:
        lines.append(bill_line(month, "credit", "kept credit used", float(used - earned), currency, -1.0))
    account = pool - used if rule.leftover == "carried" else NOTHING
    if true_up and account > 0:
        share = 0.0 - (rule.remainder_share or 0.0)
        lines.append(bill_line(month, "credit", "true-up of kept credit", float(account), currency, share))
        account = NOTHING
    return lines, account
