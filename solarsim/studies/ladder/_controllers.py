"""Controllers that plan, in a home: its inputs and prices and what the controller expects in, its year out."""

from itertools import pairwise

import numpy as np

from solarsim.engine.foresight import orders_given, possible_orders
from solarsim.engine.planner import Outlook, before_first_plan, follow_plans
from solarsim.engine.records import Inputs, Ints
from solarsim.engine.year import Year, run_year
from solarsim.ledger.prices import Prices
from solarsim.studies.ladder._prices import Meter, believed

#: Levels of stored energy in a plan, and levels that an order may name: with one course, with several.
FINE, COARSE = (17, 9), (11, 8)


def orders_chosen(
    inputs: Inputs, expected: Inputs, prices: Prices, outlook: Outlook, wear_price: float = 0.0
) -> tuple[Inputs, Ints]:
    """Return the inputs under the import caps that a controller set, and the number of its order in each step.

    Its prices are believed anew with each plan. The battery is empty as the year begins.
    """
    levels, shares = FINE if outlook.weight.shape[1] == 1 else COARSE
    choices, memory, meter = possible_orders(shares), before_first_plan(inputs, levels), Meter(prices)
    given_kw, cap_kw = inputs.dispatch.import_cap_kw, inputs.dispatch.import_cap_kw.copy()
    inputs = inputs._replace(dispatch=inputs.dispatch._replace(import_cap_kw=cap_kw))
    for first, end in pairwise([*outlook.begins.tolist(), inputs.pv_kw.size]):
        worth = believed(meter, wear_price)
        cap_kw[first:] = np.minimum(given_kw, worth.peak_kw)[first:]
        memory = follow_plans(inputs, expected, choices, worth, outlook, memory, first, end)
        meter.read(first, end, memory.import_kw, memory.export_kw)
    return inputs, memory.chosen


def planned_year(inputs: Inputs, expected: Inputs, prices: Prices, outlook: Outlook, wear_price: float = 0.0) -> Year:
    """Return the year of a controller that plans."""
    inputs, chosen = orders_chosen(inputs, expected, prices, outlook, wear_price)
    levels = FINE if outlook.weight.shape[1] == 1 else COARSE
    given = orders_given(possible_orders(levels[1]), chosen, inputs.dispatch.reserve)
    return run_year(inputs._replace(dispatch=inputs.dispatch._replace(**given)))
