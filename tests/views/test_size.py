"""The page of ``size``: the next step stands before the designs."""

import pytest

from solarsim.cli.terminal import show
from solarsim.home import Home
from solarsim.studies.size.size import size
from solarsim.views.size import page
from tests.studies.lives import other_life


def test_next_step_stands_before_the_designs(demo_home: Home, capsys: pytest.CaptureFixture[str]) -> None:
    scenario, home = other_life(demo_home)
    show(*page(size(scenario, {"battery.bank.0.strings": [1, 2]}, home)))
    shown = capsys.readouterr().out
    assert shown.index("The next step:") < shown.index("south roof: one more module") < shown.index("Designs:")
    assert "2 combinations, 2 possible." in shown
    assert "Best: battery.bank.0.strings = 1." in " ".join(shown.split())
