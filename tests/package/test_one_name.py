"""Whoever knows a command knows where to look: it has the same name on every floor and in the tests."""

from pathlib import Path

import pytest

import solarsim
from solarsim.cli.app import app

PACKAGE, TESTS = Path(solarsim.__file__).parent, Path(__file__).parent.parent
COMMANDS = sorted(each.callback.__name__ for each in app.registered_commands if each.callback)
#: These show no result of a study.
NO_STUDY = {"new", "guide"}
#: The names of these two are folders of the package.
STUDY = {"weather": "weather_year", "load": "load_year"}


def there(folder: Path, name: str) -> bool:
    """Return whether a folder has a file or a folder of this name."""
    return (folder / f"{name}.py").is_file() or (folder / name).is_dir()


@pytest.mark.parametrize("command", COMMANDS)
def test_command_has_a_file_of_its_name(command: str) -> None:
    assert there(PACKAGE / "cli", command)
    assert any(there(TESTS / "cli", f"test_{each}") for each in (command, "app"))


@pytest.mark.parametrize("command", sorted(set(COMMANDS) - NO_STUDY))
def test_study_and_view_have_its_name_and_are_public(command: str) -> None:
    assert there(PACKAGE / "studies", command)
    assert there(PACKAGE / "views", command)
    assert there(TESTS / "views", f"test_{command}")
    assert there(TESTS / "studies", f"test_{command}") or there(TESTS / "studies", command)
    assert STUDY.get(command, command) in solarsim.__all__


def test_the_command_line_has_no_other_files() -> None:
    files = {path.stem for path in (PACKAGE / "cli").glob("*.py")}
    assert files == {*COMMANDS, "__init__", "app", "terminal"}
