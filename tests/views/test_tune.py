"""Tuned settings on a screen and in a picture."""

from dataclasses import replace
from typing import Any

import pytest

from solarsim.studies.tune.tune import Tuned, TunedLine
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
        shown.index("Recommended: in other years") < shown.index("Savings of each line") < shown.index("Settings sheet")
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


def words(result: Tuned, capsys: pytest.CaptureFixture[str]) -> str:
    Screen().show(*page(result))
    return " ".join(capsys.readouterr().out.split())


def test_page_says_what_the_comparison_is_with(tuned: Tuned, capsys: pytest.CaptureFixture[str]) -> None:
    assert "is compared with its reserve raised" not in words(tuned, capsys)
    (written,) = tuned.written
    raised = replace(written, reserve_as_written=0.1, cost=300.0, cost_as_written=280.0, energy_cost_as_written=250.0)
    shown = words(replace(tuned, reserve=0.3, written=(raised,)), capsys)
    assert (
        "'home first' is compared with its reserve raised from 10% to 30%. As written it keeps less for outages and"
        " costs 280 USD/yr; `compare` shows it as written, energy cost 250 USD/yr."
    ) in shown


def test_page_shows_both_strategies_that_it_compares_with(tuned: Tuned, capsys: pytest.CaptureFixture[str]) -> None:
    (written,) = tuned.written
    other = replace(written, strategy="evenings only", cost=555.0, battery_savings_share=0.512)
    shown = words(replace(tuned, written=(written, other), out_of_sample_best="evenings only"), capsys)
    assert "evenings only 555 51.2%" in shown
    assert (
        "In the year used for tuning 'home first' has the lowest cost of the written strategies, in the other years"
        " 'evenings only': the recommendation compares with that one."
    ) in shown
    assert "the lowest cost of the written strategies" not in words(tuned, capsys)


def test_page_says_why_compare_shows_another_share(tuned: Tuned, capsys: pytest.CaptureFixture[str]) -> None:
    assert not any(window.reserve for window in tuned.found.windows)
    assert "`compare --best` shows" not in words(tuned, capsys)
    first, *others = tuned.found.windows
    held = tuned.found.model_copy(update={"windows": (first.model_copy(update={"reserve": 0.8}), *others)})
    shown = words(replace(tuned, found=held, wear_price=0.03), capsys)
    assert (
        "`compare --best` shows another share: it counts a reserve that a window raises as kept for outages and does"
        " not count wear."
    ) in shown


def test_lines_of_one_window_are_told_in_words_and_do_not_add_up(
    tuned: Tuned, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = (
        TunedLine("23:00-05:00", "", "From 23:00 to 05:00 every day: charge from the grid to 35%.", "", 35.45),
        TunedLine("23:00-05:00", "battery_serves_load", "", "do not discharge", 21.66),
    )
    shown = words(replace(tuned, lines=lines), capsys)
    assert "Window or setting USD/yr" in shown
    assert "of which: do not discharge 21.66" in shown
    alone = "Each value is for removing that window or setting alone, so they do not add up."
    assert alone in shown
    assert "battery_serves_load" not in shown
    assert alone not in words(replace(tuned, lines=lines[:1]), capsys)


def test_page_of_a_strategy_that_cannot_be_bettered_keeps_it(tuned: Tuned, capsys: pytest.CaptureFixture[str]) -> None:
    own = replace(tuned.written[0], strategy="tuned", cost=tuned.cost)
    known = replace(tuned, is_new=False, written=(*tuned.written, own), best_written="tuned")
    shown = words(replace(known, out_of_sample_best="tuned"), capsys)
    assert "Nothing better than 'tuned' was found: keep it." in shown
    assert shown.count("years that were not used") == 0
    elsewhere = words(replace(known, out_of_sample_best="home first"), capsys)
    assert "No settings better than those of 'tuned' were found for the year used for tuning." in elsewhere


def test_page_names_a_table_beside_an_earlier_one(tuned: Tuned, capsys: pytest.CaptureFixture[str]) -> None:
    second = replace(tuned, strategy="tuned 2", out_of_sample_best="tuned")
    shown = words(second, capsys)
    assert "in other years the tuned settings ('tuned 2') save, on average, " in shown
    assert "USD a year more than 'tuned'." in shown


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
