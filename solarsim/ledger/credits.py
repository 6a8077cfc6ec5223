"""Exports on the bill: what kilowatt-hours offset, what money they earn, what is kept and settled later.

The year of credits ends with the bill of the true-up month and begins after it with nothing; since
the year is a circle, the bill of a year is that from true-up to true-up.
"""

import numpy as np
from numpy.typing import NDArray

from solarsim.ledger.lines import Cents, Charges, charges_of
from solarsim.scenario.rate_plan.export import ExportPay
from solarsim.scenario.rate_plan.rate_plan import RatePlan

Floats = NDArray[np.float64]
NETTED, FROM_KEPT, KEPT = "netted against export", "netted against kept kWh", "kept for later"


def months_from_true_up(pay: ExportPay) -> list[int]:
    """Return the twelve months in the order in which credits are carried: after the true-up month first."""
    return [(pay.starts_after_month + place) % 12 + 1 for place in range(12)]


def net_meter(rate_plan: RatePlan, import_kwh: Floats, export_kwh: Floats) -> tuple[Floats, list[Charges]]:
    """Offset imported kilowatt-hours by exported ones, bill by bill [kWh]: rates down, bills across.

    Returns what is left to bill, and lines that show where each exported kWh went: what was imported in
    a rate is what is billed, netted and netted against kept kWh; what was exported is what is netted,
    kept, or earns money.
    """
    pay, names = rate_plan.export, [rate.name for rate in rate_plan.rates]
    whole = pay.net_within == "month"
    billed, surplus = import_kwh.copy(), export_kwh.copy()
    netted, from_kept = np.zeros_like(billed), np.zeros_like(billed)
    kept, settled = np.zeros(len(names)), np.zeros(12)
    for place in (month - 1 for month in months_from_true_up(pay)):
        netted[:, place] = _offset(billed[:, place], surplus[:, place], whole)
        from_kept[:, place] = _offset(billed[:, place], kept, whole)
        if pay.surplus == "carried_as_kwh":
            kept += surplus[:, place]
        if place + 1 == pay.true_up_month:
            settled[place] = kept.sum()
    remainder = 0.0 - (pay.remainder_price or 0.0)
    found = [
        charges_of("export", [f"{name}, {NETTED}" for name in names], "kWh", netted, 0.0),
        charges_of("credit", [f"{name}, {FROM_KEPT}" for name in names], "kWh", from_kept, 0.0),
    ]
    if pay.surplus == "carried_as_kwh":
        found.append(charges_of("credit", [f"{name}, {KEPT}" for name in names], "kWh", surplus, 0.0))
        found.append(charges_of("credit", ["true-up of kept kWh"], "kWh", settled, remainder))
    else:
        listed = np.array([rate.listed_price for rate in rate_plan.rates])[:, None]
        price = 0.0 - listed if pay.surplus == "carried_as_money" else remainder
        found.append(charges_of("export", [f"{name}, surplus" for name in names], "kWh", surplus, price))
    return billed, found


def _offset(left: Floats, offered: Floats, whole: bool) -> Floats:
    """Return what is offset of what is left to bill, in the same rate first; both series shrink in place."""
    taken = np.minimum(left, offered)
    left -= taken
    offered -= taken
    if whole:
        for giver in np.flatnonzero(offered > 0.0):
            for taker in np.flatnonzero(left > 0.0):
                amount = min(left[taker], offered[giver])
                left[taker] -= amount
                offered[giver] -= amount
                taken[taker] += amount
    return taken


def export_charges(export_kwh: Floats, prices: Floats, earned: Floats | None) -> list[Charges]:
    """Return what exports earn in money: one line for each price; rates or windows down, bills across [kWh].

    Where each hour has its own price, ``earned`` is what all of them earned, and the line shows the mean.
    """
    if earned is not None:
        kwh = export_kwh.sum(axis=0)
        mean = np.divide(earned, kwh, out=np.zeros(12), where=kwh > 0.0)
        return [charges_of("export", ["export, mean of hours"], "kWh", kwh, 0.0 - mean)]
    levels = np.array(sorted(set(prices.tolist())))
    several = levels.size > 1
    kwh = np.array([(export_kwh[prices == level] if several else export_kwh).sum(axis=0) for level in levels])
    return [charges_of("export", ["export"] * levels.size, "kWh", kwh, 0.0 - levels[:, None])]


def money_credits(pay: ExportPay, currency: str, payable: Cents, above_minimum: Cents, earned: Cents) -> list[Charges]:
    """Return the credit lines: what exports earned, now and before, pays what the rule allows of each bill.

    ``payable`` is what the rule lets it pay, ``above_minimum`` what the charges come to beyond the minimum,
    ``earned`` what the bill's exports earned, whose lines are in it already. The exports of one bill are netted
    with each other: hours of negative price reduce what its other hours earn. Where they cost more, the rest is
    paid with the bill and leaves the account alone.
    """
    rule = pay.credits
    if rule is None:
        return []
    carried = rule.leftover == "carried"
    kept, used_of_account, settled = (np.zeros(12, np.int64) for _ in range(3))
    account = 0
    for place in (month - 1 for month in months_from_true_up(pay)):
        own = max(0, int(earned[place]))
        used = max(0, min(account + own, int(payable[place]), int(above_minimum[place])))
        kept[place], used_of_account[place] = max(0, own - used), max(0, used - own)
        account = account + own - used if carried else 0
        if place + 1 == pay.true_up_month:
            settled[place], account = account, 0
    return [
        charges_of("credit", [name], currency, cents / 100.0, rate)
        for name, cents, rate in (
            ("credit kept for later" if carried else "credit that pays nothing", kept, 1.0),
            ("kept credit used", used_of_account, -1.0),
            ("true-up of kept credit", settled, 0.0 - (rule.remainder_share or 0.0)),
        )
    ]
