"""A home and a run of it."""

from dataclasses import replace

import pytest

from solarsim.home import Home
from solarsim.ledger.flows import balance_error_kw
from solarsim.run import simulate, without_battery
from solarsim.studies.compare.compare import Comparison
from tests.builders import scenario
from tests.homes_without_grid import HYBRID, event


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


def test_battery_serves_what_is_backed_up_and_stops_at_its_floor_in_an_outage() -> None:
    """By hand: 30% of the load and 40 W of standby are backed up; 72 h in February empty the battery."""
    home = scenario(
        load__critical_share=0.3,
        arrangement={**HYBRID, "backed_up": "critical"},
        outages={"events": [event("2026-02-03T18:00:00", 72)]},
        strategies__0__reserve=0.5,
        strategies__0__load_served="backed_up",
        strategies__0__off_grid_floor=0.25,
    )
    flows = simulate(home, "home first").flows
    backed_kw = 0.3 * flows["load_kw"] + 0.04
    assert (flows["battery_to_load_kw"] <= backed_kw + 1e-9).all()
    on_grid = flows.on_grid
    assert (flows["battery_to_load_kw"] > 0.9 * backed_kw)[on_grid].any()
    assert flows["soc"][~on_grid].min() == pytest.approx(0.25, abs=0.001)  # self-discharge goes on below it
    assert set(flows["discharge_floor"][~on_grid]) == {0.25}
    assert balance_error_kw(flows) < 1e-9
