"""All questions in their order: answers in, the tables of a scenario out, and back."""

import copy
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from solarsim.errors import ScenarioError
from solarsim.scenario.model import Scenario
from solarsim.scenario.questions._place import GET, NEAREST, PLACE
from solarsim.scenario.questions._prices import PRICES
from solarsim.scenario.questions._system import SYSTEM
from solarsim.scenario.questions._terms import TERMS, strategies_for
from solarsim.scenario.questions._use import USE
from solarsim.scenario.questions.question import Question, Setting, Tables
from solarsim.scenario.read import read_scenario

__all__ = [
    "GET",
    "NEAREST",
    "QUESTIONS",
    "Question",
    "Setting",
    "answers_from",
    "default_of",
    "home_from",
    "questions_for",
    "tables_from",
]

#: At most fifteen, in the order in which they are asked; some only after certain answers.
QUESTIONS: tuple[Question, ...] = (*PLACE, *SYSTEM, *USE, *PRICES, *TERMS)

#: What no question asks and a home needs; common practice, no source.
_ASSUMED: Tables = {
    "production": {"transposition": "perez_driesse"},
    "losses": {
        "array": {"soiling": 0.02},
        "module": {"light_induced": 0.015},
        "wiring": {"mismatch": 0.015, "cables": 0.02},
    },
}


def tables_from(answers: Mapping[str, str], setting: Setting) -> Tables:
    """Return the tables of a home; a question without an answer has its default.

    Parameters
    ----------
    answers : mapping of str to str
        The words of each answer, by the name of its question.
    setting : Setting
        The folder of files, the year, the weather that was found.

    Returns
    -------
    dict
        The raw tables of a scenario, not validated; paths in them are whole.

    Raises
    ------
    ScenarioError
        An answer cannot be read.
    """
    tables = _put_all(QUESTIONS, answers, setting)
    return {**tables, **copy.deepcopy(_ASSUMED), "strategies": strategies_for(tables)}


def home_from(answers: Mapping[str, str], setting: Setting) -> Scenario:
    """Return the home of some answers as a scenario, validated by the scenario's own rules.

    Parameters
    ----------
    answers : mapping of str to str
        As for ``tables_from``.
    setting : Setting
        As for ``tables_from``.

    Returns
    -------
    Scenario
        Validated; its weather is not read.

    Raises
    ------
    ScenarioError
        An answer cannot be read, or is outside what the scenario allows; one line for each problem.
    """
    return read_scenario(tables_from(answers, setting), folder=setting.folder)


def default_of(name: str, answers: Mapping[str, str], setting: Setting) -> str:
    """Return the answer that is offered to a question.

    Parameters
    ----------
    name : str
        The question.
    answers : mapping of str to str
        Those to the questions before it.
    setting : Setting
        As for ``tables_from``.

    Returns
    -------
    str
        Its words.
    """
    before = QUESTIONS[: _place(name)]
    return QUESTIONS[_place(name)].default(_put_all(before, answers, setting), setting)


def questions_for(answers: Mapping[str, str], setting: Setting) -> tuple[str, ...]:
    """Return the names of the questions that are asked, in their order, as far as the answers decide it.

    Parameters
    ----------
    answers : mapping of str to str
        Those that were given.
    setting : Setting
        As for ``tables_from``.

    Returns
    -------
    tuple of str
        Names.
    """
    tables: Tables = {}
    asked = []
    for question in QUESTIONS:
        if question.asked(tables):
            asked.append(question.name)
            question.put(answers.get(question.name) or question.default(tables, setting), tables, setting)
    return tuple(asked)


def answers_from(tables: Mapping[str, Any], folder: Path = Path()) -> dict[str, str | None]:
    """Return the answers that a home's tables hold.

    Parameters
    ----------
    tables : mapping
        Raw tables of a scenario.
    folder : pathlib.Path
        Where they are from: paths in answers are relative to it.

    Returns
    -------
    dict of str to (str or None)
        The words of each answer, by its question; None where the question cannot express what the tables hold.
        Questions that these tables leave open are left out.
    """
    found = {each.name: each.found(tables) for each in QUESTIONS if each.asked(tables)}
    whole = f"{folder.absolute()}{os.sep}"
    return {name: words if words is None else words.replace(whole, "") for name, words in found.items()}


def _place(name: str) -> int:
    return [question.name for question in QUESTIONS].index(name)


def _put_all(questions: tuple[Question, ...], answers: Mapping[str, str], setting: Setting) -> Tables:
    """Write the answers to some questions, or their defaults, into tables."""
    tables: Tables = {}
    for question in questions:
        if question.asked(tables):
            words = answers.get(question.name) or question.default(tables, setting)
            question.put(words, tables, setting)
        elif answers.get(question.name):
            raise ScenarioError(f"{question.name}: is not asked after the other answers; leave it out")
    return tables
