"""The page of ``size``: the next step stands before the designs."""

from dataclasses import replace

import numpy as np
import pytest

from solarsim.cli.terminal import show
from solarsim.home import Home
from solarsim.studies.size.size import size
from solarsim.studies.size.stages import Stage
from solarsim.views.size import figure, page
from tests.studies.lives import other_life


def test_next_step_stands_before_the_designs(demo_home: Home, capsys: pytest.CaptureFixture[str]) -> None:
    scenario, home = other_life(demo_home)
    show(*page(size(scenario, {"battery.bank.0.strings": [1, 2]}, home)))
    shown = capsys.readouterr().out
    assert shown.index("The next step:") < shown.index("south roof: one more module") < shown.index("Designs:")
    assert "2 combinations, 2 possible." in shown
    assert "Highest NPV: battery.bank.0.strings = 1." in " ".join(shown.split())


def test_figure_shows_axes_frontier_and_gains(demo_home: Home) -> None:
    scenario, home = other_life(demo_home)
    found = size(scenario, {"battery.bank.0.strings": [1, 2], "inverter.standby_w": [50.0, 55.0]}, home)
    npv, frontier, bills, backup, battery, _ = figure(found).axes
    assert (bills.get_ylabel(), backup.get_ylabel()) == ("energy cost, USD/yr", "backup in the worst month, h")
    drawn = np.asarray(backup.lines[1].get_ydata()).tolist()
    assert drawn == [each.backup_duration_h for each in found.backup_frontier]
    assert drawn
    assert npv.get_xlabel() == "battery.bank.0.strings"
    assert frontier.get_xlabel() == "upfront cost, USD"
    assert {text.get_text() for text in npv.texts} == {"highest NPV", "as written"}
    assert battery.get_ylabel() == "USD per additional usable kWh"
    more = {"arrays.0.modules_in_series": 9, "inverter.ac_kw": 6.0}  # the home as written has another first value
    moved = tuple(replace(each, changes={**each.changes, **more}) for each in found.designs)
    written = replace(found.written, changes={**found.written.changes, **more, "arrays.0.modules_in_series": 10})
    axes = {**found.axes, **{key: (value,) for key, value in more.items()}}
    panel = figure(replace(found, axes=axes, designs=moved, best=moved[0], written=written)).axes[0]
    assert {text.get_text() for text in panel.texts} == {"highest NPV"}
    assert panel.get_title(loc="left") == "with arrays.0.modules_in_series = 9, inverter.ac_kw = 6.0 (not as written)"
    steps = figure(replace(found, axes={}, best=None)).axes
    assert len(steps) == 1
    assert "reductions" in steps[0].get_xlabel()


def test_growth_that_is_cut_off_says_so(demo_home: Home, capsys: pytest.CaptureFixture[str]) -> None:
    stage = Stage(1, 1, "roof: one more module", {"a": 1}, "s", 100.0, 10.0, 10.0, 5.0, 50.0, 1100.0)
    scenario, home = other_life(demo_home, years=1)
    found = size(scenario, None, home)
    for count, told in ((11, False), (12, True)):
        show(*page(replace(found, stages=(stage,) * count)))
        assert ("further steps may pay back" in capsys.readouterr().out) == told
