"""The bill: import and export of every step and a rate plan in, lines that add up to the cent out."""

from collections.abc import Iterable
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.ledger.charges import DEMAND_NOTES, demand_lines, energy_lines, fixed_lines, rider_lines
from solarsim.ledger.credits import export_lines, money_credits, months_from_true_up, net_meter
from solarsim.ledger.lines import NOTHING, Bill, BillLine, bill_line, to_the_cent
from solarsim.ledger.prices import Prices
from solarsim.ledger.rate_plan_hours import RatePlanHours
from solarsim.scenario.rate_plan.rate_plan import Kind, RatePlan

#: Currencies in which no household pays a whole unit, let alone three, for a kWh (common practice, no source).
_LARGE_UNITS, _CENTS_FROM = ("AUD", "CAD", "CHF", "EUR", "GBP", "NZD", "SGD", "USD"), 3.0

__all__ = ["Bill", "BillLine", "bill_doubts", "bill_for", "energy_cost", "metered", "to_the_cent"]


def metered(
    rate_plan: RatePlan, import_kw: NDArray[np.float64], export_kw: NDArray[np.float64], behind_kw: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Read the meters of a home as its rate plan does.

    Feed-in pay needs two meters: one counts all that the inverter puts out on its AC side, which is
    sold; the other all that the home and the charger take, which is bought. Both stand on the grid's
    side of the inverter, so what a battery returns is sold as production (see ``charging_conflict``).

    Parameters
    ----------
    rate_plan : RatePlan
        The rate plan.
    import_kw, export_kw : arrays of float
        Through the one meter at the grid, mean of each step [kW].
    behind_kw : array of float
        What the inverter serves the home, from sun and battery, likewise [kW].

    Returns
    -------
    tuple of two arrays of float
        Bought and sold [kW], for ``bill_for``.
    """
    if rate_plan.export.pay == "feed_in":
        return import_kw + behind_kw, export_kw + behind_kw
    return import_kw, export_kw


def bill_for(
    import_kw: NDArray[np.float64],
    export_kw: NDArray[np.float64],
    rate_plan: RatePlan,
    prices: Prices,
    timeline: Timeline,
) -> Bill:
    """Charge what went through the meter.

    Parameters
    ----------
    import_kw, export_kw : arrays of float
        Of the whole home, mean of each step [kW]; with feed-in pay all demand, and all production.
    rate_plan : RatePlan
        The rate plan.
    prices : Prices
        The rate plan on the timeline.
    timeline : Timeline
        Its steps.

    Returns
    -------
    Bill
        Twelve bills from true-up to true-up. Each in the order: customer charges, energy, riders,
        demand, exports, credits, minimum, percentages; lines without a quantity are left out.
    """
    hours, rates, step_h = prices.hours, len(rate_plan.rates), timeline.step_h

    def by_bill(kw: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(np.bincount(hours.rate_slot, kw, 12 * rates).reshape(12, rates) * step_h, np.float64)

    bought, sold = by_bill(import_kw), by_bill(export_kw)
    netted: dict[int, list[BillLine]] = {}
    billed = bought
    if rate_plan.export.pay == "net_metering":
        billed, netted = net_meter(rate_plan, bought, sold)
    paid = netted or _paid_exports(rate_plan, prices, export_kw, sold, step_h)
    riders = _rider_kwh(hours, import_kw, bought, step_h)
    demand = demand_lines(rate_plan, hours, import_kw)

    account, bills = NOTHING, {}
    for month in months_from_true_up(rate_plan.export):
        lines = fixed_lines(rate_plan, hours, month)
        lines += energy_lines(rate_plan, hours, month, billed[month - 1].tolist())
        lines += rider_lines(rate_plan, month, [each[month - 1] for each in riders])
        lines += demand[month]
        charges = _sums(lines)
        lines += paid[month]
        least = _minimum(rate_plan, hours, month)
        if rate_plan.export.credits is not None:
            earned = -_sums(paid[month]).get("export", NOTHING)
            settled, account = money_credits(
                month,
                rate_plan.currency,
                rate_plan.export.credits,
                month == rate_plan.export.true_up_month,
                charges,
                least,
                earned,
                account,
            )
            lines += settled
        short = least - sum(charges.values(), NOTHING)
        if short > 0:
            lines.append(bill_line(month, "minimum", "up to the minimum bill", 1.0, "month", float(short)))
        for adder in rate_plan.adders:
            sums = _sums(lines)
            base = sum((sums.get(kind, NOTHING) for kind in adder.on), NOTHING)
            if base > 0:
                lines.append(bill_line(month, "tax", adder.name, float(base), rate_plan.currency, adder.share))
        bills[month] = lines
    return Bill(rate_plan.currency, tuple(line for month in range(1, 13) for line in bills[month]))


def _sums(lines: Iterable[BillLine]) -> dict[Kind, Decimal]:
    sums: dict[Kind, Decimal] = {}
    for line in lines:
        sums[line.kind] = sums.get(line.kind, NOTHING) + line.amount
    return sums


def _minimum(rate_plan: RatePlan, hours: RatePlanHours, month: int) -> Decimal:
    if rate_plan.minimum is None:
        return NOTHING
    if rate_plan.minimum.per_day is not None:
        return to_the_cent(rate_plan.minimum.per_day * float(hours.bill_days[month - 1]))
    return to_the_cent(rate_plan.minimum.per_month or 0.0)


def _rider_kwh(
    hours: RatePlanHours, import_kw: NDArray[np.float64], bought: NDArray[np.float64], step_h: float
) -> list[list[float]]:
    whole = bought.sum(axis=1).tolist()
    return [
        whole if inside is None else (np.bincount(hours.bill, import_kw * inside, minlength=12) * step_h).tolist()
        for inside in hours.riders
    ]


def _paid_exports(
    rate_plan: RatePlan, prices: Prices, export_kw: NDArray[np.float64], sold: NDArray[np.float64], step_h: float
) -> dict[int, list[BillLine]]:
    hours, pay = prices.hours, rate_plan.export
    earned: list[float] | list[None] = [None] * 12
    by_price = np.zeros(sold.shape[1])
    if pay.pay in ("by_month_and_hour", "hourly_file"):
        earned = (np.bincount(hours.bill, export_kw * prices.export_price, minlength=12) * step_h).tolist()
    elif pay.windows is not None:
        count = len(pay.windows) + 1
        slot = hours.bill * count + hours.export_window
        sold = np.asarray(np.bincount(slot, export_kw, 12 * count).reshape(12, count) * step_h, np.float64)
        by_price = np.array([*(window.price for window in pay.windows), pay.price or 0.0])
    else:
        by_price[prices.rate] = prices.export_price
    return {month: export_lines(month, sold[month - 1], by_price, earned[month - 1]) for month in range(1, 13)}


def energy_cost(import_kw: NDArray[np.float64], export_kw: NDArray[np.float64], prices: Prices, step_h: float) -> float:
    """Add up import less export at the listed price of each step, not rounded.

    Parameters
    ----------
    import_kw, export_kw : arrays of float
        Mean of each step [kW].
    prices : Prices
        Price of each step [currency/kWh].
    step_h : float
        Length of a step [h].

    Returns
    -------
    float
        [currency]; the bill's energy for a plan that is a sum of hours (``RatePlan.beyond_hours``).
    """
    return float(np.dot(import_kw, prices.import_price) - np.dot(export_kw, prices.export_price)) * step_h


def bill_total(
    import_kw: NDArray[np.float64],
    export_kw: NDArray[np.float64],
    rate_plan: RatePlan,
    prices: Prices,
    timeline: Timeline,
    to_the_cent: bool = True,
) -> float:
    """Give the sum of a year's bill.

    Parameters
    ----------
    import_kw, export_kw : arrays of float
        As for ``bill_for`` [kW].
    rate_plan, prices, timeline
        As for ``bill_for``.
    to_the_cent : bool
        False where a few cents a year do not matter and thousands of years are billed: a plan that is a sum of hours
        is then summed without writing its lines; half a cent a line is the most that it can be off.

    Returns
    -------
    float
        [currency].
    """
    if to_the_cent or rate_plan.beyond_hours():
        return float(bill_for(import_kw, export_kw, rate_plan, prices, timeline).total)
    days = float(prices.hours.bill_days.sum())
    customer_charge = 12 * rate_plan.customer_charge_per_month + days * rate_plan.customer_charge_per_day
    return customer_charge + energy_cost(import_kw, export_kw, prices, timeline.step_h)


def bill_doubts(rate_plan: RatePlan, step_h: float = 1.0) -> list[str]:
    """Say what a reader of a rate plan's bills must know.

    Parameters
    ----------
    rate_plan : RatePlan
        The rate plan.
    step_h : float
        Length of a step [h].

    Returns
    -------
    list of str
        Where prices look like hundredths, where demand is understated, and where the months of bills are
        not those of the calendar.
    """
    doubts = []
    dearest = max(max((tier.price for tier in rate.tiers), default=rate.listed_price) for rate in rate_plan.rates)
    if rate_plan.currency in _LARGE_UNITS and dearest > _CENTS_FROM:
        doubts.append(
            f"rate plan {rate_plan.name!r}: {dearest:g} {rate_plan.currency} for a kWh is far beyond any household's price;"
            f" prices are in {rate_plan.currency}, not in hundredths of it"
        )
    if rate_plan.demand:
        doubts.append(f"rate plan {rate_plan.name!r}: {DEMAND_NOTES[step_h]}")
    if rate_plan.reading_day is not None:
        doubts.append(
            f"rate plan {rate_plan.name!r}: the bill of a month ends when the meter is read on its day {rate_plan.reading_day},"
            " and January's begins in December of the same year; energy is by calendar month"
        )
    return doubts
