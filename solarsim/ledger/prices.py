"""The rate plan on the timeline: rates and windows in, the listed price of every step out.

Listed, because what a kilowatt-hour costs at the margin may depend on all others of its bill: the
import price of a tiered rate is its first tier's, riders are in it, percentages are not; exports
that offset kWh are listed at their rate's price, without riders.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import DAY_KINDS, Timeline
from solarsim.ledger.rate_plan_hours import RatePlanHours, hours_from
from solarsim.scenario.rate_plan.rate_plan import RatePlan

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Prices:
    """A rate plan on a timeline.

    Attributes
    ----------
    rate_plan : RatePlan
        Its prices.
    hours : RatePlanHours
        Which rate, bill and charges each step belongs to.
    """

    rate_plan: RatePlan
    hours: RatePlanHours

    @cached_property
    def import_price(self) -> Floats:
        """Listed price of import, one entry for each step [currency/kWh]."""
        price = self._energy_price
        for rider, inside in zip(self.rate_plan.riders, self.hours.riders, strict=True):
            price = price + (rider.price if inside is None else rider.price * inside)
        return price

    @cached_property
    def export_price(self) -> Floats:
        """Listed price of export, one entry for each step [currency/kWh]."""
        pay, where = self.rate_plan.export, self.hours.timeline
        if pay.prices is not None:
            free = where.day_kind != DAY_KINDS.index("weekday")
            tables = np.array([pay.prices, pay.weekend_prices or pay.prices])
            return np.asarray(tables[free.astype(np.int64), where.month - 1, where.minute_of_day // 60], np.float64)
        if pay.pay == "hourly_file":
            return np.repeat(np.array(pay.hourly), round(1.0 / where.step_h))
        if pay.pay == "by_window":
            return self.export_price_by_slot[self.hours.export_window]
        return self.export_price_by_slot[self.hours.rate]

    @property
    def export_price_by_slot(self) -> Floats:
        """Listed price of export by rate, by window where exports have windows [currency/kWh]."""
        pay, rates = self.rate_plan.export, self.rate_plan.rates
        if pay.pay in ("same_as_import", "net_metering"):
            return np.array([rate.listed_price for rate in rates])
        if pay.pay == "by_rate":
            return np.array([rate.export_price or 0.0 for rate in rates])
        if pay.pay == "by_window":
            return np.array([*(window.price for window in pay.windows or ()), pay.price or 0.0])
        return np.full(len(rates), pay.price or 0.0)

    @property
    def rate(self) -> NDArray[np.int64]:
        """Index into the rate plan's rates, one entry for each step."""
        return self.hours.rate

    def repriced(self, rate_plan: RatePlan) -> "Prices":
        """Return the prices of a rate plan that has the same windows, as ``RatePlan.grown`` returns it."""
        return Prices(rate_plan, self.hours)

    @property
    def _energy_price(self) -> Floats:
        return np.array([rate.listed_price for rate in self.rate_plan.rates])[self.hours.rate]


def prices_from(rate_plan: RatePlan, timeline: Timeline) -> Prices:
    """Build the prices of a rate plan on a timeline.

    Parameters
    ----------
    rate_plan : RatePlan
        Rates with their windows.
    timeline : Timeline
        The year.

    Returns
    -------
    Prices
        One entry for each step.

    Raises
    ------
    ScenarioError
        See ``hours_from``.
    """
    return Prices(rate_plan, hours_from(rate_plan, timeline))
