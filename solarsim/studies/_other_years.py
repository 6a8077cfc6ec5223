"""Other years of one home: a home in; homes with other weather and random load changes, or other load, out.

What was tuned on one year is judged on these. The weather of the scenario's other files comes first; where there are
fewer than five, monthly means are drawn again with another seed, and days of a file's year are drawn again in spells
of some days. Not modeled: load that follows the weather within a day that was drawn; growth; other habits.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from solarsim.dispatch.strategy import dispatch_from
from solarsim.dispatch.supply import with_supply
from solarsim.hardware.cell_temperature import Bank
from solarsim.home import Home, Parts, home_from
from solarsim.load.household import Household
from solarsim.production.power import DcPower, limited
from solarsim.scenario.site import MonthlyMeans, WeatherFile
from solarsim.scenario.strategy import Strategy
from solarsim.weather.source import years_of_weather

OTHER_WEATHERS = 5
LOAD_FACTORS = (0.85, 1.15)
_SPELL_DAYS = 4.0  # mean length of a spell of weather that is drawn as a whole; common practice, no source
_APART_DAYS = 15  # how far a day may move: the height of the sun changes little
_DAILY_NOISE, _STEP_NOISE = 0.15, 0.25  # standard deviation of the logarithm of load; common practice, no source

Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class OtherYear:
    """Another year of the same home.

    Attributes
    ----------
    name : str
        What is other.
    home : Home
        On the same timeline, with the dispatch of each of the scenario's strategies.
    """

    name: str
    home: Home


def other_years(home: Home, seed: int = 1) -> tuple[OtherYear, ...]:
    """Build years of a home that differ in weather, or in load.

    Parameters
    ----------
    home : Home
        The year that is simulated everywhere else.
    seed : int
        The same seed makes the same years.

    Returns
    -------
    tuple of OtherYear
        Five of other weather with random load changes, then one for each of ``LOAD_FACTORS`` with the given weather.

    Raises
    ------
    InputError
        One of the scenario's other weather files is wrong.
    """
    rng = np.random.default_rng(seed)
    found = []
    for number, (name, other) in enumerate(_with_other_weather(home, rng), start=1):
        found.append(OtherYear(f"{number}: {name}, random load changes", _with_load(other, _noise(other, rng))))
    for number, factor in enumerate(LOAD_FACTORS, start=len(found) + 1):
        every_step = np.full(len(home.timeline), factor)
        found.append(OtherYear(f"{number}: load x {factor:g}", _with_load(home, every_step)))
    return tuple(found)


def with_strategy(home: Home, strategy: Strategy) -> Home:
    """Return a home that also knows the dispatch of another strategy.

    Parameters
    ----------
    home : Home
        Any.
    strategy : Strategy
        By its name it is run; it need not be in the home's scenario.

    Returns
    -------
    Home
        Of the same scenario.

    Raises
    ------
    ScenarioError
        A window never governs.
    """
    scenario = home.scenario
    dispatch = dispatch_from(strategy, scenario.grid, home.timeline, scenario.battery_v)
    dispatch = dispatch if home.supply is None else with_supply(dispatch, home.supply)
    return replace(home, dispatches={**home.dispatches, strategy.name: dispatch})


def _with_other_weather(home: Home, rng: np.random.Generator) -> Iterator[tuple[str, Home]]:
    """Yield names and homes: of other files, then of means or days that are drawn again."""
    source, left = home.scenario.weather, OTHER_WEATHERS
    if isinstance(source, MonthlyMeans):
        for seed in range(source.seed + 1, source.seed + 1 + left):
            scenario = home.scenario.changed({"weather.seed": seed})
            other = home_from(scenario, known=Parts(timeline=home.timeline, prices=home.prices))
            yield f"monthly means, seed {seed}", replace(other, scenario=home.scenario)
        return
    if isinstance(source, WeatherFile) and source.other_files:
        years = years_of_weather(home.scenario, home.timeline)[1 : 1 + left]
        for file, weather in zip(source.other_files, years, strict=False):
            parts = Parts(timeline=home.timeline, weather=weather, prices=home.prices)
            yield file.rsplit("/", 1)[-1], home_from(home.scenario, known=parts)
        left -= len(years)
    for _ in range(left):
        yield "resampled days", _with_days(home, _drawn_days(rng))


def _drawn_days(rng: np.random.Generator) -> Ints:
    """Return which day of the year each of the 365 days has its weather from."""
    days = np.empty(365, np.int64)
    first = 0
    while first < 365:
        last = min(365, first + int(rng.geometric(1.0 / _SPELL_DAYS)))
        days[first:last] = np.arange(first, last) + rng.integers(-_APART_DAYS, _APART_DAYS + 1)
        first = last
    return days % 365


def _with_days(home: Home, days: Ints) -> Home:
    """Return a home whose sun and cells have other days of the same year; what it uses stays."""
    a_day = len(home.timeline) // 365
    steps = (days[:, None] * a_day + np.arange(a_day)).ravel()
    power, bank = home.production, home.bank
    production: DcPower = limited(
        {name: each[steps] for name, each in power.array_kw.items()},
        power.input_kw[:, steps],
        power.input_limits_kw[:, steps],
        power.rated_kw,
        {name: each[steps] for name, each in power.ac_side_kw.items()},
        power.notes,
    )
    cells = type(bank.cells)(*(each[steps] for each in bank.cells))
    temperature_c = None if bank.temperature_c is None else bank.temperature_c[steps]
    return _rebuilt(home, production, Bank(temperature_c, cells), home.load_kw, home.critical_kw)


def _noise(home: Home, rng: np.random.Generator) -> NDArray[np.float64]:
    """Return load / the given load for each step: by day and by step, 1 in the mean of the year's energy."""
    steps = len(home.timeline)
    daily = np.repeat(rng.normal(0.0, _DAILY_NOISE, 365), steps // 365)
    factor = np.exp(daily + rng.normal(0.0, _STEP_NOISE, steps))
    total_kw = float(home.load_kw.sum())
    return np.asarray(factor * (total_kw / float((factor * home.load_kw).sum()) if total_kw > 0.0 else 1.0))


def _with_load(home: Home, factor: NDArray[np.float64]) -> Home:
    """Return a home with another load; what is critical stays within what it reached before."""
    critical_kw = np.minimum(factor * home.critical_kw, home.critical_kw.max(initial=0.0))
    return _rebuilt(home, home.production, home.bank, factor * home.load_kw, critical_kw)


def _rebuilt(
    home: Home, production: DcPower, bank: Bank, load_kw: NDArray[np.float64], critical_kw: NDArray[np.float64]
) -> Home:
    """Return a home with other series; supply and dispatches follow them."""
    household = Household(load_kw, critical_kw, {}, None, home.load_notes)
    parts = Parts(home.timeline, home.weather, home.prices, bank=bank, production=production)
    return home_from(home.scenario, household, parts)
