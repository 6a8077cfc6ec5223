"""One word for each thing, on every screen: terms that are not used do not come back."""

import re
from pathlib import Path
from typing import Any

import pytest
from typer.main import get_command

from solarsim.cli.app import app
from solarsim.scenario.read import packaged_folder

#: Words that a reader of the trade would have to guess at, or that have a better one here.
AVOIDED = re.compile(
    r"\b(tariffs?|upkeep|changeover|dear(er|est)?|bought|sold|nobody|unused|books|litres?|earthing|mains|ageing|takes|gives"
    r"|stands|lasts|from sun|ride(s|-)? ?through|ridden through|hard minimum|own use|self-use|levelised)\b",
    re.IGNORECASE,
)
COMMANDS: dict[str, Any] = get_command(app).commands  # type: ignore[attr-defined]
OPTIONS = {
    "compare": ["--months"],
    "offers": ["--variant", "battery=none"], "risk": ["--lifetimes", "20"], "modules": ["canadian", "cs6k", "300"],
    "flows": ["--strategy", "serve the home first"], "fleet": ["--workers", "1"],
    "report": ["--out", "-", "--without", "household", "--without", "installer", "--without", "bank"],
}  # fmt: skip
NO_PAGE = {"new", "guide"}
LONG = {"tune", "size", "fleet"}


def avoided(text: str) -> set[str]:
    """Return the words to avoid that stand in a text; names of the user's own are in quotes."""
    plain = re.sub(r"'[^'\n]*'", "", text)
    return {found[0].lower() for found in AVOIDED.finditer(plain)}


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_help_has_the_words_of_the_trade(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    app([command, "--help"], standalone_mode=False)
    assert avoided(capsys.readouterr().out) == set()


@pytest.mark.parametrize(
    "command",
    [
        pytest.param(name, marks=pytest.mark.slow if name in LONG else [])
        for name in sorted(COMMANDS)
        if name not in NO_PAGE
    ],
)
def test_screen_has_the_words_of_the_trade(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    scenario = "storm_coast" if command == "outages" else "greensboro"
    path = [] if command in ("modules", "fleet") else [str(packaged_folder("scenarios") / f"{scenario}.toml")]
    app([command, *path, *OPTIONS.get(command, [])], standalone_mode=False)
    shown = capsys.readouterr()
    assert shown.out
    assert avoided(shown.out + shown.err) == set()


@pytest.mark.parametrize("path", sorted(packaged_folder("scenarios").rglob("*.toml")), ids=lambda path: path.stem)
def test_comments_of_a_scenario_have_the_words_of_the_trade(path: Path) -> None:
    assert avoided("\n".join(re.findall(r"#.*", path.read_text()))) == set()
