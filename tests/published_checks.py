"""Write the guide's page of published values from the tests that check them: ``python -m tests.published_checks``.

Each test marked ``published`` names its source in its docstring, or its module's. Every comparison in it that passed is
a row: what was expected, within which tolerance, and what solarsim gave.
"""

import ast
import re
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

import pytest

TESTS = Path(__file__).parent
PAGE = TESTS.parent / "solarsim" / "guide" / "published-checks.md"
_COMMAND = "python -m tests.published_checks"
_MOST_ROWS = 3  # of one test
_MOST_CHARACTERS = 110  # of a source or a value
_EQUAL = re.compile(r"^(?P<got>.+?) == (?P<expected>.+)$", re.DOTALL)
_HEAD = """# Checks against published values

Checked on {today}: {count} tests compare solarsim with values that are printed in standards, handbooks and open data.
Each row names the check, its source, the expected value (± the tolerance), and the value that solarsim computes. Of a
check with many values the first {most} are shown. A check without values compares whole tables or texts.
`python -m pytest -m published` runs them all.

A "secondary copy" is a source that quotes another one; "from memory" was not compared with a copy. Agreement with
published values shows that the formulas are right, not that the inputs of a home are: see page `speed-and-accuracy`."""


class Check(NamedTuple):
    """A test function that is marked ``published``."""

    file: str
    name: str
    source: str

    @property
    def words(self) -> str:
        """What it checks, from its name."""
        return self.name.removeprefix("test_").replace("_", " ").replace(" s ", "'s ")


class Compared(NamedTuple):
    """A comparison that passed."""

    file: str
    name: str
    expected: str
    got: str


def published_checks() -> list[Check]:
    """Return the tests that are marked ``published``, by file and line, with the source that each names."""
    return [check for path in sorted(TESTS.rglob("test_*.py")) for check in _checks_of(path)]


def _checks_of(path: Path) -> Iterator[Check]:
    """Yield the published tests of a file."""
    text = path.read_text(encoding="utf-8")
    if "published" not in text:
        return
    tree = ast.parse(text)
    marks = [
        each for each in tree.body if isinstance(each, ast.Assign) and "pytestmark" in ast.unparse(each.targets[0])
    ]
    all_of_them = any("published" in ast.unparse(each) for each in marks)
    for each in tree.body:
        if not isinstance(each, ast.FunctionDef) or not each.name.startswith("test_"):
            continue
        if all_of_them or any("published" in ast.unparse(mark) for mark in each.decorator_list):
            told = ast.get_docstring(each) or ast.get_docstring(tree) or ""
            yield Check(str(path.relative_to(TESTS)), each.name, " ".join(told.split("\n\n")[0].split()))


class Recorder:
    """A pytest plugin: keeps what each comparison of a test expected and got."""

    def __init__(self) -> None:
        self.compared: list[Compared] = []

    def pytest_assertion_pass(self, item: pytest.Item, expl: str) -> None:
        """Keep a comparison of equality."""
        found = _EQUAL.match(expl.split("\n", maxsplit=1)[0])  # what follows says how the values were made
        if found is not None:
            file = str(Path(item.path).relative_to(TESTS))
            name = getattr(item, "originalname", item.name)
            self.compared.append(Compared(file, name, _short(found["expected"]), _short(found["got"])))


def _short(text: str) -> str:
    """Return a value in one line, its numbers without the digits that no source prints."""
    text = re.sub(r"np\.(?:float64|int64|True_|False_)\(?([^()]*)\)?", r"\1", text)
    text = re.sub(r"\d+\.\d{7,}", lambda number: f"{float(number[0]):.7g}", " ".join(text.split()))
    text = text.replace("|", "/")
    return text if len(text) <= _MOST_CHARACTERS else f"{text[: _MOST_CHARACTERS - 3]}..."


def page_text(checks: list[Check], compared: list[Compared], today: str) -> str:
    """Return the page."""
    rows = [line for file in dict.fromkeys(check.file for check in checks) for line in _section(file, checks, compared)]
    return "\n".join([_HEAD.format(today=today, count=len(checks), most=_MOST_ROWS), *rows, ""])


def _section(file: str, checks: list[Check], compared: list[Compared]) -> Iterator[str]:
    """Yield the lines of one file's checks."""
    yield ""
    yield f"## {Path(file).stem.removeprefix('test_').replace('_', ' ').capitalize()}"
    yield ""
    yield "| check | source | expected | solarsim |"
    yield "| --- | --- | --- | --- |"
    for check in (each for each in checks if each.file == file):
        rows = list(dict.fromkeys(each for each in compared if (each.file, each.name) == (check.file, check.name)))
        source = check.source.replace("|", "/")
        if not rows:
            yield f"| {check.words} | {source} | | |"
        for number, row in enumerate(rows[:_MOST_ROWS]):
            left = f"{check.words} | {source}" if number == 0 else " | "
            yield f"| {left} | {row.expected} | {row.got} |"


def main() -> int:
    """Run the published tests and write the page; the exit code is that of the tests."""
    recorder = Recorder()
    words = "-m=published -n 0 -vv -p no:cacheprovider -o enable_assertion_pass_hook=true"
    code = pytest.main([*words.split(), str(TESTS)], plugins=[recorder])
    if code == pytest.ExitCode.OK:
        today = datetime.now(UTC).date().isoformat()
        PAGE.write_text(page_text(published_checks(), recorder.compared, today), encoding="utf-8")
    return int(code)


if __name__ == "__main__":
    sys.exit(main())
