"""Tuned settings on a screen and in a picture."""

from dataclasses import replace
from typing import Any

import pytest

from solarsim.studies.tune.tune import Tuned
from solarsim.views.screen import Screen
from solarsim.views.tune import figure, page
from tests.studies.tune.tasks import evening_tuned
from tests.views.test_ladder import ladder_of


@pytest.fixture(scope="module")
def tuned() -> Tuned:
    return evening_tuned()


def test_page_leads_with_the_verdict_and_ends_with_the_sheet(tuned: Tuned, capsys: pytest.CaptureFixture[str]) -> None:
    Screen().show(*page(tuned))
    shown = " ".join(capsys.readouterr().out.split())
    assert (
        shown.index("Recommended: in other years") < shown.index("What each line earns") < shown.index("Settings sheet")
    )
    assert "Battery wear is not counted." in shown
    assert "load x 1.15" in shown
    for line in tuned.lines:
        assert f"{line.removal_cost:,.2f}" in shown


def test_a_table_that_is_no_better_is_not_recommended(tuned: Tuned, capsys: pytest.CaptureFixture[str]) -> None:
    worse = replace(tuned, out_of_sample=tuple(replace(each, cost=each.cost + 500) for each in tuned.out_of_sample))
    same = replace(
        tuned, out_of_sample=tuple(replace(each, cost=each.best_written_cost) for each in tuned.out_of_sample)
    )
    little = replace(
        tuned,
        line_price=2.0,
        out_of_sample=tuple(replace(each, cost=each.best_written_cost - 1.5) for each in tuned.out_of_sample),
    )
    one_loses = replace(
        tuned,
        line_price=2.0,
        out_of_sample=tuple(
            replace(each, cost=each.best_written_cost - (30.0 if number else -2.5))
            for number, each in enumerate(tuned.out_of_sample)
        ),
    )
    assert not any(each.recommended for each in (worse, same, little, one_loses))
    assert replace(one_loses, line_price=3.0).recommended
    assert replace(little, line_price=1.0).recommended
    Screen().show(page(worse)[1], page(same)[1], page(little)[1], page(one_loses)[1])
    shown = " ".join(capsys.readouterr().out.split())
    assert "Not recommended: in other years the tuned settings cost, on average, 4" in shown
    assert "Not recommended: in other years the tuned settings cost the same as 'home first'." in shown
    first = tuned.out_of_sample[0].name
    assert f"more than 'home first', but in one of them ({first}) they cost 2.50 USD more. Keep 'home first'." in shown
    assert "save, on average, only 1.50 USD a year more than 'home first'; one line alone must save 2.00" in shown


def test_picture_has_a_row_for_each_season_before_and_after(tuned: Tuned) -> None:
    drawn: Any = figure(tuned)
    titles = [panel.get_title(loc="left") for panel in drawn.axes if panel.get_title(loc="left")]
    assert len([title for title in titles if title.endswith(": mean day")]) == len(tuned.days)
    styles = [line.get_linestyle() for line in drawn.axes[0].lines]
    assert styles == ["--", "-"]
    assert drawn.axes[0].get_ylabel() == "state of charge, %"


def test_ladder_stands_before_the_sheet_where_it_was_asked_for(
    tuned: Tuned, capsys: pytest.CaptureFixture[str]
) -> None:
    Screen().show(*page(replace(tuned, ladder=ladder_of(tuned.home))))
    shown = " ".join(capsys.readouterr().out.split())
    assert shown.index("Is a smarter controller worth buying?") < shown.index("Settings sheet")
    assert "knows the next 48 h 274 99.4%" in shown
    Screen().show(*page(tuned))
    assert "smarter" not in capsys.readouterr().out
