"""Progress: a line with the time left, on a terminal and in a notebook; nothing elsewhere."""

import contextlib
import os
import pty
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import solarsim
from solarsim.views.progress import Progress, duration


def lines_of(*calls: tuple[float, int, int]) -> list[str]:
    """Return what is shown for calls: time in seconds, how many are done, of how many."""
    shown: list[str] = []
    times = iter(time_s for time_s, _, _ in calls)
    told = Progress(shown.append, "homes", lambda: next(times))
    for _, done, of in calls:
        told(done, of)
    return shown


@pytest.mark.by_hand
def test_time_left_is_at_the_speed_since_the_first_call() -> None:
    """2,000 more in 10 s are 200 a second; 7,000 are left: 35 s. Those of an earlier run count for nothing."""
    assert lines_of((0.0, 1000, 10_000), (10.0, 3000, 10_000)) == [
        "homes: 1,000 of 10,000",
        "homes: 3,000 of 10,000, 200.0 a second, 35 s left",
    ]


def test_other_work_begins_anew() -> None:
    """``size`` counts designs, then lifetimes."""
    shown = lines_of((0.0, 10, 100), (1.0, 100, 100), (900.0, 5, 50), (902.0, 10, 50), (910.0, 1, 50), (911.0, 2, 50))
    assert shown[2:] == [
        "homes: 5 of 50",
        "homes: 10 of 50, 2.5 a second, 16 s left",
        "homes: 1 of 50",
        "homes: 2 of 50, 1.0 a second, 48 s left",
    ]


def test_no_speed_before_it_can_be_known() -> None:
    assert lines_of((5.0, 0, 3), (5.9, 1, 3), (9.0, 1, 3))[1:] == [
        "homes: 1 of 3",
        "homes: 1 of 3, 0.2 a second, 8 s left",
    ]


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(0.4, "0 s"), (119.0, "119 s"), (120.0, "2.0 min"), (9000.0, "2.5 h"), (200_000.0, "2.3 days")],
)
def test_duration(seconds: float, text: str) -> None:
    assert duration(seconds) == text


def test_nothing_is_written_where_nobody_looks(capfd: pytest.CaptureFixture[str]) -> None:
    with solarsim.progress("lifetimes") as told:
        told(1, 10)
        told.say("other words")
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("study", [solarsim.size, solarsim.risk, solarsim.tune, solarsim.fleet])
def test_long_studies_take_it(study: Callable[..., object]) -> None:
    import inspect

    assert "progress" in inspect.signature(study).parameters


SCRIPT = """
import solarsim
with solarsim.progress("counting \\x1b[31m") as told:
    for done in range(4):
        told(done, 3)
"""


def test_a_script_shows_it_on_a_terminal() -> None:
    ours, theirs = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-c", SCRIPT], stdout=subprocess.PIPE, stderr=theirs, env={**os.environ, "TERM": "xterm"}
    ) as script:
        assert script.communicate(timeout=60)[0] == b""
    os.close(theirs)
    told = b""
    with contextlib.suppress(OSError):
        while part := os.read(ours, 4096):
            told += part
    os.close(ours)
    assert script.returncode == 0
    assert b"counting" in told
    assert b"\x1b[31m" not in told


NOTEBOOK = """
import time, solarsim
with solarsim.progress("counting") as told:
    for done in range(4):
        time.sleep(0.6)
        told(done, 3)
"""
FAILS = NOTEBOOK + "        assert done < 2\n"
#: Keeps what the notebook is asked to show in the place of its line.
LISTENS = """
from IPython.display import DisplayHandle
seen, update = [], DisplayHandle.update
def kept(handle, bundle, **options):
    seen.append(bundle["text/plain"])
    update(handle, bundle, **options)
DisplayHandle.update = kept
"""
SEEN = "DisplayHandle.update = update; print(*seen, sep='\\n')"
TABLE = "import solarsim; solarsim.modules('cs6k 300ms')"
PICTURE = "import solarsim; solarsim.figure(solarsim.load_year(solarsim.read_scenario()))"


@pytest.mark.slow
@pytest.mark.second_opinion
def test_a_notebook_shows_progress_tables_and_pictures(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a kernel of Jupyter itself, whose own files go with the test."""
    import nbclient
    import nbformat

    for name in ("IPYTHONDIR", "JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR"):
        monkeypatch.setenv(name, str(tmp_path / name.lower()))

    cells = [nbformat.v4.new_code_cell(text) for text in (LISTENS, NOTEBOOK, SEEN, FAILS, TABLE, PICTURE)]
    book = nbformat.v4.new_notebook(cells=cells)
    nbclient.NotebookClient(book, timeout=120, kernel_name="python3", allow_errors=True).execute()
    _, done, seen, failed, table, picture = (cell.outputs for cell in book.cells)
    assert [output.output_type for output in done] == ["display_data"]  # one line, replaced
    lines = seen[0].text.splitlines()
    assert lines[0] == "counting: 0 of 3 ..."
    assert re.fullmatch(r"counting: 2 of 3, \d\.\d a second, \d+ s left \.\.\.", lines[2])
    assert re.fullmatch(r"counting: done after \d+ s", lines[-1])
    assert done[0].data["text/plain"] == lines[-1]
    assert failed[0].data["text/plain"].startswith("counting: stopped after ")
    assert failed[1].ename == "AssertionError"
    assert "<table>" in table[0].data["text/html"]
    assert len(picture[0].data["image/png"]) > 10_000
