"""How the package is laid out: short files, one version, nothing left behind by tools."""

import re
import subprocess
import tomllib
from pathlib import Path

import pytest

import solarsim

PACKAGE = Path(solarsim.__file__).parent
TOP = Path(__file__).parent.parent.parent
#: Every compiled caller of ``step`` is in its file: numba's cache watches a function's own file only.
LONG = {"engine/step.py"}
MOST_LINES = 350


def test_no_file_is_longer_than_one_subject() -> None:
    lines = {path.relative_to(PACKAGE).as_posix(): len(path.read_text().splitlines()) for path in PACKAGE.rglob("*.py")}
    assert {name for name, count in lines.items() if count > MOST_LINES} <= LONG


def test_version_is_written_once() -> None:
    project = tomllib.loads((TOP / "pyproject.toml").read_text())
    assert "version" not in project["project"]
    assert project["tool"]["hatch"]["version"]["path"] == "solarsim/__init__.py"
    assert (PACKAGE / "py.typed").is_file()


def test_nothing_that_a_tool_leaves_behind_is_committed() -> None:
    if not (TOP / ".git").exists():
        pytest.skip("not a checkout")
    command = ["git", "ls-files"]
    listed = subprocess.run(command, capture_output=True, text=True, check=True, cwd=TOP).stdout.split()
    left = [name for name in listed if "cache" in name or ".coverage" in name or name.startswith(("dist/", "build/"))]
    assert left == []


def test_files_and_folders_that_the_documents_name_exist() -> None:
    for document in ("README.md", "DEVELOPERS.md"):
        named = re.findall(r"`([\w/.]+(?:\.py|/))`", (TOP / document).read_text())
        assert named
        missing = [name for name in named if not any((folder / name).exists() for folder in (TOP, PACKAGE))]
        assert missing == [], document
