"""The program of a year: a home's inputs, prices and fuel in; the lowest cost and what a kWh is worth out."""

from dataclasses import dataclass

import numpy as np

from solarsim.engine.records import Inputs
from solarsim.ledger.prices import Prices
from solarsim.scenario.backup.backup import Generator
from solarsim.studies.optimum._bill import add_bill, pays_to_export
from solarsim.studies.optimum._hardware import not_both, steps_of
from solarsim.studies.optimum._linear import Floats, Linear, Program, Solution

_ROUNDING_KWH = 1e-6  # what two sums of a year's unserved energy differ by


@dataclass(frozen=True, eq=False)
class Least:
    """The lowest cost of a year, and what a kWh more or less of it would cost [currency, currency/kWh].

    Attributes
    ----------
    cost : float
        Bill, fuel and wear.
    import_price, export_price : array of float
        What a kWh more of import costs in each step, demand charges aside, and of export earns.
    import_kw, export_kw : arrays of float
        Of one of the years of lowest cost [kW].
    """

    cost: float
    import_price: Floats
    export_price: Floats
    import_kw: Floats
    export_kw: Floats


def least_cost(
    year: Inputs,
    prices: Prices | None,
    export_limit_kw: float,
    generator: Generator | None = None,
    unserved_kwh: float = np.inf,
    wear_price: float = 0.0,
) -> Least:
    """Solve a year with perfect foresight; of its dispatch only reserve and supply count. ``prices`` None: no bill.

    Wear is counted for each kWh that leaves the cells, where self-discharge costs nothing: no run counts less.
    """
    program, step_h = Program(), year.limits.step_h
    steps = steps_of(program, year, export_limit_kw)
    if generator is not None:
        # A generator that runs at its rating burns least for each kWh.
        liters = generator.liters_per_kwh + generator.liters_per_h / generator.kw
        program.costs(generator.fuel_price * liters * step_h * steps.generator_kw)
    if wear_price > 0.0:
        program.costs(wear_price * step_h / year.limits.one_way * steps.discharge_kw)
    if np.isfinite(unserved_kwh):
        every = np.zeros(year.pv_kw.size, np.int64)
        program.at_most(step_h * steps.unserved_kw.by(every, 1), [unserved_kwh + _ROUNDING_KWH])
    if prices is not None:
        where = pays_to_export(prices)
        if where.any():
            not_both(program, year, steps, export_limit_kw, where)
    first = program.count("equal")
    if prices is not None:
        add_bill(program, prices, steps.import_kw, steps.export_kw)
    found = program.solve()
    dear = _marginal(program, found, first)
    return Least(
        cost=found.cost,
        import_price=_of(dear, steps.import_kw) / step_h,
        export_price=-_of(dear, steps.export_kw) / step_h,
        import_kw=found.of(steps.import_kw),
        export_kw=found.of(steps.export_kw),
    )


def _marginal(program: Program, found: Solution, first: int) -> Floats:
    """Return what one unit more of each column costs through the "equal" rows of the bill: all but those of peaks."""
    costs, _ = program.prices()
    rows, _ = program.matrix("equal")
    return np.asarray(costs - rows[first:].T @ found.worth[first:], np.float64)


def _of(values: Floats, columns: Linear) -> Floats:
    """Return the values of a vector's columns."""
    return np.asarray(columns.matrix @ values[: columns.matrix.shape[1]], np.float64)
