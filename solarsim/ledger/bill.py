"""The bill: import and export of every step and a rate plan in, charges to the cent out."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.ledger._sums import sums_by_slot
from solarsim.ledger.charges import DEMAND_NOTES, customer_charges, demand_charges, energy_charges, rider_charges
from solarsim.ledger.credits import export_charges, money_credits, net_meter
from solarsim.ledger.lines import Bill, BillLine, Cents, cents_by_bill, cents_of, charges_of, to_the_cent
from solarsim.ledger.prices import Prices
from solarsim.ledger.rate_plan_hours import RatePlanHours
from solarsim.scenario.rate_plan.rate_plan import RatePlan

Floats = NDArray[np.float64]

_FINER = 1e6  # parts of a cent to which an exact total is rounded

__all__ = [
    "Bill", "BillLine", "Readings", "bill_for", "bill_from", "bill_notes", "exact_total", "read_meters", "to_the_cent",
]  # fmt: skip


class Readings(NamedTuple):
    """What twelve bills need to know of a year's meters; bills across.

    Attributes
    ----------
    import_kwh : array of float
        By rate [kWh].
    export_kwh : array of float
        By rate, by window where exports have windows [kWh].
    rider_kwh : array of float
        Imported while each rider held [kWh].
    peak_kw : array of float
        For each demand charge the highest mean of a step that counts [kW].
    earned : array of float or None
        What exports earned where each hour has its own price [currency].
    """

    import_kwh: Floats
    export_kwh: Floats
    rider_kwh: Floats
    peak_kw: Floats
    earned: Floats | None


def read_meters(import_kw: Floats, export_kw: Floats, prices: Prices) -> Readings:
    """Return what the bills need of import and export, mean of each step [kW]."""
    hours, pay, step_h = prices.hours, prices.rate_plan.export, prices.hours.timeline.step_h

    def by_bill(kw: Floats) -> Floats:
        return np.asarray(np.bincount(hours.bill, kw, 12) * step_h, np.float64)

    rates, windows = len(prices.rate_plan.rates), len(pay.windows or ()) + 1
    export_slot, exports = hours.rate_slot, rates
    if pay.windows is not None:
        export_slot, exports = hours.bill * windows + hours.export_window, windows
    sums = sums_by_slot(import_kw, hours.rate_slot, 12 * rates, export_kw, export_slot, 12 * exports)
    import_kwh, export_kwh = (each.reshape(12, -1).T * step_h for each in sums)
    riders = [import_kwh.sum(axis=0) if inside is None else by_bill(import_kw * inside) for inside in hours.riders]
    peaks = [[float(import_kw[chosen].max(initial=0.0)) for chosen in steps] for steps in hours.demand]
    by_hour = pay.pay in ("by_month_and_hour", "hourly_file")
    earned = by_bill(export_kw * prices.export_price) if by_hour else None
    return Readings(import_kwh, export_kwh, np.array(riders), np.array(peaks), earned)


def bill_from(readings: Readings, prices: Prices) -> Bill:
    """Return the bill of what the meters read.

    Twelve bills from true-up to true-up. Each in the order: customer charges, energy, riders, demand,
    exports, credits, minimum, percentages.
    """
    rate_plan, hours, pay = prices.rate_plan, prices.hours, prices.rate_plan.export
    if pay.pay == "net_metering":
        billed_kwh, exports = net_meter(rate_plan, readings.import_kwh, readings.export_kwh)
    else:
        billed_kwh = readings.import_kwh
        exports = export_charges(readings.export_kwh, prices.export_price_by_slot, readings.earned)
    charged = [
        *customer_charges(rate_plan, hours),
        *energy_charges(rate_plan, hours, billed_kwh),
        *rider_charges(rate_plan, readings.rider_kwh),
        *demand_charges(rate_plan, hours, readings.peak_kw),
    ]
    found = [*charged, *exports]
    if pay.credits is not None or rate_plan.minimum is not None:
        least, owed = _minimum(rate_plan, hours), cents_by_bill(charged)
    if pay.credits is not None:
        payable = cents_by_bill(each for each in charged if each.kind in pay.credits.offset)
        earned = -cents_by_bill(each for each in exports if each.kind == "export")
        found += money_credits(pay, rate_plan.currency, payable, owed - least, earned)
    if rate_plan.minimum is not None:
        short = np.maximum(0, least - owed)
        found.append(charges_of("minimum", ["up to the minimum bill"], "month", short > 0, short / 100.0))
    for adder in rate_plan.adders:
        base = cents_by_bill(each for each in found if each.kind in adder.on)
        found.append(charges_of("tax", [adder.name], rate_plan.currency, np.maximum(0, base) / 100.0, adder.share))
    return Bill(rate_plan.currency, tuple(found))


def exact_total(readings: Readings, prices: Prices) -> float:
    """Return the total of the bill before any line is rounded to the cent, for comparisons with a bound [currency]."""
    # The same bill at prices a million times as high: its cents are millionths of a cent.
    finer = prices.repriced(prices.rate_plan.grown(_FINER, _FINER, _FINER, _FINER))
    earned = None if readings.earned is None else _FINER * readings.earned
    return float(bill_from(readings._replace(earned=earned), finer).total) / _FINER


def bill_for(import_kw: Floats, export_kw: Floats, prices: Prices) -> Bill:
    """Return the bill of a year's import and export, mean of each step [kW]."""
    return bill_from(read_meters(import_kw, export_kw, prices), prices)


def _minimum(rate_plan: RatePlan, hours: RatePlanHours) -> Cents:
    """Return what each bill comes to at least [currency/100]."""
    if rate_plan.minimum is None:
        return np.zeros(12, np.int64)
    if rate_plan.minimum.per_day is not None:
        return cents_of(rate_plan.minimum.per_day * hours.bill_days)
    return cents_of(np.full(12, rate_plan.minimum.per_month or 0.0))


def bill_notes(rate_plan: RatePlan, step_h: float = 1.0) -> list[str]:
    """Return what a reader of a rate plan's bills must know, for steps of this length [h].

    Where prices are far from what is usual, where demand is understated, and where the months of bills are not those of
    the calendar.
    """
    notes = [f"rate plan {rate_plan.name!r}: {doubt}" for doubt in rate_plan.doubts]
    if rate_plan.demand:
        notes.append(f"rate plan {rate_plan.name!r}: {DEMAND_NOTES[step_h]}")
    if rate_plan.reading_day is not None:
        notes.append(
            f"rate plan {rate_plan.name!r}: bills end on the meter reading day, day {rate_plan.reading_day} of the"
            " month; January's bill uses December of the same year, and energy is shown by calendar month"
        )
    return notes
