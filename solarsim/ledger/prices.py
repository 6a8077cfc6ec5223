"""The rate plan on the timeline: rates and windows in, the listed price of every step out.

Listed, because what a kilowatt-hour costs at the margin may depend on all others of its bill: the
import price of a tiered rate is its first tier's, riders are in it, percentages are not; exports
that offset kWh are listed at their rate's price, without riders.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import DAY_KINDS, Timeline
from solarsim.ledger.rate_plan_hours import RatePlanHours, hours_from
from solarsim.scenario.rate_plan.rate_plan import RatePlan


@dataclass(frozen=True, eq=False)
class Prices:
    """What energy costs and earns, one entry for each step.

    Attributes
    ----------
    hours : TariffHours
        Which rate, bill and charges each step belongs to.
    import_price, export_price : arrays of float
        [currency/kWh].
    """

    hours: RatePlanHours
    import_price: NDArray[np.float64]
    export_price: NDArray[np.float64]

    @property
    def rate(self) -> NDArray[np.int64]:
        """Index into the rate plan's rates, one entry for each step."""
        return self.hours.rate

    def repriced(self, rate_plan: RatePlan) -> "Prices":
        """Give the prices of a rate plan that has the same windows, without laying them out again.

        Parameters
        ----------
        rate_plan : RatePlan
            As ``RatePlan.grown`` gives it.

        Returns
        -------
        Prices
            On the same hours.
        """
        return _priced(rate_plan, self.hours)


def prices_from(rate_plan: RatePlan, timeline: Timeline) -> Prices:
    """Find the one rate that holds in each step, and what energy costs and earns there.

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
    return _priced(rate_plan, hours_from(rate_plan, timeline))


def _priced(rate_plan: RatePlan, hours: RatePlanHours) -> Prices:
    energy_price = np.array([each.listed_price for each in rate_plan.rates])[hours.rate]
    import_price = energy_price
    for rider, inside in zip(rate_plan.riders, hours.riders, strict=True):
        import_price = import_price + (rider.price if inside is None else rider.price * inside)
    return Prices(hours, import_price, _export_price(rate_plan, hours, energy_price))


def _export_price(rate_plan: RatePlan, hours: RatePlanHours, energy_price: NDArray[np.float64]) -> NDArray[np.float64]:
    pay, where = rate_plan.export, hours.timeline
    if pay.pay in ("same_as_import", "net_metering"):
        return energy_price
    if pay.pay == "by_rate":
        return np.array([each.export_price or 0.0 for each in rate_plan.rates])[hours.rate]
    if pay.pay == "by_window":
        return np.array([*(window.price for window in pay.windows or ()), pay.price or 0.0])[hours.export_window]
    if pay.prices is not None:
        free = where.day_kind != DAY_KINDS.index("weekday")
        tables = np.array([pay.prices, pay.weekend_prices or pay.prices])
        return np.asarray(tables[free.astype(np.int64), where.month - 1, where.minute_of_day // 60], np.float64)
    if pay.pay == "hourly_file":
        return np.repeat(np.array(pay.hourly), round(1.0 / where.step_h))
    return np.full(len(where), pay.price or 0.0)
