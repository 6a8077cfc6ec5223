"""A packaged home in a folder of one's own: its files come along, and it is the same home."""

from pathlib import Path

import pytest

from solarsim.errors import ScenarioError
from solarsim.scenario.copies import copy_of, example_named, with_copies
from solarsim.scenario.read import packaged_folder, read_scenario

EXAMPLES = [
    each.stem if each.stem in ("greensboro", "sand_point") else pytest.param(each.stem, marks=pytest.mark.slow)
    for each in sorted(packaged_folder("scenarios").glob("*.toml"))
]


@pytest.mark.parametrize("name", EXAMPLES)
def test_copy_is_the_same_home_with_its_comments(name: str, tmp_path: Path) -> None:
    for path, content in copy_of(example_named(name), tmp_path / "mine.toml").items():
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content)
    home, copy = example_named(name), read_scenario(tmp_path / "mine.toml")
    changed = ("weather", "plans")  # their paths
    assert {k: v for k, v in copy.tables.items() if k not in changed} == {
        k: v for k, v in home.tables.items() if k not in changed
    }
    assert [each.name for each in copy.other_rate_plans()] == [each.name for each in home.other_rate_plans()]
    assert all(copy.file(file).is_relative_to(tmp_path) for file in copy.weather.files)
    text = (packaged_folder("scenarios") / f"{name}.toml").read_text()
    lines = (tmp_path / "mine.toml").read_text().splitlines()
    assert lines[0] == "#:schema ./solarsim.schema.json"
    comments = [line for line in text.splitlines() if line.startswith("#")]
    assert [line for line in lines if line.startswith("#")][1:] == comments


def test_files_elsewhere_are_named_where_they_are(tmp_path: Path) -> None:
    inner, outer = tmp_path / "packaged", tmp_path / "own"
    for folder in (inner, outer):
        (folder / "data").mkdir(parents=True)
        (folder / "data" / "a.csv").write_text(folder.name)
    tables = {"weather": {"file": "packaged/data/a.csv", "other_files": [str(outer / "data" / "a.csv")]}, "x": 1}
    found, files = with_copies(tables, tmp_path, tmp_path / "home", [inner])
    assert found == {"weather": {"file": "data/a.csv", "other_files": ["../own/data/a.csv"]}, "x": 1}
    assert files == {tmp_path / "home" / "data" / "a.csv": b"packaged"}


def test_unknown_example_is_refused_with_the_nearest() -> None:
    with pytest.raises(ScenarioError, match="--example mami: is no packaged home; did you mean 'miami'"):
        example_named("mami")
