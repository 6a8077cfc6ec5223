"""A home and a run of it."""

from dataclasses import replace

import pytest

from solarsim.home import Home
from solarsim.run import without_battery
from solarsim.studies.compare.compare import Comparison
from tests.builders import scenario


def test_notes_tell_of_the_weather_and_of_years_that_did_not_close(
    demo_home: Home, demo_comparison: Comparison
) -> None:
    home = replace(demo_home, weather=replace(demo_home.weather, notes=("sky.epw: mended",)))
    run = demo_comparison.runs[0]
    assert home.notes(run) == ["sky.epw: mended"]
    assert home.notes(replace(run, ledger=replace(run.ledger, gap_kwh=-0.02)))[1:] == [
        f"{run.strategy!r}: the year ends -0.02 kWh off its start"
    ]


def test_solar_alone_keeps_to_the_utility_s_limit_and_has_no_battery() -> None:
    alone = without_battery(scenario(grid={"export_limit_kw": 1.0})).flows
    assert alone["export_kw"].max() == pytest.approx(1.0)
    assert alone["curtailed_kw"].max() > 0.5
    assert alone.capacity_kwh == 0.0
    assert alone["pv_to_battery_kw"].max() == 0.0


def test_what_a_notebook_shows_of_home_and_bill_is_one_line(demo_comparison: Comparison) -> None:
    home, bill = demo_comparison.home, demo_comparison.baseline.ledger.bill
    assert repr(home).startswith("Home('Greensboro family home', 8,760 steps, strategies serve the home first, ")
    assert repr(bill) == f"Bill({len(bill.lines)} lines, total 1786.30 USD)"
