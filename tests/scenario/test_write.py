"""Writing a scenario: the values are exactly those asked for, comments stay, paths lead to the same files."""

import os
from pathlib import Path

import pytest

from solarsim.scenario.read import packaged_folder, read_scenario

pytest.importorskip("tomlkit")  # a dependency: it is missing only where an older environment is used
from solarsim.scenario.write import scenario_text

EXAMPLES = sorted(packaged_folder("scenarios").glob("*.toml"))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_a_scenario_that_was_not_changed_is_written_as_it_is(path: Path) -> None:
    assert scenario_text(read_scenario(path), path.parent) == path.read_text()


def test_comments_stay_and_only_what_changed_differs() -> None:
    home = read_scenario().changed({"battery.bank.0.strings": 3, 'arrays."west roof".strings': 0})
    text = scenario_text(home, packaged_folder("scenarios"))
    assert "{ cells_in_series = 16, cell_ah = 280, cell_v = 3.2, strings = 3}" in text
    assert "# kept for outages" in text
    assert "west roof" not in text.split("[inverter]")[0]


@pytest.mark.parametrize("changes", [{"battery": None}, {"system": None}, {"arrays.*.tilt_deg": 20.0}])
def test_what_is_read_back_is_what_was_asked_for(changes: dict[str, object], tmp_path: Path) -> None:
    home = read_scenario().changed(changes)
    file = tmp_path / "below" / "home.toml"
    file.parent.mkdir()
    file.write_text(scenario_text(home, file.parent))
    again = read_scenario(file)
    paths = [each.file(each.tables["weather"]["file"]) for each in (home, again)]
    assert paths[0].resolve() == paths[1].resolve()
    mended = {"file": os.path.relpath(paths[0], file.parent)}
    tables = home.tables
    plans = {"files": [os.path.relpath(home.file(name), file.parent) for name in tables["plans"]["files"]]}
    assert again.tables == {**tables, "weather": {**tables["weather"], **mended}, "plans": plans}
    assert [each.name for each in again.other_rate_plans()] == [each.name for each in home.other_rate_plans()]
