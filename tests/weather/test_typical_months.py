"""A typical year of real months: the statistic by hand, the choice by hand, and what must hold for any years."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as draw
from numpy.typing import NDArray

from solarsim.errors import WeatherError
from solarsim.scenario.site import MONTH_DAYS
from solarsim.weather.services.real_years import RealYear
from solarsim.weather.typical_months import TypicalMonth, finkelstein_schafer, typical_months, typical_year
from tests.weather.test_read import GREENSBORO, read

Floats = NDArray[np.float64]
MONTH = np.repeat(np.arange(12), np.array(MONTH_DAYS) * 24)
HUMIDITY = 0.5 + 0.3 * np.cos(np.arange(8760) / 8760 * 2 * np.pi)
BASE = read(GREENSBORO, "tmy3")


def year(number: int, **columns: Floats) -> RealYear:
    humidity = columns.pop("relative_humidity", HUMIDITY)
    return RealYear(number, replace(BASE, **columns), humidity)  # type: ignore[arg-type]


def warmer(number: int, by_c: float, wind: float = 0.0, humidity: float = 0.0) -> RealYear:
    return year(
        number,
        temp_air_c=BASE.temp_air_c + by_c,
        wind_speed_m_s=BASE.wind_speed_m_s + wind,
        relative_humidity=HUMIDITY + humidity,
    )


@pytest.mark.by_hand
def test_statistic_of_a_small_month() -> None:
    """Days 1, 2, 3 in 1 to 6: |1/4 - 1/7|, |2/4 - 2/7|, |3/4 - 3/7| have the mean 3/14."""
    month = np.array([2.0, 1.0, 3.0])
    assert finkelstein_schafer(month, np.arange(1.0, 7.0)) == pytest.approx(3 / 14)
    assert finkelstein_schafer(month, month) == 0.0
    assert finkelstein_schafer(np.array([5.0]), np.array([5.0, 5.0])) == pytest.approx(abs(1 / 2 - 2 / 3))


@pytest.mark.by_hand
def test_ten_equal_years_choose_the_first() -> None:
    chosen = typical_months([year(number) for number in range(2010, 2020)])
    assert {month.year for month in chosen} == {2010}
    assert max(abs(month.wind_apart_m_s) for month in chosen) < 1e-9


@pytest.mark.by_hand
def test_middle_of_five_years_is_nearest_and_wind_decides_among_three() -> None:
    """Temperatures 4, 2, 0, 2, 4 C off: the middle three are candidates.

    Their winds are 3, 0.5 and 1 m/s above the base, the others' 0.25, so that all years' mean is 1 above: the last of
    the three has just that.
    """
    years = [
        warmer(2011, -4.0, 0.25),
        warmer(2012, -2.0, 3.0),
        warmer(2013, 0.0, 0.5),
        warmer(2014, 2.0, 1.0),
        warmer(2015, 4.0, 0.25),
    ]
    chosen = typical_months(years)
    assert {month.year for month in chosen} == {2014}
    assert max(abs(month.wind_apart_m_s) for month in chosen) < 1e-9


@pytest.mark.by_hand
def test_temperature_and_humidity_count_alike() -> None:
    """Seven years, each rank sum by hand: only the year in the middle of both has the lowest, and wind is equal."""
    offsets = [-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0]
    years = [warmer(2011 + place, by_c, humidity=0.01 * by_c) for place, by_c in enumerate(offsets)]
    years[2], years[4] = warmer(2013, -1.0, 2.0, -0.01), warmer(2015, 1.0, 2.0, 0.01)
    chosen = typical_months(years)
    assert {month.year for month in chosen} == {2014}
    assert all(month.humidity_distance <= 0.35 and month.temp_distance > 0 for month in chosen)


def plainly_chosen(years: list[RealYear], month: int) -> int:
    """Choose a month as the standard says it, day by day, without any array function of ours."""
    size, first = MONTH_DAYS[month], sum(MONTH_DAYS[:month])

    def days(hours: Floats) -> list[float]:
        return [sum(hours[24 * day : 24 * day + 24].tolist()) / 24 for day in range(first, first + size)]

    def ranks(columns: list[Floats]) -> list[int]:
        months = [days(column) for column in columns]
        every = [value for each in months for value in each]
        distances = []
        for own in months:
            gaps = [
                abs(
                    sum(other <= day for other in own) / (size + 1)
                    - sum(other <= day for other in every) / (len(every) + 1)
                )
                for day in own
            ]
            distances.append(sum(gaps) / size)
        return [sum(other < distance - 1e-12 for other in distances) for distance in distances]

    parts = ([y.weather.ghi_w_m2 for y in years], [y.weather.temp_air_c for y in years],
             [y.relative_humidity for y in years])  # fmt: skip
    sums = [sum(each) for each in zip(*map(ranks, parts), strict=True)]
    best = sorted(range(len(years)), key=lambda place: (sums[place], place))[:3]
    winds = [sum(days(year.weather.wind_speed_m_s)) / size for year in years]
    mean = sum(winds) / len(winds)
    return years[min(best, key=lambda place: (round(abs(winds[place] - mean), 9), place))].year


@pytest.mark.second_opinion
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_choice_is_that_of_plain_loops(seed: int) -> None:
    """Six years whose days differ in light, warmth, humidity and wind: each of the four decides somewhere."""
    generator = np.random.default_rng(seed)

    def by_day(spread: float) -> Floats:
        return np.repeat(generator.normal(0, spread, 365) + np.repeat(generator.normal(0, spread, 73), 5), 24)

    years = [
        year(
            2001 + place,
            ghi_w_m2=BASE.ghi_w_m2 * np.exp(by_day(0.2)),
            temp_air_c=BASE.temp_air_c + by_day(3.0),
            wind_speed_m_s=BASE.wind_speed_m_s * np.exp(by_day(0.2)),
            relative_humidity=np.clip(HUMIDITY + by_day(0.1), 0.05, 1.0),
        )
        for place in range(6)
    ]
    chosen = [month.year for month in typical_months(years)]
    assert chosen == [plainly_chosen(years, month) for month in range(12)]
    assert len(set(chosen)) > 2


@settings(max_examples=15)
@given(shifts=draw.lists(draw.floats(-5, 5), min_size=5, max_size=7), seed=draw.integers(0, 2**20))
def test_each_month_is_a_real_one(shifts: list[float], seed: int) -> None:
    generator = np.random.default_rng(seed)
    years = [
        year(2001 + place, temp_air_c=BASE.temp_air_c + shift, ghi_w_m2=BASE.ghi_w_m2 * (1 + 0.1 * generator.random()))
        for place, shift in enumerate(shifts)
    ]
    chosen = typical_months(years)
    by_year = {each.year: each.weather for each in years}
    assert len(chosen) == 12
    for month in chosen:
        assert month.year in by_year
        assert min(month.ghi_distance, month.temp_distance, month.humidity_distance) >= 0
        assert max(month.ghi_distance, month.temp_distance, month.humidity_distance) < 1


@given(
    own=draw.lists(draw.integers(-50, 50), min_size=1, max_size=31),
    others=draw.lists(draw.integers(-50, 50), max_size=100),
)
def test_statistic_depends_on_order_alone(own: list[int], others: list[int]) -> None:
    month, every = np.array(own, float), np.array(own + others, float)
    found = finkelstein_schafer(month, every)
    assert 0 <= found < 1
    assert found == finkelstein_schafer(np.exp(month / 50), np.exp(every / 50))
    assert found == pytest.approx(finkelstein_schafer(month[::-1], every[::-1]))


@pytest.mark.by_hand
def test_typical_year_holds_the_hours_of_each_chosen_month() -> None:
    years = [warmer(2011 + place, float(place)) for place in range(5)]
    months = [TypicalMonth(2011 + number % 5, 0.0, 0.0, 0.0, 0.0) for number in range(12)]
    joined = typical_year(years, months, "typical")
    assert joined.year_of_month == tuple(2011 + number % 5 for number in range(12))
    np.testing.assert_allclose(joined.temp_air_c - BASE.temp_air_c, MONTH % 5, atol=1e-12)
    np.testing.assert_array_equal(joined.ghi_w_m2, BASE.ghi_w_m2)
    assert joined.notes == ()


def test_days_without_humidity_are_left_out_and_a_month_without_any_is_refused() -> None:
    holes = HUMIDITY.copy()
    holes[24 * 40 : 24 * 50] = np.nan
    holes[5] = np.nan
    years = [year(2011, relative_humidity=holes), *(warmer(2012 + place, place - 1.5) for place in range(4))]
    assert len(typical_months(years)) == 12
    holes[MONTH == 1] = np.nan
    with pytest.raises(WeatherError, match="month 2 of 2011 has no relative humidity, which a typical year needs"):
        typical_months(years)


def test_too_few_years_are_refused() -> None:
    with pytest.raises(WeatherError, match="a typical year needs at least 5 years; got 4"):
        typical_months([year(2011 + place) for place in range(4)])
