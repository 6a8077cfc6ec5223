"""Schedules with perfect foresight: a home's inputs and the worth of energy in, years that the engine ran out."""

from collections.abc import Iterator
from math import inf

import numpy as np

from solarsim.engine.foresight import Worth, best_orders, orders_given, possible_orders
from solarsim.engine.records import Inputs
from solarsim.engine.year import Year, run_year
from solarsim.ledger.prices import Prices
from solarsim.scenario.backup.backup import Generator
from solarsim.studies.optimum._linear import Floats
from solarsim.studies.optimum._program import Least

_LEVELS = 12  # of charge that an order may name
_LISTED = 0.02  # how far the listed price counts: it decides where a kWh more or less costs nothing
_DARKNESS = 10.0  # times the highest price: what an unserved kWh costs a schedule


def scheduled_years(year: Inputs, prices: Prices | None, least: Least, generator: Generator | None) -> Iterator[Year]:
    """Yield the years of schedules: by the worth of energy, and the dispatch as given where a bill is no sum of hours.

    Import is held under the peaks of the program where demand is charged. Where the bill is no sum of hours, no prices
    of hours are right for all years: net metering makes import and export worth nearly the same, and a schedule that
    trades them year-round ends with the wrong sum. The lower cost of the two counts.
    """
    zeros = np.zeros(year.pv_kw.size)
    listed = (zeros, zeros) if prices is None else (prices.import_price, prices.export_price)
    peak_kw, peak_price = _peaks(prices, least)
    choices = possible_orders(_LEVELS)
    year = year._replace(dispatch=year.dispatch._replace(import_cap_kw=peak_kw))
    burn = (0.0, 0.0) if generator is None else (generator.liters_per_kwh, generator.liters_per_h)
    fuel_price = 0.0 if generator is None else generator.fuel_price
    marginal = least.import_price, least.export_price
    bought, sold = (price + _LISTED * (plain - price) for price, plain in zip(marginal, listed, strict=True))
    darkness = _DARKNESS * max(1.0, float(bought.max()))
    worth = Worth(bought, sold, fuel_price * burn[0], fuel_price * burn[1], darkness, peak_kw, peak_price)
    given = orders_given(choices, best_orders(year, choices, worth), year.dispatch.reserve)
    yield run_year(year._replace(dispatch=year.dispatch._replace(**given)))
    if not all(np.allclose(one, other) for one, other in zip(marginal, listed, strict=True)):
        yield run_year(year)


def _peaks(prices: Prices | None, least: Least) -> tuple[Floats, Floats]:
    """Return the program's highest import where demand is charged [kW], and what each kW above it costs."""
    peak_kw, price = np.full(least.import_kw.size, inf), np.zeros(least.import_kw.size)
    if prices is None:
        return peak_kw, price
    for charge, by_bill in zip(prices.rate_plan.demand, prices.hours.demand, strict=True):
        in_all_bills = charge.price * (1.0 + (charge.ratchet_share or 0.0) * (charge.ratchet_months or 0))
        for steps in by_bill:
            price[steps] += in_all_bills
            peak_kw[steps] = np.minimum(peak_kw[steps], least.import_kw[steps].max(initial=0.0))
    return peak_kw, price
