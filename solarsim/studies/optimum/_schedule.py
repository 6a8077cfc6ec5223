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
_NEAR = 0.02  # of the mean listed price: what it costs to leave the program's import less export
_DARKNESS = 10.0  # times the highest price: what an unserved kWh costs a schedule


def scheduled_years(year: Inputs, prices: Prices | None, least: Least, generator: Generator | None) -> Iterator[Year]:
    """Yield the years of schedules: by the worth of energy; where a bill is no sum of hours, two more.

    Import is held under the peaks of the program where demand is charged. Where the bill is no sum of hours, no prices
    of hours alone are right: net metering makes import and export worth the same in many hours, and a schedule that
    trades them as it likes ends with the wrong sum. One more schedule keeps near the program's import less export
    wherever that costs next to nothing, and the dispatch as given is a third try. The lowest cost counts.
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
    worth = Worth(
        import_price=bought,
        export_price=sold,
        fuel_price=fuel_price * burn[0],
        idle_price=fuel_price * burn[1],
        unserved_price=_DARKNESS * max(1.0, float(bought.max())),
        peak_kw=peak_kw,
        peak_price=peak_price,
        wear_price=0.0,
        net_kw=least.import_kw - least.export_kw,
        net_price=0.0,
    )
    tries = [worth]
    is_sum = all(np.allclose(one, other) for one, other in zip(marginal, listed, strict=True))
    if not is_sum:
        near = _NEAR * float(listed[0].mean())
        tries.append(worth._replace(import_price=marginal[0], export_price=marginal[1], net_price=near))
    for each in tries:
        given = orders_given(choices, best_orders(year, choices, each), year.dispatch.reserve)
        yield run_year(year._replace(dispatch=year.dispatch._replace(**given)))
    if not is_sum:
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
