"""The factor between a log and its model: measured months and models in; one factor or four out."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import LoadError
from solarsim.scenario.model import Scenario
from solarsim.scenario.production_log import MeasuredProduction
from solarsim.scenario.roof.roof import LEAST_FACTOR, MOST_FACTOR, SEASONS
from solarsim.studies.calibrate._expected import ExpectedYear
from solarsim.studies.calibrate._logged_year import LoggedYear, by_month

Floats = NDArray[np.float64]
SEASON_OF = {month: place for place, months in enumerate(SEASONS.values()) for month in months}
_ROUNDS = 40
_CLOSE = 1e-6
_A_LITTLE = 1.02
_LEAST_SLOPE = 0.05


class Fit(NamedTuple):
    """The factors, one or one for each of ``SEASONS``, and how well they are determined.

    The sensitivity is the relative change of energy for that of a factor: 1 where nothing limits it, little where a
    strategy or an inverter does; of the least sensitive season, and at least 0.05.
    """

    factors: tuple[float, ...]
    sensitivity: float


def in_fit(log: MeasuredProduction, year: int) -> NDArray[np.bool_]:
    """Return for each month of a year whether the factor is fitted to it."""
    if log.fit is None:
        return np.ones(12, np.bool_)
    months = [f"{year}-{month:02d}" for month in range(1, 13)]
    return np.array([log.fit.first <= month <= log.fit.last and month not in log.fit.without for month in months])


def fitted(
    scenario: Scenario, log: MeasuredProduction, years: tuple[LoggedYear, ...], models: dict[int, ExpectedYear]
) -> Fit:
    """Return the factors with which the model expects, in the hours of the fit, what was measured, to a millionth.

    The limits of the inverter make this a search.
    """
    season = np.array([SEASON_OF[month] if log.by_season else 0 for month in range(1, 13)])
    count = len(SEASONS) if log.by_season else 1

    def summed(monthly: Callable[[LoggedYear], Floats]) -> Floats:
        parts = [np.where(in_fit(log, each.year), monthly(each), 0.0) for each in years]
        return np.asarray(np.bincount(season, np.sum(parts, axis=0), minlength=count), np.float64)

    def expected(factors: Floats) -> Floats:
        made = {id(models[each.year]): models[each.year] for each in years}
        hours = {key: model.kwh(factors[season][model.month - 1]) for key, model in made.items()}
        return summed(lambda each: by_month(hours[id(models[each.year])], each.covered))

    measured = summed(lambda each: each.monthly_kwh)
    factors = np.ones(count)
    due = expected(factors)
    names = list(SEASONS) if log.by_season else ["the fit"]
    for place, name in enumerate(names):
        if due[place] <= 0.0:
            span = "" if log.fit is None else f" from {log.fit.first} to {log.fit.last}"
            raise LoadError(scenario.problem(f"production_log: log and weather share no sunny month of {name}{span}"))
        _check_size(scenario, float(measured[place] / due[place]), name if log.by_season else "")
    sensitivity = np.ones(count)  # of energy to the factor: 1 where nothing limits it
    for _ in range(_ROUNDS):
        if np.abs(measured / due - 1.0).max() < _CLOSE:
            break
        tried = np.clip(factors * (measured / due) ** (1.0 / sensitivity), 0.1, 10.0)
        made = expected(tried)
        sensitivity = _slopes(factors, due, tried, made, sensitivity)
        factors, due = tried, made
    for place, factor in enumerate(factors.tolist()):
        _check_size(scenario, factor, names[place] if log.by_season else "")
    tried = factors * _A_LITTLE
    sensitivity = _slopes(factors, due, tried, expected(tried), sensitivity)
    return Fit(tuple(factors.tolist()), float(sensitivity.min()))


def _slopes(factors: Floats, due: Floats, tried: Floats, made: Floats, else_: Floats) -> Floats:
    """Return the slope of log energy over log factor; the former one where the factor did not move."""
    moved = np.abs(np.log(tried / factors)) > 1e-9
    slope = np.divide(np.log(made / due), np.log(tried / factors), out=else_.copy(), where=moved)
    return np.asarray(np.clip(slope, _LEAST_SLOPE, 2.0))


def _check_size(scenario: Scenario, factor: float, season: str) -> None:
    """Check that a factor is one that a correct scenario and log can have."""
    if LEAST_FACTOR <= factor <= MOST_FACTOR:
        return
    within = f" in {season}" if season else ""
    raise LoadError(
        scenario.problem(
            f"production_log: {factor:,.2f} times the expected energy was measured{within}; a factor must be from"
            f" {LEAST_FACTOR} to {MOST_FACTOR}: check the arrays' size and number, the log's unit (W or kW, Wh"
            " or kWh) and side (ac or dc), and that it is of these arrays and all of them"
            + ("" if factor > 1 else ", and whether a strategy limited it (strategy)")
        )
    )
