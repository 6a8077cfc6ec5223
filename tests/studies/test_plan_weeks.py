"""One week for each season of a rate plan: the hours and holidays are those of the plan's own windows."""

from typing import Any

import numpy as np
import pytest

from solarsim.clock.timeline import weeks_of
from solarsim.ledger.prices import prices_from
from solarsim.scenario.read import read_rate_plan, read_scenario
from solarsim.studies._plan_weeks import PlanWeek, weeks_of_plan
from tests.builders import READY_PLANS, timeline

DEMO = read_scenario()


def hours_at(week: PlanWeek, day: int, price: float) -> list[float]:
    """Return the hours of a day that have an import price."""
    inside = (week.hour // 24 == day) & np.isclose(week.import_price, price)
    return [float(hour) for hour in week.hour[inside] % 24]


@pytest.mark.by_hand
def test_the_demo_has_two_seasons_with_the_windows_of_its_file() -> None:
    """From 15:00 to 20:00 in summer, 06:00 to 09:00 and 17:00 to 20:00 in winter, on weekdays without holidays."""
    winter, summer = weeks_of_plan(prices_from(DEMO.rate_plan, DEMO.site.timeline()))
    assert (winter.season, summer.season) == ("Oct-Apr", "May-Sep")
    assert (winter.first_day, winter.holidays) == ("2026-11-23", (3,)), "Thanksgiving is Thursday, 26 November 2026"
    assert (summer.first_day, summer.holidays) == ("2026-05-25", (0,)), "Memorial Day is Monday, 25 May 2026"
    assert hours_at(summer, 1, 0.34) == [15.0, 16.0, 17.0, 18.0, 19.0]
    assert hours_at(summer, 0, 0.34) == hours_at(summer, 5, 0.34) == []
    assert hours_at(winter, 4, 0.27) == [6.0, 7.0, 8.0, 17.0, 18.0, 19.0]
    assert dict(summer.rates) == pytest.approx({"summer peak": 0.34, "night": 0.075, "day": 0.125})


@pytest.mark.parametrize("path", READY_PLANS, ids=lambda path: path.stem)
def test_every_ready_plan_has_a_week_for_each_part_of_its_year(path: Any) -> None:
    """Weeks are whole, and together they show every price that the plan has."""
    prices = prices_from(read_rate_plan(path), DEMO.site.timeline())
    weeks = weeks_of_plan(prices)
    for week in weeks:
        assert week.hour[0] == 0.0
        assert week.hour[-1] == 167.0
        assert (np.diff(week.hour) >= 0.0).all()
    for shown, listed in (("import_price", prices.import_price), ("export_price", prices.export_price)):
        found = np.unique(np.concatenate([getattr(week, shown) for week in weeks]).round(9))
        assert set(found) == set(np.unique(listed.round(9)))


def test_weeks_begin_on_mondays_and_follow_the_wall_clock() -> None:
    """The week of the change to daylight saving time lacks an hour, the one of the change back has one twice."""
    where = timeline()
    sizes = {str(monday): steps.size for monday, steps in weeks_of(where)}
    assert len(sizes) == 51
    assert (sizes["2026-03-02"], sizes["2026-10-26"], sizes["2026-07-06"]) == (167, 169, 168)
    assert all(np.datetime64(monday, "D").astype(int) % 7 == 4 for monday in sizes), "1970-01-01 was a Thursday"
