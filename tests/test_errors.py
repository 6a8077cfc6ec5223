"""The exception tree and its suggestions."""

import pytest

from solarsim import errors
from solarsim.errors import ordinal, place_of_ordinal


def test_tree_at_the_top_of_the_file_is_the_tree_of_the_classes() -> None:
    drawn = {word for line in (errors.__doc__ or "").splitlines() for word in line.split() if word.endswith("Error")}
    classes = {name for name, each in vars(errors).items() if isinstance(each, type) and issubclass(each, Exception)}
    assert drawn == classes


def test_nearest_name_or_all_names() -> None:
    assert errors.nearest("Reserv", ["reserve", "surplus"]) == "; did you mean 'reserve'?"
    assert errors.nearest("xyz", ["reserve", "surplus"]) == "; allowed: reserve, surplus"


@pytest.mark.by_hand
def test_ordinals_are_those_of_english_and_read_back() -> None:
    ends = {
        1: "1st",
        2: "2nd",
        3: "3rd",
        4: "4th",
        11: "11th",
        12: "12th",
        13: "13th",
        21: "21st",
        112: "112th",
        122: "122nd",
    }
    assert {number: ordinal(number) for number in ends} == ends
    assert all(place_of_ordinal(text) == number - 1 for number, text in ends.items())
    assert [place_of_ordinal(text) for text in ("0th", "1nd", "first", "1", "")] == [None] * 5
