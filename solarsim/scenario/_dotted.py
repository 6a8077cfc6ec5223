"""Dotted keys: the text of a key in; its steps out, and the text again."""

import json
import re
import tomllib
from typing import NamedTuple

from solarsim.errors import place_of_ordinal

_STEP = re.compile(r"""\s*(?:("(?:[^"\\]|\\.)*")|'([^']*)'|([^\s."'=]+))\s*(\.|$)""")
PAIR = re.compile(r"""((?:"(?:[^"\\]|\\.)*"|'[^']*'|[^"'=])*)=(.*)""", re.DOTALL)


class RefusedError(Exception):
    """A path that leads nowhere."""


class Step(NamedTuple):
    """One part of a key, from one dot to the next."""

    text: str
    quoted: bool


def steps_of(path: str) -> list[Step]:
    """Return the steps of a key; a ``RefusedError`` where it is none."""
    steps, at = [], 0
    while True:
        found = _STEP.match(path, at)
        if found is None:
            raise RefusedError(
                'is not a key; keys are joined by dots, and a name with a space or a dot is written in quotes: "a b"'
            )
        quoted, literal, bare, dot = found.groups()
        text = tomllib.loads(f"text = {quoted}")["text"] if quoted is not None else literal if bare is None else bare
        steps.append(Step(str(text), bare is None))
        if not dot:
            return steps
        at = found.end()


def index_of(step: Step) -> int | None:
    """Return the index that a step is: a number counts from 0, ``1st`` is the first."""
    if step.quoted:
        return None
    return int(step.text) if step.text.isdecimal() else place_of_ordinal(step.text)


def text_of(steps: list[Step]) -> str:
    """Return the key of some steps."""
    return ".".join(json.dumps(step.text, ensure_ascii=False) if step.quoted else step.text for step in steps)
