"""What a year costs, as rows of a linear program: import and export of each step and a rate plan in, a bill out.

Every bill that the ledger can make of a run is one that the program may choose, at the same amount before rounding to
cents; where a bill is convex in import and export, the program's lowest is the ledger's lowest too. Where it is not,
as with tiers whose price falls, a program would choose the last tier first: ``why_not_convex`` says so, and there is
no bound.
"""

from collections.abc import Iterable, Iterator

import numpy as np

from solarsim.engine.records import Bools
from solarsim.ledger.credits import months_from_true_up
from solarsim.ledger.prices import Prices
from solarsim.ledger.rate_plan_hours import RatePlanHours
from solarsim.scenario.rate_plan.rate_plan import Credits, ExportPay, Kind, Rate, RatePlan
from solarsim.studies.optimum._linear import Floats, Ints, Linear, Program, fixed

_MONTHS = np.arange(12)
_SAME = 1e-9


def why_not_convex(rate_plan: RatePlan) -> str:
    """Return why a plan's bill has no bound, as a clause; empty where it has one."""
    return next((words for there, words in _not_convex(rate_plan) if there), "")


def _not_convex(rate_plan: RatePlan) -> Iterator[tuple[bool, str]]:
    """Yield what makes a bill not convex, or what a program does not know."""
    pay, rates = rate_plan.export, rate_plan.rates
    yield pay.pay == "feed_in", "under feed-in pay all production is paid for and all load is billed"
    falling = any(np.diff([tier.price for tier in rate.tiers]).min(initial=0.0) < 0.0 for rate in rates)
    yield falling, "the price of a tier falls, so the bill is not convex and its lowest value is not known"
    unlike = rate_plan.tiers_count == "all_rates" and len({_steps_of(rate) for rate in rates}) > 1
    yield unlike, "tiers that count all rates differ between them, so the bill is not convex"
    several = len(rates) > 1 and (len({rate.listed_price for rate in rates}) > 1 or any(each.tiers for each in rates))
    across = pay.pay == "net_metering" and pay.net_within == "month" and several
    yield across, "exports offset imports at other prices within a month, so the bill is not convex"
    discounts = [each for each in rate_plan.adders if each.share < 0.0]
    certain = ("energy", "customer_charge", "demand", "minimum")
    signed = any(kind not in certain for each in discounts for kind in each.on)
    yield signed, "a discount acts on lines that can be negative, so the bill is not convex"
    yield sum(each.share for each in discounts) < -1.0, "discounts of more than 100% have no lowest bill"


def _steps_of(rate: Rate) -> tuple[tuple[float | None, float], ...]:
    """Return where the tiers of a rate end, and by how much each is above the first."""
    return tuple((tier.end, round(tier.price - rate.tiers[0].price, 9)) for tier in rate.tiers)


def pays_to_export(prices: Prices) -> Bools:
    """Return in which steps energy could earn more by export than its import costs, or import costs nothing."""
    plan, pay = prices.rate_plan, prices.rate_plan.export
    relief = sum(each.credit_price for each in plan.allowances)
    least = prices.import_price - relief
    most = prices.export_price
    if pay.pay == "net_metering":  # offsetting earns the price of the rate, at most its last tier's
        last = np.array([max([rate.listed_price, *(tier.price for tier in rate.tiers)]) for rate in plan.rates])
        most = np.maximum(last[prices.rate], pay.remainder_price or 0.0)
    return np.asarray((most > least + _SAME) | (least < 0.0), np.bool_)


def why_loose(prices: Prices) -> str:
    """Return why the lowest bill may be well below what a ledger can make, as a clause; empty where it is not."""
    plan, hours = prices.rate_plan, float(pays_to_export(prices).sum()) * prices.hours.timeline.step_h
    kept = bool(plan.minimum or plan.allowances or any(rate.tiers for rate in plan.rates))
    if plan.export.pay == "net_metering" and kept:
        return "it may keep exported kWh for later where they would be netted at once within tier, allowance or minimum"
    if plan.export.pay == "net_metering" and (plan.export.remainder_price or 0.0) > min(
        rate.listed_price for rate in plan.rates
    ):
        return "it may keep exported kWh that earn more as a remainder than the import they would offset costs"
    return f"export can pay more than import costs in {hours:,.0f} h" if hours else ""


def add_bill(program: Program, prices: Prices, import_kw: Linear, export_kw: Linear) -> None:
    """Add twelve bills to a program, and their sum to what it minimizes [currency]."""
    plan, hours, step_h = prices.rate_plan, prices.hours, prices.hours.timeline.step_h
    pay, slots = plan.export, 12 * len(plan.rates)
    imported = program.held(step_h * import_kw.by(hours.rate_slot, slots), 0.0)
    nothing = credit = fixed(np.zeros(12))
    if pay.pay == "net_metering":
        exported = program.held(step_h * export_kw.by(hours.rate_slot, slots), 0.0)
        billed, earned, credit = _net_meter(program, plan, imported, exported)
    else:
        billed = imported
        earned = program.held((step_h * prices.export_price * export_kw).by(hours.bill, 12))
    kinds: dict[Kind, Linear] = {
        "customer_charge": fixed(plan.customer_charge_per_month + plan.customer_charge_per_day * hours.bill_days),
        "energy": program.held(_energy(program, plan, hours, billed)),
        "rider": _riders(program, plan, hours, import_kw, imported),
        "demand": _demand(program, plan, hours, import_kw),
        "export": -1.0 * earned,
    }
    owed = kinds["energy"] + kinds["rider"] + kinds["customer_charge"] + kinds["demand"]
    least = _minimum(plan, hours)
    charged = owed
    if plan.minimum is not None:
        charged = program.columns(12, lower=least)
        program.at_most(owed, charged)
    if pay.credits is not None:
        payable = _sum(kinds[kind] for kind in pay.credits.offset)
        credit = credit + _money_credits(program, pay, pay.credits, payable, charged - least, earned)
    kinds |= {"credit": credit, "minimum": charged - owed, "tax": nothing}
    for adder in plan.adders:
        base = _sum(kinds[kind] for kind in adder.on)
        tax = program.columns(12, lower=0.0 if adder.share > 0.0 else -np.inf)
        if adder.share > 0.0:
            program.at_most(adder.share * base, tax)
        else:
            program.equal(tax, adder.share * base)
        kinds["tax"] = kinds["tax"] + tax
    program.costs(_sum(kinds.values()))


def _sum(amounts: Iterable[Linear]) -> Linear:
    """Return the sum of some amounts of twelve bills."""
    total = fixed(np.zeros(12))
    for each in amounts:
        total = total + each
    return total


def _of_rate(kwh: Linear, rates: int, number: int) -> Linear:
    """Return a rate's energy in each bill, of slots that count bill x rates + rate [kWh]."""
    return kwh.at(_MONTHS * rates + number)


def _energy(program: Program, plan: RatePlan, hours: RatePlanHours, billed: Linear) -> Linear:
    """Return the charges on billed energy, tiers and allowances included [currency]."""
    count, whole = len(plan.rates), plan.tiers_count == "all_rates"
    used = [_of_rate(billed, count, number) for number in range(count)]
    together = _sum(used)
    amounts = fixed(np.zeros(12))
    for number, rate in enumerate(plan.rates):
        amounts = amounts + rate.listed_price * used[number]
        if rate.tiers and not whole:
            amounts = amounts + _tiers(program, rate, hours.rate_days[:, number], hours, used[number])
    if whole:  # all rates have the same tiers, at prices that differ by the same in each
        amounts = amounts + _tiers(program, plan.rates[0], hours.bill_days, hours, together)
    for number, allowance in enumerate(plan.allowances):
        days = hours.allowance_days[:, number]
        daily, monthly = allowance.kwh_per_day, allowance.kwh_per_month or 0.0
        within = program.columns(12, daily * days if daily is not None else monthly * days / hours.bill_days)
        program.at_most(within, (days / hours.bill_days) * together)
        amounts = amounts - allowance.credit_price * within
    return amounts


def _tiers(program: Program, rate: Rate, days: Floats, hours: RatePlanHours, counted: Linear) -> Linear:
    """Return what the tiers above the first add to energy at the first one's price [currency]."""
    amounts, filled, lower = fixed(np.zeros(12)), fixed(np.zeros(12)), np.zeros(12)
    for tier in rate.tiers:
        end = np.full(12, np.inf)
        if tier.end is not None:
            end = tier.end * (days if tier.up_to_kwh is None else days / hours.bill_days)
        inside = program.columns(12, end - lower)
        filled, lower = filled + inside, end
        amounts = amounts + (tier.price - rate.listed_price) * inside
    program.equal(filled, counted)
    return amounts


def _riders(program: Program, plan: RatePlan, hours: RatePlanHours, import_kw: Linear, imported: Linear) -> Linear:
    """Return the charges on what is imported while each rider holds [currency]."""
    amounts = fixed(np.zeros(12))
    bills = np.repeat(_MONTHS, len(plan.rates))
    for rider, inside in zip(plan.riders, hours.riders, strict=True):
        if inside is None:
            kwh = imported.by(bills, 12)
        else:
            kwh = program.held((hours.timeline.step_h * inside * import_kw).by(hours.bill, 12), 0.0)
        amounts = amounts + rider.price * kwh
    return amounts


def _demand(program: Program, plan: RatePlan, hours: RatePlanHours, import_kw: Linear) -> Linear:
    """Return the charges on the highest mean of a step, with the ratchet [currency]."""
    amounts = fixed(np.zeros(12))
    for charge, by_bill in zip(plan.demand, hours.demand, strict=True):
        peak, charged = program.columns(12), program.columns(12)
        steps = np.concatenate(by_bill)
        bills = np.repeat(_MONTHS, [each.size for each in by_bill])
        program.at_most(import_kw.at(steps), peak.at(bills))
        program.at_most(peak, charged)
        for back in range(1, (charge.ratchet_months or 0) + 1):
            program.at_most((charge.ratchet_share or 0.0) * peak.at((_MONTHS - back) % 12), charged)
        there = np.array([each.size > 0 for each in by_bill], np.float64)
        amounts = amounts + charge.price * there * charged
    return amounts


def _minimum(plan: RatePlan, hours: RatePlanHours) -> Floats:
    """Return what each bill comes to at least [currency]."""
    if plan.minimum is None:
        return np.zeros(12)
    return np.asarray((plan.minimum.per_month or 0.0) + (plan.minimum.per_day or 0.0) * hours.bill_days, np.float64)


def _net_meter(program: Program, plan: RatePlan, imported: Linear, exported: Linear) -> tuple[Linear, Linear, Linear]:
    """Return what net metering leaves to bill by slot [kWh], what exports earn and the credit lines [currency]."""
    pay, rates = plan.export, len(plan.rates)
    slots = 12 * rates
    bills, rate_of = np.repeat(_MONTHS, rates), np.tile(np.arange(rates), 12)
    left, surplus = program.columns(slots), program.columns(slots)
    program.equal(left - surplus, imported - exported)
    program.at_most(left, imported)
    if pay.net_within == "month":  # all rates have one price: any of them offsets any other
        given, taken = program.columns(slots), program.columns(slots)
        program.at_most(given, surplus)
        program.equal(given.by(bills, 12), taken.by(bills, 12))
        left, surplus = left - taken, surplus - given
    nothing, remainder = fixed(np.zeros(12)), pay.remainder_price or 0.0
    if pay.surplus == "carried_as_kwh":
        pools = 1 if pay.net_within == "month" else rates
        used = program.columns(slots)
        left = left - used
        kept = program.columns(12 * pools)
        pool = bills * pools + (rate_of if pools > 1 else 0)
        before, opens = _month_before(pay, pools)
        added = (surplus - used).by(pool, 12 * pools)
        program.equal(kept, opens * kept.at(before) + added)
        settled = remainder * _at_true_up(pay) * kept.by(np.repeat(_MONTHS, pools), 12)
        program.at_most(-1.0 * left, np.zeros(slots))
        return left, nothing, -1.0 * settled
    program.at_most(-1.0 * left, np.zeros(slots))
    listed = np.array([rate.listed_price for rate in plan.rates])[rate_of]
    price = listed if pay.surplus == "carried_as_money" else remainder
    return left, (price * surplus).by(bills, 12), nothing


def _month_before(pay: ExportPay, each: int) -> tuple[Ints, Floats]:
    """Return the place of the bill before, for so many accounts in each bill, and 0 where the year of credits opens."""
    first = months_from_true_up(pay)[0] - 1
    places = np.arange(12 * each)
    return (places - each) % (12 * each), np.where(places // each == first, 0.0, 1.0)


def _at_true_up(pay: ExportPay) -> Floats:
    """Return 1 for the bill in which what is carried is settled, 0 for the others."""
    return np.asarray([month == pay.true_up_month for month in range(1, 13)], np.float64)


def _money_credits(
    program: Program, pay: ExportPay, rule: Credits, payable: Linear, above_minimum: Linear, earned: Linear
) -> Linear:
    """Return the credit lines: what exports earned, now and before, pays what the rule allows [currency]."""
    own, owing, used = program.columns(12), program.columns(12), program.columns(12)
    program.equal(own - owing, earned)
    program.at_most(used, payable)
    program.at_most(used, above_minimum)
    lines = own - used
    if rule.leftover == "lost":
        program.at_most(used, own)
        return lines
    account = program.columns(12)
    before, opens = _month_before(pay, 1)
    program.equal(account, opens * account.at(before) + own - used)
    return lines - (rule.remainder_share or 0.0) * _at_true_up(pay) * account
