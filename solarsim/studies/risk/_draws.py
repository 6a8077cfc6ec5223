"""Draws: the spreads of a scenario in; courses of years, and each input's low and high, out."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from solarsim.scenario.life import LEAST_GROWTH, MOST_GROWTH, MOST_WEAR, Lifetime, Spread
from solarsim.studies.life.years import Course, Rates, rates_of, typical_course

Floats = NDArray[np.float64]
LOW, MIDDLE, HIGH = 0.1, 0.5, 0.9
#: Every rate that may be uncertain: its key in ``life``, and the field of ``Rates``. All are drawn in this
#: order in every lifetime, uncertain or not: what one spread is changes no draw of another.
FIELDS = {
    "panel_degradation_per_year": "panel_degradation",
    "battery_fade_per_year": "battery_fade",
    "load_growth_per_year": "load_growth",
    "price_growth.energy": "energy",
    "price_growth.customer_charge": "customer_charge",
    "price_growth.demand": "demand",
    "price_growth.export": "export",
}
WEATHER = "weather"
_WEARS = ("panel_degradation_per_year", "battery_fade_per_year")
_MOST_SUN = 2.0


def quantile(spread: Spread, stated: float, share: float) -> float:
    """Return the value that a share of all draws, above 0 and below 1, stays below."""
    if spread.standard_deviation is not None:
        return NormalDist(stated, spread.standard_deviation).inv_cdf(share)
    low, high = spread.low or 0.0, spread.high or 0.0
    if spread.distribution == "uniform":
        return low + share * (high - low)
    if share * (high - low) <= stated - low:
        return low + float(np.sqrt(share * (high - low) * (stated - low)))
    return high - float(np.sqrt((1.0 - share) * (high - low) * (high - stated)))


def rates_at(life: Lifetime, share_of: Callable[[str], float]) -> Rates:
    """Return the rates with every uncertain one at a share of its distribution, within the bounds of the file."""
    values = {}
    for name, stated, spread in life.spreads():
        least, most = (0.0, MOST_WEAR) if name in _WEARS else (LEAST_GROWTH, MOST_GROWTH)
        values[FIELDS[name]] = min(most, max(least, quantile(spread, stated or 0.0, share_of(name))))
    return replace(rates_of(life), **values)


def draw(life: Lifetime, seed: int, number: int, years_on_file: int) -> Course:
    """Return lifetime ``number``, from 0: it is the same however many are drawn, and by whom."""
    generator = np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(number,)))
    # Halfway between two numbers of a generator: never 0, where a normal distribution has no value.
    shares = dict(zip(FIELDS, (generator.random(len(FIELDS)) + 2.0**-54).tolist(), strict=True))
    course = typical_course(rates_at(life, shares.__getitem__), life.years)
    deviation = life.uncertainty.weather_standard_deviation if life.uncertainty else None
    if deviation is not None:
        sun = 1.0 + deviation * generator.standard_normal(life.years)
        course = replace(course, sun=np.clip(sun, 0.0, _MOST_SUN))
    elif years_on_file:
        course = replace(course, weather=generator.integers(1, years_on_file + 1, life.years))
    return course


@dataclass(frozen=True, eq=False)
class Ends:
    """One input at its 10th and at its 90th percentile, all others at their medians; see ``risk.InputSwing``."""

    name: str
    low_value: float
    high_value: float
    low: Course
    high: Course


def middle_course(life: Lifetime) -> Course:
    """Return the course with every uncertain rate at its median and typical weather in all years."""
    return typical_course(rates_at(life, lambda _: MIDDLE), life.years)


def ends_of(life: Lifetime, courses: tuple[Course, ...], yearly_kwh: Floats) -> list[Ends]:
    """Return each uncertain input alone at its 10th and 90th percentile, all others at their medians.

    Weather with a standard deviation is moved by that of the mean of all years, not of one: good and bad years mostly
    cancel. With files it is the drawn lifetimes whose mean is lowest and highest but 10%. ``yearly_kwh`` is the solar
    energy of the typical year, then of each weather file.
    """
    middle = middle_course(life)

    def at(name: str, share: float) -> Course:
        return replace(middle, rates=rates_at(life, lambda each: share if each == name else MIDDLE))

    found = []
    for name, _, _ in life.spreads():
        low, high = at(name, LOW), at(name, HIGH)
        field = FIELDS[name]
        found.append(Ends(name, getattr(low.rates, field), getattr(high.rates, field), low, high))
    deviation = life.uncertainty.weather_standard_deviation if life.uncertainty else None
    if deviation is not None:
        mean = NormalDist(1.0, deviation / float(np.sqrt(life.years)))
        suns = [max(0.0, mean.inv_cdf(share)) for share in (LOW, HIGH)]
        low, high = (replace(middle, sun=np.full(life.years, sun)) for sun in suns)
        found.append(Ends(WEATHER, suns[0], suns[1], low, high))
    elif yearly_kwh.size > 1 and yearly_kwh[0] > 0.0:
        means = np.array([yearly_kwh[course.weather].mean() for course in courses]) / yearly_kwh[0]
        ranks = np.argsort(means, kind="stable")
        picked = [int(ranks[round(share * (means.size - 1))]) for share in (LOW, HIGH)]
        low, high = (replace(middle, weather=courses[number].weather) for number in picked)
        found.append(Ends(WEATHER, float(means[picked[0]]), float(means[picked[1]]), low, high))
    return found
