"""The charges of one bill: its kilowatt-hours and peaks in, lines for tiers, riders, demand and customer charges out."""

from math import inf

import numpy as np
from numpy.typing import NDArray

from solarsim.ledger.lines import BillLine, bill_line
from solarsim.ledger.rate_plan_hours import RatePlanHours
from solarsim.scenario.rate_plan.rate_plan import Rate, RatePlan

#: What to know of demand charges, by the length of a step [h].
DEMAND_NOTES = {
    1.0: "demand is the highest hourly mean here; a meter of quarter hours sees higher peaks and charges more",
    0.5: "demand is the highest mean of 30 minutes here; a meter of quarter hours sees higher peaks and charges more",
    0.25: "demand is the highest mean of 15 minutes here; a load and a sky known by the hour hide higher peaks",
}


def energy_lines(rate_plan: RatePlan, hours: RatePlanHours, month: int, kwh: list[float]) -> list[BillLine]:
    """Charge the energy of a bill by rate and tier, and take the allowances off.

    Tiers that count all rates split each rate's energy as the bill's whole energy is split by that
    rate's tiers (common practice, no source).

    Parameters
    ----------
    rate_plan : RatePlan
        Rates and allowances.
    hours : TariffHours
        Days of the bill.
    month : int
        The bill, 1 to 12.
    kwh : list of float
        Billed in each rate [kWh].

    Returns
    -------
    list of BillLine
        Lines without energy are left out.
    """
    lines: list[BillLine] = []
    together = sum(kwh)
    for number, (rate, used) in enumerate(zip(rate_plan.rates, kwh, strict=True)):
        if used <= 0.0:
            continue
        if rate.import_price is not None:
            lines.append(bill_line(month, "energy", rate.name, used, "kWh", rate.import_price))
            continue
        whole = rate_plan.tiers_count == "all_rates"
        counted = together if whole else used
        lower = 0.0
        for tier, end, words in _tier_ends(rate, hours, month, number, whole):
            inside = max(0.0, min(counted, end) - lower) * (used / counted)
            if inside > 0.0:
                lines.append(bill_line(month, "energy", f"{rate.name}, {words}", inside, "kWh", tier))
            lower = end
    for number, each in enumerate(rate_plan.allowances):
        given, days = hours.allowance_days[month - 1, number], hours.bill_days[month - 1]
        most = each.kwh_per_day * given if each.kwh_per_day is not None else (each.kwh_per_month or 0.0) * given / days
        within = min(float(most), float(together * given / days))
        if within > 0.0:
            lines.append(bill_line(month, "energy", each.name, within, "kWh", 0.0 - each.credit_price))
    return lines


def _tier_ends(
    rate: Rate, hours: RatePlanHours, month: int, number: int, whole: bool
) -> list[tuple[float, float, str]]:
    bill_days = float(hours.bill_days[month - 1])
    days = bill_days if whole else float(hours.rate_days[month - 1, number])
    found = []
    for tier in rate.tiers:
        if tier.up_to_kwh_per_day is not None:
            end = tier.up_to_kwh_per_day * days
        elif tier.up_to_kwh is not None:
            end = tier.up_to_kwh * days / bill_days
        else:
            end = inf
        words = "above" if tier.end is None else f"to {tier.end:g} kWh" + (" a day" if tier.up_to_kwh_per_day else "")
        found.append((tier.price, end, words))
    return found


def rider_lines(rate_plan: RatePlan, month: int, kwh: list[float]) -> list[BillLine]:
    """Charge each rider on what was bought while it held, whatever was sold.

    Parameters
    ----------
    rate_plan : RatePlan
        Riders.
    month : int
        The bill, 1 to 12.
    kwh : list of float
        Bought while each rider held [kWh].

    Returns
    -------
    list of BillLine
        Lines without energy are left out.
    """
    return [
        bill_line(month, "rider", rider.name, bought, "kWh", rider.price)
        for rider, bought in zip(rate_plan.riders, kwh, strict=True)
        if bought > 0.0
    ]


def fixed_lines(rate_plan: RatePlan, hours: RatePlanHours, month: int) -> list[BillLine]:
    """Charge what is charged whatever flows.

    Parameters
    ----------
    rate_plan : RatePlan
        Fixed charges.
    hours : TariffHours
        Days of the bill.
    month : int
        The bill, 1 to 12.

    Returns
    -------
    list of BillLine
        None for a charge of 0.
    """
    lines = []
    if rate_plan.customer_charge_per_month:
        lines.append(
            bill_line(month, "customer_charge", "customer charge", 1.0, "month", rate_plan.customer_charge_per_month)
        )
    if rate_plan.customer_charge_per_day:
        days = float(hours.bill_days[month - 1])
        lines.append(
            bill_line(
                month, "customer_charge", "customer charge by day", days, "day", rate_plan.customer_charge_per_day
            )
        )
    return lines


def demand_lines(
    rate_plan: RatePlan, hours: RatePlanHours, import_kw: NDArray[np.float64]
) -> dict[int, list[BillLine]]:
    """Charge the highest mean of a step in each bill, with the ratchet.

    A meter that takes quarter hours never sees less than one that takes hours, and often more.

    Parameters
    ----------
    rate_plan : RatePlan
        Demand charges.
    hours : TariffHours
        The steps that count.
    import_kw : array of float
        Mean of each step [kW].

    Returns
    -------
    dict of int to list of BillLine
        For each bill, 1 to 12.
    """
    mean = hours.timeline.mean_name
    found: dict[int, list[BillLine]] = {month: [] for month in range(1, 13)}
    for charge, steps in zip(rate_plan.demand, hours.demand, strict=True):
        peaks = [float(import_kw[chosen].max()) if chosen.size else 0.0 for chosen in steps]
        for place, peak in enumerate(peaks):
            before = [peaks[(place - back) % 12] for back in range(1, (charge.ratchet_months or 0) + 1)]
            floor = (charge.ratchet_share or 0.0) * max(before, default=0.0)
            if steps[place].size and max(peak, floor) > 0.0:
                what = f"{charge.name}, {mean if peak >= floor else f'ratchet of {mean}'}"
                found[place + 1].append(bill_line(place + 1, "demand", what, max(peak, floor), "kW", charge.price))
    return found
