"""How clear days and hours are drawn."""

from math import exp

import numpy as np
import pytest

from solarsim.scenario.site import MONTH_DAYS
from solarsim.weather._clearness import CLEAREST, day_clearness, hour_clearness, keep_means, quantiles, steepness_of

EVENLY = (np.arange(10_000) + 0.5) / 10_000


@pytest.mark.by_hand
@pytest.mark.parametrize("mean", [0.02, 0.1, 0.3, 0.4, 0.5, 0.6, 0.7, 0.79])
def test_days_of_a_month_have_the_month_s_mean_and_the_model_s_bounds(mean: float) -> None:
    days = quantiles(mean, EVENLY)
    assert days.mean() == pytest.approx(mean, abs=2e-4)
    assert (np.diff(days) >= 0).all()
    assert days[0] >= min(0.05, mean / 2)
    assert days[-1] <= max(0.6313 + 0.267 * mean, 2 * mean)


@pytest.mark.published
@pytest.mark.parametrize("mean", [0.3, 0.4, 0.5, 0.6, 0.7])
def test_spread_of_daily_clearness_is_near_the_published_fit(mean: float) -> None:
    """Herzog's fit, Duffie & Beckman, Solar Engineering of Thermal Processes, eq. 2.9.6 (from memory).

    gamma = -1.498 + (1.184 x - 27.182 exp(-1.5 x)) / (high - low), x = (high - low) / (high - mean). It is a fit:
    0.3 of an exponent moves the median day by less than 0.01.
    """
    low, high = 0.05, 0.6313 + 0.267 * mean - 11.9 * (mean - 0.75) ** 8
    x = (high - low) / (high - mean)
    fit = -1.498 + (1.184 * x - 27.182 * exp(-1.5 * x)) / (high - low)
    assert steepness_of((mean - low) / (high - low)) / (high - low) == pytest.approx(fit, abs=0.3)


@pytest.mark.by_hand
def test_half_the_mean_is_an_even_density() -> None:
    assert steepness_of(0.5) == pytest.approx(0.0, abs=1e-6)
    assert steepness_of(1 / (1 - exp(-2.0)) - 1 / 2.0) == pytest.approx(2.0, rel=1e-9)
    assert steepness_of(0.3) == pytest.approx(-steepness_of(0.7))


@pytest.mark.by_hand
def test_days_follow_each_other_as_the_autoregression_says() -> None:
    """0.29 from day to day, less (1 + 3 x 0.29) / 30.4 = 0.06 because each month's mean is fixed (Kendall's bias)."""
    draws = np.random.default_rng(5).standard_normal((200, 365))
    years = np.array([day_clearness(np.full(12, 0.5), each) for each in draws])
    from_mean = years - years.mean()
    found = (from_mean[:, 1:] * from_mean[:, :-1]).mean() / from_mean.var()
    assert found == pytest.approx(0.29 - 0.06, abs=0.03)


@pytest.mark.by_hand
def test_every_seed_holds_the_same_days_in_another_order() -> None:
    one, other = (day_clearness(np.full(12, 0.5), np.random.default_rng(seed).standard_normal(365)) for seed in (1, 2))
    january = slice(0, MONTH_DAYS[0])
    np.testing.assert_allclose(np.sort(one[january]), np.sort(other[january]))
    assert not np.allclose(one[january], other[january])


@pytest.mark.by_hand
def test_hours_stay_within_bounds_and_fall_with_the_sun() -> None:
    daily, sine = np.full(20_000, 0.6), np.tile([0.1, 0.8], 10_000)
    hours = hour_clearness(daily, sine, np.random.default_rng(1).standard_normal(20_000))
    assert 0.01 <= hours.min() < hours.max() <= CLEAREST
    # lambda + epsilon exp(-kappa / sine) at a clearness of 0.6: 0.484 + 0.304 exp(-0.465 / sine) (by hand)
    assert hours[1::2].mean() == pytest.approx(0.484 + 0.304 * exp(-0.465 / 0.8), abs=0.02)
    assert hours[::2].mean() == pytest.approx(0.484 + 0.304 * exp(-0.465 / 0.1), abs=0.02)


@pytest.mark.by_hand
def test_means_are_kept_where_an_hour_would_pass_the_clearest() -> None:
    """Two hours of 0.3 and 0.9 scaled to a mean of 0.7 are 0.35 and 1.05: 0.3 of contrast leaves 0.6 and 0.8."""
    kept = keep_means(np.array([0.3, 0.9]), np.ones(2), np.zeros(2, np.int64), np.array([0.7]))
    assert kept.tolist() == pytest.approx([0.7 - 0.35 * 0.1 / 0.35, 0.8])
