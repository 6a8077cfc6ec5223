"""Hours beside finer steps on the screen and as JSON."""

import json
from typing import Any

import pytest

from solarsim.scenario.model import Scenario
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.compare.finer_steps import BESIDE, StepComparison, compare_steps
from solarsim.views.records import comparison_json
from solarsim.views.step_tables import steps_notes, steps_table
from tests.scenario.test_glossary import ENTRIES, keys_of
from tests.views.test_tables import shown


@pytest.fixture(scope="module")
def steps(demo: Scenario, demo_comparison: Comparison) -> StepComparison:
    """Run the demo by half hours."""
    return compare_steps(demo, 30, demo_comparison)


def test_table_has_both_steps_of_every_strategy_within_80_columns(steps: StepComparison) -> None:
    lines = shown(steps_table(steps), 80)
    text = "\n".join(lines)
    assert max(map(len, lines)) <= 80
    assert ["Strategy", "Hours", "30", "min", "Hidden"] in [line.split() for line in lines]
    for name in ("no system at all", "solar, no battery", *(run.strategy for run in steps.hourly.runs)):
        assert name in text
    assert f"{steps.hourly.runs[0].ledger.bill.total:,.2f}" in text
    assert f"{steps.finer.runs[0].ledger.bill.total:,.2f}" in text
    assert "-0.0 pt" not in text
    assert steps_notes(steps)[0].startswith("Hidden: what steps of 30 minutes add to hours")


def test_json_holds_both_and_every_key_is_in_the_glossary(steps: StepComparison) -> None:
    document: dict[str, Any] = json.loads(comparison_json(steps.hourly, steps))
    assert keys_of(document) - set(ENTRIES) == set()
    found = document["finer_steps"]
    assert found["step_minutes"] == 30
    for row in found["strategies"]:
        for key in BESIDE:
            assert row["difference"][key] == pytest.approx(row["finer"][key] - row["hourly"][key], abs=1e-8)
    assert "finer_steps" not in json.loads(comparison_json(steps.hourly))
