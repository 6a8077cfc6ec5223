"""The words of the questions come from the guide, and fit a terminal."""

from pathlib import Path

import pytest

from solarsim.scenario.questions.answers import QUESTIONS, Setting, home_from
from solarsim.views.new import answers_text, help_text, question_text, wordings

NAMES = [question.name for question in QUESTIONS]


def test_every_question_has_its_section_in_the_guide_in_the_same_order() -> None:
    assert list(wordings()) == NAMES
    for name, words in wordings().items():
        assert words.title
        assert words.examples, name
        assert words.reason.endswith(".")


@pytest.mark.parametrize("width", [80, 100, 200])
@pytest.mark.parametrize("name", NAMES)
def test_lines_fit_a_terminal(name: str, width: int) -> None:
    for text in (question_text(name, 3, 15, width), help_text(name, width)):
        assert max(map(len, text.splitlines())) < min(width, 100)
    assert question_text(name, 3, 15, width).startswith("3 of 15: ")
    assert "solarsim guide new" in help_text(name, width)


#: Examples that name a file or fetch one.
WITH_FILES = {"nearest", "get", "my_station.epw", "interval_data.csv clock wall", "my_plan.toml"}


@pytest.mark.parametrize("name", NAMES)
def test_every_example_is_a_valid_answer(name: str) -> None:
    before = {"rates": "USD 0.3 16-21 weekdays; 0.1"} if name == "holidays" else {}
    for example in wordings()[name].examples:
        place = {"at": "33.87 S, 151.2 E"} if example.startswith("Australia") else {}
        if example not in WITH_FILES:
            home_from({**before, **place, name: example}, Setting(Path(), 2026))


def test_answers_say_which_were_not_given() -> None:
    assert answers_text({"at": "1, 2", "kwh": "9400"}, ["kwh"]).splitlines() == [
        "Answers:",
        "  at   1, 2   (default)",
        "  kwh  9400",
    ]
