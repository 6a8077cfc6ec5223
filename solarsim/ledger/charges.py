"""The charges of twelve bills: kilowatt-hours and peaks in; tiers, riders, demand and customer charges out."""

import numpy as np
from numpy.typing import NDArray

from solarsim.ledger.lines import Charges, charges_of
from solarsim.ledger.rate_plan_hours import RatePlanHours
from solarsim.scenario.rate_plan.rate_plan import RatePlan, Tier

Floats = NDArray[np.float64]

#: What to know of demand charges, by the length of a step [h].
DEMAND_NOTES = {
    1.0: "demand is the highest hourly mean here; a 15-minute meter sees higher peaks, so the real charge is higher",
    0.5: "demand is the highest 30-minute mean here; a 15-minute meter sees higher peaks, so the real charge is higher",
    0.25: "demand is the highest 15-minute mean here; hourly load or weather data hide higher peaks",
}


def customer_charges(rate_plan: RatePlan, hours: RatePlanHours) -> list[Charges]:
    """Return what is charged whatever flows."""
    found = []
    if rate_plan.customer_charge_per_month:
        months = np.ones(12)
        found.append(
            charges_of("customer_charge", ["customer charge"], "month", months, rate_plan.customer_charge_per_month)
        )
    if rate_plan.customer_charge_per_day:
        name, rate = "customer charge by day", rate_plan.customer_charge_per_day
        found.append(charges_of("customer_charge", [name], "day", hours.bill_days, rate))
    return found


def energy_charges(rate_plan: RatePlan, hours: RatePlanHours, kwh: Floats) -> list[Charges]:
    """Return the charges on energy, rates down and bills across [kWh], by rate and tier, and the allowances.

    Tiers that count all rates split each rate's energy as the bill's whole energy is split by that
    rate's tiers (common practice, no source).
    """
    together = kwh.sum(axis=0)
    names: list[str] = []
    parts: list[Floats] = []
    prices: list[float] = []
    whole = rate_plan.tiers_count == "all_rates"
    for number, (rate, used) in enumerate(zip(rate_plan.rates, kwh, strict=True)):
        if rate.import_price is not None:
            names.append(rate.name)
            parts.append(used)
            prices.append(rate.import_price)
            continue
        counted = together if whole else used
        days = hours.bill_days if whole else hours.rate_days[:, number]
        share = np.divide(used, counted, out=np.zeros(12), where=used > 0.0)
        lower: Floats = np.zeros(12)
        for tier in rate.tiers:
            end = _end_of(tier, days, hours.bill_days)
            words = "above" if tier.end is None else f"to {tier.end:g} kWh" + (" a day" * bool(tier.up_to_kwh_per_day))
            names.append(f"{rate.name}, {words}")
            parts.append(np.maximum(0.0, np.minimum(counted, end) - lower) * share)
            prices.append(tier.price)
            lower = end
    found = [charges_of("energy", names, "kWh", parts, np.array(prices)[:, None])]
    for number, each in enumerate(rate_plan.allowances):
        allowed = hours.allowance_days[:, number]
        daily, monthly = each.kwh_per_day, each.kwh_per_month or 0.0
        most = daily * allowed if daily is not None else monthly * allowed / hours.bill_days
        within = np.minimum(most, together * allowed / hours.bill_days)
        found.append(charges_of("energy", [each.name], "kWh", within, 0.0 - each.credit_price))
    return found


def _end_of(tier: Tier, days: Floats, bill_days: Floats) -> Floats:
    """Return where a tier ends in each bill, whose days of the tier's season are given [kWh]."""
    if tier.up_to_kwh_per_day is not None:
        return tier.up_to_kwh_per_day * days
    if tier.up_to_kwh is not None:
        return tier.up_to_kwh * days / bill_days
    return np.full(12, np.inf)


def rider_charges(rate_plan: RatePlan, kwh: Floats) -> list[Charges]:
    """Return the charges on what was imported while each rider held, riders down and bills across [kWh]."""
    if not rate_plan.riders:
        return []
    prices = np.array([rider.price for rider in rate_plan.riders])[:, None]
    return [charges_of("rider", [rider.name for rider in rate_plan.riders], "kWh", kwh, prices)]


def demand_charges(rate_plan: RatePlan, hours: RatePlanHours, peak_kw: Floats) -> list[Charges]:
    """Return the charges on the highest mean of a step, charges down and bills across [kW], with the ratchet.

    A meter of quarter hours never sees less than one of hours, and often more.
    """
    mean, found = hours.timeline.mean_name, []
    for charge, steps, peak in zip(rate_plan.demand, hours.demand, peak_kw, strict=True):
        floor = np.zeros(12)
        for back in range(1, (charge.ratchet_months or 0) + 1):
            floor = np.maximum(floor, (charge.ratchet_share or 0.0) * np.roll(peak, back))
        charged = np.array([chosen.size > 0 for chosen in steps])
        kw = np.where([charged & (peak >= floor), charged & (peak < floor)], [peak, floor], 0.0)
        names = [f"{charge.name}, {mean}", f"{charge.name}, ratchet of {mean}"]
        found.append(charges_of("demand", names, "kW", kw, charge.price))
    return found
