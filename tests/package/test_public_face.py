"""What ``import solarsim`` gives."""

import subprocess
import sys
from types import FunctionType

import pytest

import solarsim


def test_every_name_of_the_face_is_there_and_documented() -> None:
    for name in solarsim.__all__:
        each = getattr(solarsim, name)
        assert isinstance(each, FunctionType | type), name
        assert each.__doc__, name
    assert set(solarsim.__all__) <= set(dir(solarsim))


def test_other_names_are_not() -> None:
    with pytest.raises(AttributeError, match="module 'solarsim' has no attribute 'simulat'"):
        _ = solarsim.simulat


def test_five_lines_in_a_notebook() -> None:
    scenario = solarsim.read_scenario()
    home = solarsim.home_from(scenario)
    comparison = solarsim.compare(scenario, home)
    assert comparison.table().loc["zero export", "export_kwh"] == 0.0
    assert comparison.runs[0].hourly().shape == (8760, 24)
    assert solarsim.savings(scenario, home=home).table().shape == (5, 11)


@pytest.mark.parametrize(
    "words", ["import solarsim", "import solarsim.cli.app", "from solarsim import read_scenario as r; r()"]
)
def test_slow_libraries_are_not_loaded_before_they_are_needed(words: str) -> None:
    code = f"{words}; import sys; print([m for m in ('pvlib', 'matplotlib', 'numba') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_help_loads_no_slow_library() -> None:
    code = (
        "import sys, os, atexit, solarsim.cli.app as c; os._exit = lambda n: None; sys.argv = ['solarsim', '--help'];"
        " c.main(); print([m for m in ('pvlib', 'pandas', 'matplotlib', 'numba', 'rich') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip().splitlines()[-1] == "[]"
