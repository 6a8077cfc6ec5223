"""What a controller may take energy to cost: a rate plan and what it has seen of the bills in, prices out.

A bill that is no sum of hours has no price for an hour before its last day. A controller knows the listed prices, the
percentages on them and what its meter has counted: in which tier the bill is heading, whether an allowance will be used
up, whether more has been exported than imported since the last settlement, how high the peak is. The program's marginal
prices would be knowledge of the future. Money that is carried as credit is taken to be worth its amount.
"""

from math import inf

import numpy as np

from solarsim.engine.foresight import Worth
from solarsim.engine.records import Floats
from solarsim.ledger.prices import Prices
from solarsim.scenario.rate_plan.rate_plan import Kind, Rate

_PEAK_SHARE = 0.9  # of the last bill's peak: what a controller tries to stay under; common practice, no source
_DARKNESS = 10.0  # times the highest price: what an unserved kWh costs a controller


class Meter:
    """What a controller has seen of its bills, up to the step that comes.

    Parameters
    ----------
    prices : Prices
        On the timeline.
    """

    def __init__(self, prices: Prices) -> None:
        rates = len(prices.rate_plan.rates)
        self.prices = prices
        self.bill, self.days = int(prices.hours.bill[0]), 0.0  # the bill that runs, and how much of it has been seen
        self.imported, self.exported = np.zeros(rates), np.zeros(rates)  # of it, by rate [kWh]
        self.peaks = [0.0 for _ in prices.rate_plan.demand]  # of it [kW]
        self.kept = np.zeros(rates)  # exported less imported since the last settlement, in bills that are over [kWh]
        self.last_daily: Floats | None = None  # billed each day in the last bill, by rate [kWh]
        self.last_peaks: list[float] | None = None

    def read(self, first: int, end: int, import_kw: Floats, export_kw: Floats) -> None:
        """Count some steps, all of one day."""
        hours, rates = self.prices.hours, self.imported.size
        if int(hours.bill[first]) != self.bill:
            self._close(int(hours.bill[first]))
        seen, step_h = slice(first, end), hours.timeline.step_h
        self.days += (end - first) * step_h / 24.0
        self.imported += step_h * np.bincount(hours.rate[seen], import_kw[seen], rates)
        self.exported += step_h * np.bincount(hours.rate[seen], export_kw[seen], rates)
        for number, by_bill in enumerate(hours.demand):
            steps = by_bill[self.bill]
            steps = steps[(steps >= first) & (steps < end)]
            self.peaks[number] = max(self.peaks[number], float(import_kw[steps].max(initial=0.0)))

    def _close(self, following: int) -> None:
        """End the bill that runs."""
        pay = self.prices.rate_plan.export
        self.last_daily, self.last_peaks = self.billed / max(self.days, 1.0), self.peaks
        net = self.kept + self.exported - self.imported
        settled = pay.surplus != "carried_as_kwh" or self.bill + 1 == pay.true_up_month
        self.kept = np.zeros(net.size) if settled else self._pooled(net).clip(0.0)
        self.bill, self.days, self.peaks = following, 0.0, [0.0 for _ in self.peaks]
        self.imported, self.exported = np.zeros(net.size), np.zeros(net.size)

    def _pooled(self, kwh: Floats) -> Floats:
        """Return the kWh of each rate; where rates offset each other, the mean of all."""
        within_month = self.prices.rate_plan.export.net_within == "month"
        return np.full(kwh.size, kwh.mean()) if within_month else kwh

    @property
    def billed(self) -> Floats:
        """What the bill that runs would charge for so far, by rate [kWh]."""
        if self.prices.rate_plan.export.pay == "net_metering":
            return np.maximum(0.0, self.imported - self.exported)
        return self.imported

    @property
    def in_credit(self) -> Floats:
        """Whether more was exported than imported since the last settlement, by rate, 0 or 1."""
        return np.asarray(self._pooled(self.kept + self.exported - self.imported) > 0.0, np.float64)

    @property
    def expected(self) -> Floats:
        """What the bill that runs will charge for in the end: so far, then as in the last one, by rate [kWh]."""
        days = float(self.prices.hours.bill_days[self.bill])
        daily = self.billed / max(self.days, 1.0) if self.last_daily is None else self.last_daily
        return np.asarray(self.billed + daily * max(0.0, days - self.days))


def believed(meter: Meter, wear_price: float) -> Worth:
    """Return what a controller takes energy to cost from now on, for all steps of the year."""
    prices, plan, rate = meter.prices, meter.prices.rate_plan, meter.prices.hours.rate
    billed = meter.expected
    counted = np.full(billed.size, billed.sum()) if plan.tiers_count == "all_rates" else billed
    listed = np.array([each.listed_price for each in plan.rates])
    price = np.array([_tier_price(each, used, meter) for each, used in zip(plan.rates, counted.tolist(), strict=True)])
    energy = price - _allowances(meter, float(billed.sum()))
    sold = prices.export_price
    if plan.export.pay == "net_metering":
        remainder = plan.export.remainder_price
        if remainder is not None:
            energy = np.where(meter.in_credit > 0.0, remainder, energy)
            price = np.where(meter.in_credit > 0.0, remainder, price)
        sold = sold + (price - listed)[rate]
    riders = prices.import_price - listed[rate]
    bought = (1.0 + _share(meter, "energy")) * energy[rate] + (1.0 + _share(meter, "rider")) * riders
    sold = (1.0 + _share(meter, "export")) * sold
    peak_kw, peak_price = _peaks(meter)
    return Worth(
        import_price=bought,
        export_price=sold,
        fuel_price=0.0,
        idle_price=0.0,
        unserved_price=_DARKNESS * max(1.0, float(bought.max())),
        peak_kw=peak_kw,
        peak_price=peak_price,
        wear_price=wear_price,
        net_kw=np.zeros(bought.size),
        net_price=0.0,
    )


def _share(meter: Meter, kind: Kind) -> float:
    """Return the percentages on a kind of line, 0-1."""
    return sum(each.share for each in meter.prices.rate_plan.adders if kind in each.on)


def _tier_price(rate: Rate, used_kwh: float, meter: Meter) -> float:
    """Return the price of the tier in which a bill with this use ends."""
    if not rate.tiers:
        return rate.listed_price
    days = float(meter.prices.hours.bill_days[meter.bill])
    for tier in rate.tiers:
        if tier.end is None or used_kwh <= tier.end * (1.0 if tier.up_to_kwh is not None else days):
            return tier.price
    return rate.tiers[-1].price


def _allowances(meter: Meter, used_kwh: float) -> float:
    """Return the credits on a kWh more, of allowances that the bill will not use up [currency/kWh]."""
    hours, credit = meter.prices.hours, 0.0
    bill_days = float(hours.bill_days[meter.bill])
    for each, days in zip(meter.prices.rate_plan.allowances, hours.allowance_days[meter.bill].tolist(), strict=True):
        daily = (each.kwh_per_month or 0.0) / bill_days if each.kwh_per_day is None else each.kwh_per_day
        credit += each.credit_price * days / bill_days if used_kwh / bill_days < daily else 0.0
    return credit


def _peaks(meter: Meter) -> tuple[Floats, Floats]:
    """Return above what import a controller takes a demand charge to rise in each step [kW], and its price."""
    hours = meter.prices.hours
    peak_kw, price = np.full(hours.rate.size, inf), np.zeros(hours.rate.size)
    for number, (charge, by_bill) in enumerate(zip(meter.prices.rate_plan.demand, hours.demand, strict=True)):
        steps = np.concatenate(by_bill)
        price[steps] += charge.price * (1.0 + (charge.ratchet_share or 0.0) * (charge.ratchet_months or 0))
        last = 0.0 if meter.last_peaks is None else _PEAK_SHARE * meter.last_peaks[number]
        peak_kw[steps] = np.minimum(peak_kw[steps], max(last, meter.peaks[number]))
    return peak_kw, price
