"""Which rate holds when."""

from datetime import date

import numpy as np
import pytest

from solarsim.clock.holidays import Holidays
from solarsim.errors import ScenarioError
from solarsim.ledger.prices import prices_from
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from tests.builders import timeline

WHERE = timeline()
EVENING = {"from": "16:00", "to": "21:00"}


def rate_plan(*rates: dict[str, object], **export: object) -> RatePlan:
    return RatePlan.model_validate(
        {
            "name": "t",
            "currency": "USD",
            "customer_charge_per_month": 0.0,
            "export": export or {"pay": "none"},
            "rates": rates,
        }
    )


PEAK = {"name": "peak", "import_price": 0.4, "windows": (EVENING,)}
REST = {"name": "rest", "import_price": 0.1}


@pytest.mark.by_hand
def test_peak_holds_five_wall_clock_hours_a_day_all_year() -> None:
    prices = prices_from(rate_plan(PEAK, REST), WHERE)
    dear = prices.import_price == 0.4
    assert dear.sum() == 5 * 365
    assert set((WHERE.minute_of_day[dear] // 60).tolist()) == {16, 17, 18, 19, 20}


@pytest.mark.parametrize(
    ("export", "dear", "cheap"),
    [({"pay": "none"}, 0.0, 0.0), ({"pay": "flat", "price": 0.05}, 0.05, 0.05), ({"pay": "same_as_import"}, 0.4, 0.1)],
)
def test_export_pay(export: dict[str, object], dear: float, cheap: float) -> None:
    prices = prices_from(rate_plan(PEAK, REST, **export), WHERE)
    assert set(prices.export_price[prices.rate == 0]) == {dear}
    assert set(prices.export_price[prices.rate == 1]) == {cheap}


def test_export_pay_by_rate() -> None:
    prices = prices_from(rate_plan({**PEAK, "export_price": 0.3}, {**REST, "export_price": 0.02}, pay="by_rate"), WHERE)
    np.testing.assert_array_equal(prices.export_price, np.where(prices.rate == 0, 0.3, 0.02))


def test_overlapping_rates_are_refused_with_their_hour() -> None:
    late = {"name": "late", "import_price": 0.3, "windows": ({"from": "20:00", "to": "23:00"},)}
    with pytest.raises(ScenarioError, match="'peak' and 'late' overlap in 365 hours, first at 2026-01-01 20:00"):
        prices_from(rate_plan(PEAK, late, REST), WHERE)


def test_one_rate_may_have_windows_that_overlap_each_other() -> None:
    twice = {**PEAK, "windows": (EVENING, {"from": "20:00", "to": "22:00"})}
    assert (prices_from(rate_plan(twice, REST), WHERE).rate == 0).sum() == 6 * 365


def test_hours_without_a_rate_are_refused() -> None:
    with pytest.raises(ScenarioError, match=r"no rate applies in 6935 hours, first at 2026-01-01 00:00"):
        prices_from(rate_plan(PEAK), WHERE)


@pytest.mark.by_hand
def test_table_by_month_and_hour_knows_weekends_and_the_wall_clock() -> None:
    """Price is month + hour / 100 on weekdays, 0 on weekends and holidays."""
    table = tuple(tuple(month + hour / 100 for hour in range(24)) for month in range(1, 13))
    free = ((0.0,) * 24,) * 12
    plan = rate_plan(REST, pay="by_month_and_hour", prices=table, weekend_prices=free)
    where = timeline(holidays={"dates": (date(2026, 7, 1),)})
    price = prices_from(plan, where).export_price
    for month, day, hour, expected in ((7, 2, 16, 7.16), (7, 1, 16, 0.0), (7, 4, 16, 0.0), (1, 5, 3, 1.03)):
        there = where.wall == np.datetime64(f"2026-{month:02d}-{day:02d}T{hour:02d}:00")
        assert price[there].tolist() == [pytest.approx(expected)]


def test_a_plan_s_own_holidays_replace_the_site_s() -> None:
    weekdays = {**PEAK, "windows": ({**EVENING, "days": ("weekday",)},)}
    site = timeline(holidays={"dates": (date(2026, 7, 1),)})
    own = rate_plan(weekdays, REST).model_copy(update={"holidays": Holidays(dates=(date(2026, 7, 2),))})
    found = []
    for plan in (rate_plan(weekdays, REST), own):
        dear = site.wall[prices_from(plan, site).rate == 0].astype("datetime64[D]").astype(str)
        found.append([day for day in ("2026-07-01", "2026-07-02") if day in dear])
    assert found == [["2026-07-02"], ["2026-07-01"]]
