"""Every column and every result key has an entry with a unit."""

import json

from solarsim.scenario.glossary import ANNUAL, ENERGY, HOURLY, WEAR
from solarsim.studies.compare import Comparison
from solarsim.views.records import comparison_json, hourly_csv


def test_hourly_columns_are_the_glossary_s(demo_comparison: Comparison) -> None:
    header = hourly_csv(demo_comparison.runs[0].flows).splitlines()[0]
    assert header.split(",") == list(HOURLY)
    assert list(demo_comparison.runs[0].hourly().columns) == list(HOURLY)[1:]


def test_result_keys_are_in_the_glossary(demo_comparison: Comparison) -> None:
    record = json.loads(comparison_json(demo_comparison))
    for row in [record["baseline"], *record["strategies"]]:
        assert set(row) - {"name"} <= set(ENERGY) | set(ANNUAL)


def test_no_entry_is_without_a_unit() -> None:
    for name, entry in (HOURLY | ENERGY | ANNUAL | WEAR).items():
        assert entry.meaning, name
        assert entry.unit, name
        if name.endswith("_kw"):
            assert entry.unit.startswith("kW"), name
        if name.endswith("_kwh") and not name.endswith("_per_kwh"):
            assert entry.unit.startswith("kWh"), name
