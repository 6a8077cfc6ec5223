"""The words of the questions of ``new``: the section of each in the guide in; what a terminal shows out."""

import re
import shlex
import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from solarsim.views.guide import guide_pages

PAGE = "new"
_SECTION = re.compile(r"^## `([\w]+)`: (.+)\n\n((?:(?!^## ).*\n?)*)", re.MULTILINE)
_EXAMPLES = re.compile(r"```text\n(.*?)```\n*", re.DOTALL)


@dataclass(frozen=True)
class Wording:
    """What the guide says of one question.

    Attributes
    ----------
    title : str
        What is asked, in a few words.
    reason : str
        What to answer, and why the offered answer is offered.
    examples : tuple of str
        Answers that are valid.
    more : str
        The help for "?".
    """

    title: str
    reason: str
    examples: tuple[str, ...]
    more: str


@cache
def wordings() -> dict[str, Wording]:
    """Return what the guide says of each question, by its name.

    Returns
    -------
    dict of str to Wording
        In the order of the guide.
    """
    return {name: _wording(title, body) for name, title, body in _SECTION.findall(guide_pages()[PAGE])}


def _wording(title: str, body: str) -> Wording:
    reason, _, rest = body.partition("\n\n")
    examples = _EXAMPLES.search(rest)
    listed = () if examples is None else tuple(examples[1].splitlines())
    return Wording(title, _plain(reason), listed, _EXAMPLES.sub("", rest).strip())


def _plain(text: str) -> str:
    return " ".join(text.replace("`", '"').split())


def question_text(name: str, number: int, count: int, width: int) -> str:
    """Return what is shown above a prompt.

    Parameters
    ----------
    name : str
        The question.
    number, count : int
        Which it is, and how many there are.
    width : int
        Columns of the terminal.

    Returns
    -------
    str
        Its title, what to answer and why, and examples.
    """
    words = wordings()[name]
    lines = [f"{number} of {count}: {words.title}", wrapped(words.reason, width)]
    for place, each in enumerate(words.examples):
        lines.append(_filled(each, width, "  for example  " if place == 0 else " " * 15, " " * 17))
    return "\n".join(lines)


def help_text(name: str, width: int) -> str:
    """Return what "?" shows.

    Parameters
    ----------
    name : str
        The question.
    width : int
        Columns of the terminal.

    Returns
    -------
    str
        The rest of its section in the guide, and where the guide has it.
    """
    paragraphs = [_plain(each) for each in wordings()[name].more.split("\n\n") if each.strip()]
    paragraphs.append(f'"back" returns to the previous question. In the guide: solarsim guide {PAGE}')
    return "\n".join(wrapped(each, width) for each in paragraphs)


def wrapped(text: str, width: int, indent: str = "  ") -> str:
    """Return a paragraph for the terminal; by default indented below the title of a question.

    Parameters
    ----------
    text : str
        One paragraph.
    width : int
        Columns of the terminal.
    indent : str
        Before each line.

    Returns
    -------
    str
        Its lines.
    """
    return _filled(text, width, indent, indent)


def _filled(text: str, width: int, first: str, others: str) -> str:
    most = max(40, min(width, 100)) - 1
    return textwrap.fill(text, most, initial_indent=first, subsequent_indent=others, break_on_hyphens=False)


def as_options(answers: Mapping[str, str], file: Path) -> str:
    """Return the command with the same answers as options.

    Parameters
    ----------
    answers : mapping of str to str
        By question.
    file : pathlib.Path
        The scenario.

    Returns
    -------
    str
        One line for a shell.

    Examples
    --------
    >>> as_options({"at": "36.1, -79.95", "kwh": "9400"}, Path("my home.toml"))
    "solarsim new 'my home.toml' --at '36.1, -79.95' --kwh 9400"
    """
    words = [word for name, answer in answers.items() for word in (f"--{name}", answer)]
    return shlex.join(["solarsim", "new", str(file), *words])


def closing_text(answers: Mapping[str, str], file: Path) -> str:
    """Return what to do next: what is assumed, and what the commands about money need.

    Parameters
    ----------
    answers : mapping of str to str
        By question.
    file : pathlib.Path
        The scenario.

    Returns
    -------
    str
        One paragraph.

    Examples
    --------
    >>> closing_text({"offer": "18500"}, Path("home.toml")).split(",")[0]
    "Next: 'solarsim life home.toml'"
    """
    name = shlex.quote(str(file))
    check = f"'solarsim check {name}' lists what is assumed, and what each command still needs."
    if answers.get("offer", "none") == "none":
        return (
            "Without a price of the system, savings, life, offers, risk and size do not run: answer the question"
            " \"offer\" (--offer '18500 with battery 7000'), or write the tables [costs] and [life] (solarsim guide"
            f" costs, solarsim guide life-and-risk). {check}"
        )
    return f"Next: 'solarsim life {name}', after you have replaced what is assumed in [life]. {check}"


def answers_text(answers: Mapping[str, str], given: Sequence[str]) -> str:
    """Return all answers as they were understood, and which of them were not given.

    Parameters
    ----------
    answers : mapping of str to str
        By question.
    given : sequence of str
        Names of those that the user gave.

    Returns
    -------
    str
        One line for each.
    """
    width = max(map(len, answers))
    rows = [f"  {name:<{width}}  {words}{'' if name in given else '   (default)'}" for name, words in answers.items()]
    return "\n".join(["Answers:", *rows])
