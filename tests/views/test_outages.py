"""What is shown of outages."""

import json
from pathlib import Path

import numpy as np
import pytest
from rich.table import Table

from solarsim.studies.outages.outages import Outages, outages
from solarsim.views.figure import figure
from solarsim.views.json_text import to_json
from solarsim.views.outages import OUTAGE_CAUTION, page
from tests.builders import scenario
from tests.homes_without_grid import HYBRID, steady, storm, storm_home
from tests.views.test_tables import shown

LINES = [
    "reserve as set, generator",
    "no reserve, generator",
    "reserve as set, no generator",
    "no reserve, no generator",
]


@pytest.fixture(scope="module")
def found() -> Outages:
    """Study the storm coast."""
    return outages(storm(), years=200, home=storm_home())


@pytest.fixture(scope="module")
def tied() -> Outages:
    """Study a home that stops with the grid."""
    return outages(scenario(arrangement={"kind": "grid_tied"}))


def tables(result: Outages) -> list[Table]:
    return [part for part in page(result) if isinstance(part, Table)]


def words(result: Outages) -> str:
    return " ".join(part for part in page(result) if isinstance(part, str))


def test_tables_fit_80_columns_and_lose_no_number(found: Outages) -> None:
    for table in tables(found):
        assert max(map(len, shown(table, 200))) <= 80
        assert len(shown(table, 80)) == len(shown(table, 200)), "a row wraps"


def test_backup_duration_by_month_leads(found: Outages) -> None:
    months, _, covered, *_ = (shown(table, 80) for table in tables(found))
    assert "Median" in " ".join(months)
    rows = {line.split()[0]: line.split()[1:] for line in months if "%" in line}
    assert next(iter(rows)) == "Jan"
    assert list(rows)[-1] == "Year"
    assert rows["Mar"][0] == "72+"
    assert float(rows["Jan"][2]) == pytest.approx(found.months[0].shortest_backup_duration_h, abs=0.05)
    assert len([line for line in covered if " h " in line]) == len(found.outage_h)
    assert "no gen." in " ".join(covered)


def test_reserve_costs_add_up(found: Outages) -> None:
    rows = [line.split() for line in shown(tables(found)[3], 80) if "%" in line]
    assert [row[0] for row in rows] == [f"{tenth}0%" for tenth in range(1, 11)]
    assert rows[0][2] == "0"
    energy, reserve = (np.array([float(row[place].replace(",", "")) for row in rows]) for place in (1, 2))
    assert energy - reserve == pytest.approx(np.full(10, energy[0]), abs=1.0)
    unserved = [float(row[3]) for row in rows]
    assert unserved == sorted(unserved, reverse=True), "more reserve leaves less unserved"
    assert "2026-08-29 14:00" in " ".join(shown(tables(found)[5], 80))


def test_sentences_say_what_is_counted_and_whether_the_motor_starts(found: Outages) -> None:
    text = words(found)
    assert "from each of the 8,760 steps of the year" in text
    assert "some demand of the critical loads is unserved" in text
    assert "6.6 kW inrush" in text
    assert "battery delivers 18.4 kW for a moment: the motor starts." in text
    assert "without the generator" in text
    assert "in 200 years (seed 1): on average 1.6 a year, 5.5 h each" in text
    assert "not backed up" in text


def test_a_motor_that_does_not_start_and_a_wait_stand_out(tmp_path: Path) -> None:
    by_hand = {**HYBRID, "transfer": "by_hand", "at_home": [{"from": "18:00", "to": "08:00"}]}
    motor = {"motor": {"kw": 2.0, "start_factor": 6.0}, "transfer_seconds": 600.0}
    home = steady(tmp_path, arrangement={**by_hand, **motor}, inverter__surge_kw=9.0, inverter__ac_kw=0.4)
    text = words(outages(home.scenario, home=home))
    assert "the motor DOES NOT START" in text
    assert "At 42% of the starts no one is at home to operate the transfer switch" in text
    assert "the home is then without power for 5.5 h" in text
    assert "Transfer time (by hand): 600 s." in text
    assert "In 8,760 h of the year the backed-up demand exceeds the inverter's 0.4 kW" in text


def test_a_value_of_lost_load_names_the_reserve_of_the_lowest_cost() -> None:
    """At 1,000 a kWh the 0.6 kWh between reserves of 10 and 20 % are worth more than the 30 a year they cost."""
    valued = storm().changed({"outages.value_of_lost_load": 1000.0})
    result = outages(valued, years=200)
    costs = {point.reserve: point.energy_cost + (point.outage_cost or 0.0) for point in result.reserve_curve}
    lowest = min(costs, key=lambda reserve: costs[reserve])
    assert lowest > 0.1
    assert f"Lowest energy cost + outage cost: a reserve of {lowest:.0%}" in words(result)


def test_a_grid_tied_home_has_no_backup_and_the_page_says_why(tied: Outages) -> None:
    assert "Backup duration: 0 h." in words(tied)
    assert "anti-islanding" in words(tied)
    assert tables(tied) == []
    assert {each.backup_duration_h for each in tied.months} == {0.0}
    assert "a grid-tied home stops with the grid" in [text.get_text() for text in figure(tied).axes[1].texts]


def test_a_strategy_that_exports_has_a_star_where_it_keeps_less(found: Outages) -> None:
    study = outages(storm().changed({"strategies.0.sell_down_to": 0.5}), years=1)
    starred = [line.split()[0] for line in shown(tables(study)[3], 80) if "*" in line]
    assert starred == ["60%", "70%", "80%", "90%", "100%"]
    assert "* sell_down_to or solar_ceiling is below this reserve" in words(study)
    assert "*" not in " ".join(shown(tables(found)[3], 80))


def test_json_leads_with_months(found: Outages, tied: Outages) -> None:
    record = json.loads(to_json(found.record()))
    assert [month["month"] for month in record["months"]] == list(range(1, 13))
    assert record["months"][6]["backup_duration_h"] == found.months[6].backup_duration_h
    assert record["variants"][0]["year"]["outages_covered"][3] == pytest.approx(found.variants[0].backup.covered(8))
    assert len(record["reserve_curve"]) == 10
    assert record["motor"]["motor_starts"] is True
    assert [each["hours"] for each in record["events"]] == [3, 30, 66]
    nothing = json.loads(to_json(tied.record()))
    assert nothing["variants"][0]["year"]["outages_covered"] == [0.0] * len(tied.outage_h)
    assert (nothing["reserve_curve"], nothing["drawn"], nothing["motor"]) == ([], None, None)


def test_picture_shows_months_variants_and_each_step_of_reserve(found: Outages) -> None:
    months, covered, reserve = figure(found).axes
    heights = [bar.get_height() for bar in months.patches]  # type: ignore[attr-defined]
    assert heights == [each.backup_duration_h for each in found.months]
    assert [line.get_label() for line in covered.get_lines()] == LINES
    curve = np.asarray(covered.get_lines()[0].get_ydata())
    assert curve[[0, 8]].tolist() == [100.0, 100 * found.variants[0].backup.covered(8)]
    assert [line.get_label() for line in reserve.get_lines()] == [f"outage of {hours} h" for hours in (4, 8, 24, 72)]
    costs = np.asarray(reserve.get_lines()[0].get_xdata())
    assert costs.tolist() == [point.reserve_cost for point in found.reserve_curve]
    assert [text.get_text() for text in reserve.texts] == ["reserve 10%", "30%", "50%", "70%", "90%", "100%"]
    assert "USD a year" in reserve.get_xlabel()
    assert "%" in covered.get_ylabel()


def test_the_caution_names_what_kills() -> None:
    for word in ("Backfeeding a dead line can kill", "anti-islanding", "exhaust can kill", "licensed professionals"):
        assert word in OUTAGE_CAUTION


def test_years_are_the_command_s() -> None:
    import solarsim.cli.outages as command
    from solarsim.studies.outages._random_outages import MOST_YEARS

    assert command.MOST_YEARS == MOST_YEARS


def test_the_page_says_when_why_and_what_helps(found: Outages) -> None:
    shortfalls = " ".join(shown(tables(found)[6], 80))
    assert "09-21 05:00" in shortfalls
    assert "battery at low cutoff; generator quiet hours" in shortfalls
    text = words(found)
    assert "When and why the outage from 2026-09-21 03:00 falls short:" in text
    assert "reserve of at least 26% in every hour: energy cost +19 USD a year" in text
    assert "generator that may start at any time" in text
    assert "Carbon monoxide can kill people in their sleep." in text
    assert "Cost of a reserve in a year without outages" in text


def test_a_home_without_a_grid_is_shown_its_year() -> None:
    small = {"arrangement.grid": "none", "arrangement.kind": "off_grid", "generator": None}
    result = outages(storm().changed({**small, "battery.restart_at": 0.3}))
    text = words(result)
    assert "no grid connection, so no outage is simulated" in text
    assert "The 12 largest of" in text
    assert "Not enough by itself: battery of 114.7 kWh" in text
    for table in tables(result):
        assert len(shown(table, 80)) == len(shown(table, 200)), "a row wraps"
    (panel,) = figure(result).axes
    heights = [bar.get_height() for bar in panel.patches]  # type: ignore[attr-defined]
    assert sum(heights) == pytest.approx(result.run.unserved_kwh)
    assert json.loads(to_json(result.record()))["events"][0]["shortfalls"][0]["why"]
