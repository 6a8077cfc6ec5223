"""Tables, notes, JSON and picture of what outages mean."""

import json
from pathlib import Path

import numpy as np
import pytest

from solarsim.home import home_from
from solarsim.scenario.glossary_studies import OUTAGES
from solarsim.studies.outages.island import HOURS
from solarsim.studies.outages.outages import OutageStudy, outages
from solarsim.views.outage_plot import outage_figure
from solarsim.views.outage_records import outages_json
from solarsim.views.outage_tables import (
    OUTAGE_CAUTION,
    drawn_notes,
    drawn_table,
    event_table,
    outage_notes,
    reserve_notes,
    reserve_table,
    survival_table,
)
from tests.builders import scenario
from tests.homes_without_grid import HYBRID, steady, storm, storm_home
from tests.views.test_tables import shown


@pytest.fixture(scope="module")
def found() -> OutageStudy:
    """Study the storm coast."""
    return outages(storm(), years=200, home=storm_home())


@pytest.fixture(scope="module")
def tied() -> OutageStudy:
    """Study a home that stops with the grid."""
    return outages(scenario(arrangement={"kind": "grid_tied"}))


def test_tables_fit_80_columns_and_lose_no_number(found: OutageStudy) -> None:
    for table in (survival_table(found), reserve_table(found), drawn_table(found), event_table(found)):
        assert max(map(len, shown(table, 200))) <= 80
        assert len(shown(table, 80)) == len(shown(table, 200)), "a row wraps"
    lines = shown(survival_table(found), 80)
    assert len([line for line in lines if " h " in line]) == len(HOURS)
    assert "summer" in " ".join(lines)
    assert "no gen." in " ".join(lines)
    rows = [line.split() for line in shown(reserve_table(found), 80) if "%" in line]
    assert [row[0] for row in rows] == [f"{tenth}0%" for tenth in range(1, 11)]
    assert rows[0][3] == "0"
    bills, savings, costs = (np.array([float(row[place].replace(",", "")) for row in rows]) for place in (1, 2, 3))
    assert bills + savings == pytest.approx(np.full(10, found.baseline_bill), abs=1.0)
    assert bills - costs == pytest.approx(np.full(10, bills[0]), abs=1.0)
    assert "2026-08-29 14:00" in " ".join(shown(event_table(found), 80))


def test_notes_say_what_is_counted_and_whether_the_motor_starts(found: OutageStudy) -> None:
    notes = " ".join([*outage_notes(found), *reserve_notes(found), *drawn_notes(found)])
    assert "8,760 starts" in notes
    assert "the critical loads" in notes
    assert "draws 6.6 kW as it starts" in notes
    assert "the bank 10.2 kW: it starts." in notes
    assert "the generator is left out" in notes
    assert "drawn in 200 years (seed 1): 1.6 a year, 5.5 h" in notes
    assert "are not backed up" in notes


def test_a_motor_that_does_not_start_and_a_wait_are_said_aloud(tmp_path: Path) -> None:
    by_hand = {**HYBRID, "transfer": "by_hand", "at_home": [{"from": "18:00", "to": "08:00"}]}
    motor = {"motor": {"kw": 2.0, "start_factor": 6.0}, "transfer_seconds": 600.0}
    home = steady(tmp_path, arrangement={**by_hand, **motor}, inverter__surge_kw=9.0, inverter__ac_kw=0.4)
    notes = " ".join(outage_notes(outages(home.scenario, home=home)))
    assert "it DOES NOT START" in notes
    assert "At 42% of the starts nobody is there for it: the home is then dark for 5.5 h in the mean" in notes
    assert "The transfer (by hand) takes 600 seconds" in notes
    assert "In 8,760 h of the year more is backed up than the inverter's 0.4 kW" in notes


def test_a_grid_tied_home_is_told_why_nothing_is_served(tied: OutageStudy) -> None:
    assert "islanding" in " ".join(outage_notes(tied))
    assert all("0.0%" in line for line in shown(survival_table(tied), 80) if " h " in line)
    assert (reserve_notes(tied), drawn_notes(tied)) == ([], [])
    (panel,) = outage_figure(tied, "title").axes
    assert "a grid-tied home stops with the grid" in [text.get_text() for text in panel.texts]


def test_a_strategy_that_sells_has_a_star_where_it_keeps_less(found: OutageStudy) -> None:
    selling = [strategy.model_copy(update={"sell_down_to": 0.5}) for strategy in storm().strategies[:1]]
    sold = storm().model_copy(update={"strategies": tuple(selling)})
    study = outages(sold, years=1, home=home_from(sold))
    starred = [line.split()[0] for line in shown(reserve_table(study), 80) if "*" in line]
    assert starred == ["60%", "70%", "80%", "90%", "100%"]
    assert "* Where it sells down to less" in " ".join(reserve_notes(study))
    assert "*" not in " ".join(shown(reserve_table(found), 80))


def test_json_holds_what_the_glossary_names(found: OutageStudy, tied: OutageStudy) -> None:
    record = json.loads(outages_json(found))
    shares = [each["survival"][3] for each in record["variants"]]
    assert shares == pytest.approx([each.survival.share(8) for each in found.variants], abs=1e-9)
    assert len(record["reserve_curve"]) == 10
    assert set(record["variants"][0]["missed"]) <= OUTAGES.keys()
    assert record["motor"]["motor_starts"] is True
    assert [each["hours"] for each in record["events"]] == [3, 30, 66]
    nothing = json.loads(outages_json(tied))
    assert nothing["variants"][0]["survival"] == [0.0] * len(HOURS)
    assert (nothing["reserve_curve"], nothing["drawn"], nothing["motor"]) == ([], None, None)


def test_picture_shows_each_variant_and_each_step_of_reserve(found: OutageStudy) -> None:
    left, right = outage_figure(found, "title").axes
    assert [line.get_label() for line in left.get_lines()] == [
        "as programmed, with generator", "no reserve, with generator", "as programmed, no generator",
        "no reserve, no generator",
    ]  # fmt: skip
    curve = np.asarray(left.get_lines()[0].get_ydata())
    assert curve[[0, 8]].tolist() == [100.0, 100 * found.variants[0].survival.share(8)]
    assert [line.get_label() for line in right.get_lines()] == ["4 h", "8 h", "24 h", "72 h"]
    costs = np.asarray(right.get_lines()[0].get_xdata())
    assert costs.tolist() == [point.costs for point in found.reserve]
    assert [text.get_text() for text in right.texts] == [f"{tenth}0%" for tenth in range(1, 11)]
    assert "USD a year" in right.get_xlabel()
    assert "%" in left.get_ylabel()


def test_the_caution_names_what_kills() -> None:
    for word in ("transfer", "anti-islanding", "exhaust", "licensed people decide"):
        assert word in OUTAGE_CAUTION


def test_years_are_the_command_s() -> None:
    from solarsim.cli import backup
    from solarsim.studies.outages.random_outages import MOST_YEARS

    assert backup.MOST_YEARS == MOST_YEARS
