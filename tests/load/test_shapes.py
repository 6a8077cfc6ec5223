"""Shapes of a year's load."""

from datetime import date

import numpy as np
import pytest

from solarsim.load.shapes import SHAPES, shape_weight, spread_months
from solarsim.scenario.site import Site
from tests.builders import timeline


def test_half_hours_keep_the_bill_of_each_month() -> None:
    where = Site(name="here", time_zone="America/New_York", calendar_year=2026, albedo=0.2).timeline(0.5)
    load_kw = spread_months(np.full(12, 600.0), shape_weight(SHAPES["evenings"], where, 36.1), where)
    assert np.bincount(where.month - 1, load_kw * 0.5).tolist() == pytest.approx([600.0] * 12)


@pytest.mark.by_hand
def test_holiday_is_shaped_like_a_weekend_and_winter_like_winter() -> None:
    """Weights at 12:00: winter weekday 0.65, winter weekend 1.25; 26 November 2026 is a Thursday."""
    where = timeline(holidays={"dates": (date(2026, 1, 1),)})
    load_kw = spread_months(np.full(12, 600.0), shape_weight(SHAPES["evenings"], where, 36.1), where)
    assert load_kw[12] / load_kw[24 + 12] == pytest.approx(1.25 / 0.65)
    march = 24 * 59 + 12  # 1 March 2026 is a Sunday, 2 March a Monday: weights between the seasons
    assert load_kw[march] / load_kw[march + 24] == pytest.approx(1.20 / 0.68)
