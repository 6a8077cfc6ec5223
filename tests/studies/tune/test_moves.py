"""Steps of the search: what they change, and what they leave."""

import numpy as np
import pytest

from solarsim.studies.tune._moves import merged, split_season
from solarsim.studies.tune._problem import plain_settings
from solarsim.studies.tune._search import Search, shorter_tables
from solarsim.studies.tune._table import CHARGE, EVERY_DAY, SERVES, WORKDAYS, Rule, Table
from tests.studies.tune.tasks import reference, search_of


@pytest.fixture(scope="module")
def search() -> Search:
    return search_of(reference())


def table_of(search: Search, cuts: tuple[int, ...], *rules: Rule) -> Table:
    return Table(cuts, plain_settings(search.scorer.like), rules)


HOLD, FILL = ((SERVES, 0.0),), ((CHARGE, 0.7),)


@pytest.mark.parametrize("cut", [0, 1, 4, 7, 11])
def test_a_season_more_changes_no_hour_until_a_rule_changes(search: Search, cut: int) -> None:
    table = table_of(search, (2, 9), Rule(1, EVERY_DAY, 0, 6, HOLD), Rule(2, WORKDAYS, 14, 17, FILL))
    (split,) = split_season(table, cut)
    assert split.seasons == 3
    for one, other in zip(search.scorer.dispatch(table), search.scorer.dispatch(split), strict=True):
        np.testing.assert_array_equal(one, other)
    place = split.cuts.index(cut)
    assert merged(split, place) == table


def test_the_last_two_seasons_become_the_whole_year(search: Search) -> None:
    table = table_of(search, (2, 9), Rule(1, EVERY_DAY, 0, 6, HOLD))
    assert merged(table, 0) == table_of(search, (), Rule(1, EVERY_DAY, 0, 6, HOLD))


def test_a_season_that_begins_before_the_first_is_the_first(search: Search) -> None:
    """Seasons from 16 January and 16 May; the first begins a month earlier, so that it is the last of the year."""
    table = table_of(search, (1, 9), Rule(1, EVERY_DAY, 0, 6, HOLD))
    moved = [each for each in search.moves.other_cuts(table) if each.cuts == (9, 23)]
    assert [each.rules[0].seasons for each in moved] == [2]  # by_hand: of 24 half months, from 1 to 23; now the second


def test_every_table_of_the_coordinates_differs_and_keeps_the_rest(search: Search) -> None:
    table = table_of(search, (2, 9), Rule(1, EVERY_DAY, 0, 6, HOLD), Rule(2, WORKDAYS, 14, 17, FILL))
    for tables in search.moves.coordinates(table):
        assert table not in tables
        assert len(set(tables)) == len(tables)
        assert all(len(each.rules) <= 2 for each in tables)


def test_pairs_change_a_level_and_one_end_of_the_hours_of_one_rule(search: Search) -> None:
    table = table_of(search, (), Rule(1, EVERY_DAY, 17, 20, FILL))
    (pairs,) = search.moves.pairs(table)
    changed = [each.rules[0] for each in pairs]
    assert all((rule.start == 17) != (rule.end == 20) and rule.changes != FILL for rule in changed)
    others = len(search.moves.values[CHARGE]) - 1
    assert len(set(changed)) == len(changed) == 12 * others  # by_hand: three hours to each side, of either end


def test_shorter_tables_are_without_a_rule_or_a_setting(search: Search) -> None:
    both = (*HOLD, *FILL)
    table = table_of(search, (), Rule(1, EVERY_DAY, 0, 6, both), Rule(1, WORKDAYS, 14, 17, FILL))
    assert table.lines == 3
    lines = [each.lines for each in shorter_tables(table)]
    assert lines == [1, 2, 2, 2]
