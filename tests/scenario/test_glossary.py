"""Every column and every result key has an entry with a unit."""

import json
from dataclasses import replace

from solarsim.ledger.flows import HOURLY
from solarsim.scenario.glossary import ANNUAL, BILL_LINE, DOCUMENT, ENERGY
from solarsim.scenario.glossary_studies import STEPS
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.compare.optimum import Best
from solarsim.views.rate_records import bill_json
from solarsim.views.records import comparison_json, hourly_csv, run_json

ENTRIES = {
    **HOURLY, **ENERGY, **ANNUAL, **STEPS,
    **BILL_LINE, **DOCUMENT,
}  # fmt: skip


def test_hourly_columns_are_the_glossary_s(demo_comparison: Comparison) -> None:
    header = hourly_csv(demo_comparison.runs[0].flows).splitlines()[0]
    assert header.split(",") == list(HOURLY)
    assert list(demo_comparison.runs[0].hourly().columns) == list(HOURLY)[1:]


def keys_of(value: object) -> set[str]:
    """Collect every key of a JSON document, however deep."""
    if isinstance(value, dict):
        return set(value).union(*map(keys_of, value.values()))
    return set().union(*map(keys_of, value)) if isinstance(value, list) else set()


def test_every_key_of_every_document_is_in_the_glossary(demo_comparison: Comparison) -> None:
    home, runs = demo_comparison.home, demo_comparison.runs
    documents = [
        comparison_json(replace(demo_comparison, best=Best(32.0, 200.0))),
        run_json(home, runs[0]),
        bill_json(home, [demo_comparison.baseline, runs[0]], None),
    ]
    for document in documents:
        assert keys_of(json.loads(document)) - set(ENTRIES) == set()


def test_no_entry_is_without_a_unit() -> None:
    for name, entry in ENTRIES.items():
        assert entry.meaning, name
        assert entry.unit, name
        if name.endswith("_kw"):
            assert entry.unit.startswith("kW"), name
        if name.endswith("_kwh") and not name.endswith("_per_kwh"):
            assert entry.unit.startswith("kWh"), name
