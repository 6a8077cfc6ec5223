"""The page and the figure of a fleet."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from solarsim.studies.fleet._sums import BASELINE, COLUMNS, LOWEST, FleetSums, Key, Total
from solarsim.studies.fleet.fleet import Failure, Fleet
from solarsim.studies.fleet.spread import SavingsSpread
from solarsim.studies.fleet.totals import in_order, sum_of
from solarsim.views.figure import figure
from solarsim.views.fleet import page
from solarsim.views.screen import Screen


def made_up(strategies: int = 2, groups: int = 2) -> Fleet:
    """Return a fleet of three homes whose import is highest in hour 100."""
    sums = FleetSums(2026)
    names = [Key("strategy", f"way {number}") for number in range(strategies)]
    for key in (BASELINE, *names, LOWEST):
        values = np.full((len(COLUMNS), 8760), 2**36)
        values[4, 100], values[5] = 5 * 2**36, 0 if key is BASELINE else 2**35
        sums.totals[key] = Total(3, 10 * 2**36, 2**36, values)
    savings = [
        SavingsSpread(name, group, "USD", 3, 1, 120.0, None, 90.0, 100.0, 140.0, 150.0)
        for group in (None, *(f"street {number}" for number in range(groups)))
        for name in ("", *(key.name for key in names))
    ]
    return Fleet(
        path=Path("rows.parquet"),
        sums=sums,
        homes=1003,
        failed=1000,
        year=2026,
        step_minutes=60,
        strategies=tuple(sum_of(sums, key) for key in in_order(sums)),
        group_by="street",
        savings=tuple(savings),
        failures=(Failure("gone.toml: cannot be read", 999),),
        digest="ab" * 32,
        notes=(),
    )


def shown(result: Fleet, capsys: pytest.CaptureFixture[str]) -> str:
    Screen().show(*page(result))
    return capsys.readouterr().out


def test_page_tells_sums_peaks_savings_and_failures(capsys: pytest.CaptureFixture[str]) -> None:
    text = shown(made_up(), capsys)
    joined = " ".join(text.split())
    assert text.startswith("3 homes, 2026\n")
    assert (
        "Not run: 1,000 of 1,003 homes, see column 'error' of the rows: gone.toml: cannot be read (999 homes);"
        in joined
    )
    assert "other reasons (1 home)." in joined
    lines = [line.split() for line in text.splitlines()]
    assert ["no", "system", "5.0", "Jan", "05", "04:00", "0.50"] in lines
    assert ["way", "1", "5.0", "Jan", "05", "04:00", "0.50", "0.5", "Jan", "01", "00:00", "0.50"] in lines
    assert ["way", "0", "3", "120", "-", "90", "100", "140", "150"] in lines
    assert ["street", "1", "3", "120", "-", "90", "100", "140", "150"] in lines
    assert "Not comparable, because too much demand is unserved: 2 rows." in joined
    assert max(map(len, text.splitlines())) <= 100


def test_many_groups_are_cut_and_counted(capsys: pytest.CaptureFixture[str]) -> None:
    text = shown(made_up(groups=25), capsys)
    assert "5 more values of street: see --json." in text


def test_finer_steps_are_named(capsys: pytest.CaptureFixture[str]) -> None:
    assert "in a 15-minute step." in " ".join(shown(replace(made_up(), step_minutes=15), capsys).split())


def test_figure_draws_the_peak_the_duration_curve_and_savings() -> None:
    drawn = figure(made_up(strategies=9))
    around, duration, savings = drawn.axes
    assert around.get_title() == "around the highest import of 'each home's best': Jan 05 04:00 UTC"
    legend = around.get_legend()
    assert legend is not None
    names = [text.get_text() for text in legend.get_texts()]
    assert (names[0], names[-1], len(names)) == ("no system", "each home's best", 7)
    assert (np.diff(np.asarray(duration.get_lines()[0].get_ydata(), np.float64)) <= 0.0).all()
    labels = [label.get_text() for label in savings.get_yticklabels()]
    assert labels[0] == "each home's best"
    assert labels[-1] == "street street 1"
    assert "P90 to P10" in savings.get_xlabel()
