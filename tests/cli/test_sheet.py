"""``solarsim sheet`` as its user runs it."""

import json
from pathlib import Path

import pytest

from solarsim.cli.app import app
from solarsim.errors import InputError


def test_out_writes_the_page_and_dash_prints_it_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "sheet.txt"
    app(["sheet", "--strategy", "zero export", "--out", str(file)], standalone_mode=False)
    assert f"Written: {file}" in capsys.readouterr().out
    app(["sheet", "--strategy", "zero export", "--out", "-"], standalone_mode=False)
    assert capsys.readouterr().out == file.read_text()


def test_json_has_the_slots(capsys: pytest.CaptureFixture[str]) -> None:
    app(["sheet", "--strategy", "storm season reserve", "--json"], standalone_mode=False)
    found = json.loads(capsys.readouterr().out)
    assert found["strategy"] == "storm season reserve"
    assert found["seasons"][1]["slots"][0] == {
        "start": "00:00", "end": "24:00", "days": "every day", "is_base": False,
        "sentence": "All day every day: keep at least 60%.",
    }  # fmt: skip
    assert found["misfits"] is None


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--strategy", "winter nite charge"], "winter nite charge"),
        (["--json", "--out", "-"], "both print to standard output"),
        (["--plot", "week.gif"], r"ends with \.png"),
        (["--set", "inverter.programmable.slots=6"], r"inverter\.programmable\.fill_day: is missing"),
    ],
    ids=str,
)
def test_wrong_words_are_refused(words: list[str], told: str) -> None:
    with pytest.raises(InputError, match=told):
        app(["sheet", *words], standalone_mode=False)
