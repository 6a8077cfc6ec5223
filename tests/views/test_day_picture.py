"""The picture of one day."""

from datetime import date

import numpy as np
import pytest

from solarsim.studies.compare.compare import Comparison
from solarsim.studies.flows import FlowsYear
from solarsim.views.day_picture import day_figure, highest_kw


def test_stack_ends_at_the_day_s_highest_and_the_line_at_its_demand(demo_comparison: Comparison) -> None:
    year = FlowsYear(demo_comparison.home, demo_comparison.runs[0], "demo", "USD")
    flows, friday = year.run.flows, date(2026, 7, 3)
    drawn = day_figure(year, friday, top_kw=10.0)
    power, charge = drawn.axes
    labels = [text.get_text() for text in drawn.legends[0].get_texts()]
    assert {"sun to home", "highest price"} <= set(labels)
    tops = [np.max(patch.get_data().values) for patch in power.patches if hasattr(patch, "get_data")]
    day = flows.timeline.wall.astype("datetime64[D]") == np.datetime64(friday)
    demand_kw = (flows["load_kw"] + flows["standby_kw"])[day]
    assert max(tops) == pytest.approx(highest_kw(year, friday), abs=0.05)
    assert demand_kw.max() in [pytest.approx(top) for top in tops]
    assert list(power.get_ylim()) == pytest.approx([0.0, 10.4])
    assert charge.get_ylim() == (0.0, 105.0)


def test_price_that_holds_most_of_the_day_is_not_shaded(demo_comparison: Comparison) -> None:
    """4 July 2026 is a Saturday: the highest price is that of the whole day."""
    year = FlowsYear(demo_comparison.home, demo_comparison.runs[0], "demo", "USD")
    legend = day_figure(year, date(2026, 7, 4)).legends[0]
    assert "highest price" not in [text.get_text() for text in legend.get_texts()]
