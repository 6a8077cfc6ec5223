"""Other years of one home: other weather, random load changes, less and more load."""

import numpy as np
import pytest

from solarsim.home import Home, home_from
from solarsim.run import close_year
from solarsim.scenario.strategy import Strategy
from solarsim.studies._other_years import LOAD_FACTORS, OTHER_WEATHERS, OtherYear, other_years, with_strategy
from tests.builders import scenario


@pytest.fixture(scope="module")
def plain() -> Home:
    return home_from(scenario())


@pytest.fixture(scope="module")
def others(plain: Home) -> tuple[OtherYear, ...]:
    return other_years(plain)


def test_there_are_five_weathers_and_two_loads(plain: Home, others: tuple[OtherYear, ...]) -> None:
    assert len(others) == OTHER_WEATHERS + len(LOAD_FACTORS)
    assert [each.name for each in others[-2:]] == ["6: load x 0.85", "7: load x 1.15"]
    for other, factor in zip(others[-2:], LOAD_FACTORS, strict=True):
        np.testing.assert_allclose(other.home.load_kw, factor * plain.load_kw)
        assert other.home.production.dc_kw is plain.production.dc_kw


def test_days_that_are_drawn_are_days_of_the_year_within_two_weeks_or_so(
    plain: Home, others: tuple[OtherYear, ...]
) -> None:
    given = plain.production.dc_kw.reshape(365, 24)
    for other in others[:OTHER_WEATHERS]:
        drawn = other.home.production.dc_kw.reshape(365, 24)
        assert not np.array_equal(given, drawn)
        for day in (0, 45, 200, 364):
            near = given[np.arange(day - 15, day + 16) % 365]
            assert (near == drawn[day]).all(axis=1).any()
        assert 0.9 < drawn.sum() / given.sum() < 1.1  # by_hand: a month's mean over some ten spells


def test_noise_keeps_the_year_and_moves_days_and_hours(plain: Home, others: tuple[OtherYear, ...]) -> None:
    for other in others[:OTHER_WEATHERS]:
        assert other.home.load_kw.sum() == pytest.approx(plain.load_kw.sum())
        factor = np.log(other.home.load_kw / plain.load_kw)
        # by_hand: sqrt(0.15^2 + 0.25^2) = 0.2915
        assert factor.std() == pytest.approx(0.2915, abs=0.01)
        assert factor.reshape(365, 24).mean(axis=1).std() == pytest.approx(0.158, abs=0.02)  # sqrt(.15^2 + .25^2/24)


def test_the_seed_decides(plain: Home, others: tuple[OtherYear, ...]) -> None:
    again, different = other_years(plain), other_years(plain, seed=2)
    np.testing.assert_array_equal(again[0].home.load_kw, others[0].home.load_kw)
    assert not np.array_equal(different[0].home.production.dc_kw, others[0].home.production.dc_kw)


def test_monthly_means_are_drawn_with_other_seeds() -> None:
    weather = {
        "format": "monthly",
        "place": {"latitude_deg": 36.1, "longitude_deg": -79.9, "elevation_m": 270.0},
        "ghi_kwh_m2_day": [2.4, 3.1, 4.2, 5.4, 5.7, 6.2, 6.1, 5.6, 4.4, 3.6, 2.4, 2.2],
        "temp_air_c": [3.0, 5.0, 9.0, 15.0, 19.0, 23.0, 25.0, 25.0, 21.0, 15.0, 10.0, 5.0],
        "seed": 4,
    }
    home = home_from(scenario(weather=weather))
    found = other_years(home)
    assert found[0].name == "1: monthly means, seed 5, random load changes"
    assert len({each.home.production.dc_kw.sum() for each in found[:5]}) == 5
    assert all(each.home.scenario is home.scenario for each in found)


def test_a_strategy_that_no_file_has_runs_in_each_year(others: tuple[OtherYear, ...]) -> None:
    idle = Strategy(name="idle", surplus_to="grid", battery_serves_load=False, reserve=0.1)
    ledgers = [close_year(with_strategy(each.home, idle), "idle") for each in others]
    assert all(ledger.battery_kwh == 0.0 for ledger in ledgers)
