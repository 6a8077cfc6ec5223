"""Distributions: their closed forms, what is drawn, and what each input is moved to."""

from statistics import NormalDist
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from solarsim.scenario.life import Lifetime, Spread
from solarsim.studies.life.years import Course
from solarsim.studies.risk._draws import draw, ends_of, middle_course, quantile, rates_at
from tests.studies.lives import STILL

SHARES = st.integers(1, 99).map(lambda percent: percent / 100)


def spread(distribution: str, **keys: float) -> Spread:
    return Spread.model_validate({"distribution": distribution, **keys})


def lifetime(years: int = 20, **uncertain: Any) -> Lifetime:
    table = STILL | {"years": years, "panel_degradation_per_year": 0.005, "battery_fade_per_year": 0.02}
    return Lifetime.model_validate(table | {"uncertainty": {"lifetimes": 100, "seed": 3, **uncertain}})


@pytest.mark.second_opinion
@given(share=SHARES, low=st.integers(-20, 0), width=st.integers(1, 30), place=st.integers(0, 10))
def test_quantiles_are_those_of_scipy(share: float, low: int, width: int, place: int) -> None:
    low_value, high_value = low / 100, min(0.3, (low + width) / 100)
    stated = low_value + place / 10 * (high_value - low_value)
    span = high_value - low_value
    cases = [
        (spread("uniform", low=low_value, high=high_value), stats.uniform(low_value, span)),
        (spread("triangular", low=low_value, high=high_value), stats.triang(place / 10, low_value, span)),
        (spread("normal", standard_deviation=0.02), stats.norm(stated, 0.02)),
    ]
    for ours, theirs in cases:
        assert quantile(ours, stated, share) == pytest.approx(theirs.ppf(share), abs=1e-9)


def test_draws_follow_their_distributions() -> None:
    life = lifetime(
        panel_degradation_per_year={"distribution": "triangular", "low": 0.002, "high": 0.01},
        price_growth={"energy": {"distribution": "normal", "standard_deviation": 0.01}},
        weather_standard_deviation=0.05,
    )
    courses = [draw(life, 3, number, 0) for number in range(1500)]
    energy = np.array([course.rates.energy for course in courses])
    panels = np.array([course.rates.panel_degradation for course in courses])
    # Means within four standard errors of the distribution's: (low + likeliest + high) / 3 of a triangle.
    assert energy.mean() == pytest.approx(0.0, abs=4 * 0.01 / 1500**0.5)
    assert energy.std() == pytest.approx(0.01, rel=0.08)
    assert panels.mean() == pytest.approx((0.002 + 0.005 + 0.01) / 3, abs=4 * 0.0017 / 1500**0.5)
    assert {course.rates.battery_fade for course in courses} == {0.02}
    sun = np.concatenate([course.sun for course in courses])
    assert sun.size == 1500 * 20
    assert sun.std() == pytest.approx(0.05, rel=0.03)
    assert abs(np.corrcoef(energy, panels)[0, 1]) < 0.1


def test_lifetime_is_the_same_however_many_are_drawn_and_whatever_else_is_uncertain() -> None:
    energy = {"energy": {"distribution": "uniform", "low": -0.01, "high": 0.05}}
    one, more = lifetime(price_growth=energy), lifetime(
        price_growth=energy, panel_degradation_per_year={"distribution": "uniform", "low": 0.0, "high": 0.01}
    )  # fmt: skip
    assert draw(one, 3, 7, 0).rates == draw(one, 3, 7, 0).rates
    assert draw(one, 3, 7, 0).rates != draw(one, 3, 8, 0).rates
    assert draw(one, 3, 7, 0).rates != draw(one, 4, 7, 0).rates
    assert draw(more, 3, 7, 0).rates.energy == draw(one, 3, 7, 0).rates.energy


def test_nothing_gets_newer() -> None:
    life = lifetime(panel_degradation_per_year={"distribution": "normal", "standard_deviation": 0.01})
    drawn = [draw(life, 1, number, 0).rates.panel_degradation for number in range(200)]
    assert min(drawn) == 0.0
    assert rates_at(life, lambda _: 0.01).panel_degradation == 0.0


@pytest.mark.by_hand
def test_each_input_is_moved_alone_to_its_tenth_and_its_ninetieth() -> None:
    life = lifetime(
        price_growth={"energy": {"distribution": "uniform", "low": -0.02, "high": 0.08}},
        load_growth_per_year={"distribution": "uniform", "low": -0.01, "high": 0.01},
        weather_standard_deviation=0.04,
    )
    load, energy, weather = ends_of(life, (), np.ones(1))
    assert (load.name, energy.name, weather.name) == ("load_growth_per_year", "price_growth.energy", "weather")
    assert (energy.low_value, energy.high_value) == pytest.approx((-0.01, 0.07))
    assert (energy.low.rates.energy, energy.low.rates.load_growth) == pytest.approx((-0.01, 0.0))
    assert middle_course(life).rates.energy == pytest.approx(0.03)
    # The mean of 20 years spreads by 0.04 / sqrt(20).
    assert weather.high_value == pytest.approx(1 + NormalDist().inv_cdf(0.9) * 0.04 / 20**0.5)
    assert weather.low.sun.tolist() == [weather.low_value] * 20


def test_weather_files_are_drawn_year_by_year_and_moved_by_lifetimes_that_were_drawn() -> None:
    life = lifetime(weather_files=({"file": "a.csv", "format": "tmy3"}, {"file": "b.csv", "format": "tmy3"}))
    courses = tuple(draw(life, 5, number, 2) for number in range(101))
    years = np.concatenate([course.weather for course in courses])
    assert set(years.tolist()) == {1, 2}
    assert (years == 1).mean() == pytest.approx(0.5, abs=0.05)
    (weather,) = ends_of(life, courses, np.array([1000.0, 800.0, 1100.0]))

    def mean(course: Course) -> float:
        return float(np.array([1.0, 0.8, 1.1])[course.weather].mean())

    means = sorted(map(mean, courses))
    assert (weather.low_value, weather.high_value) == pytest.approx((means[10], means[90]))
    assert mean(weather.low) == pytest.approx(weather.low_value)
