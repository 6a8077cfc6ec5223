"""One strategy's year by month."""

import pytest

from solarsim.studies.compare.compare import Comparison
from solarsim.studies.flows import flows


def test_months_add_up_to_the_steps(demo_comparison: Comparison) -> None:
    home = demo_comparison.home
    year = flows(home.scenario, "winter night charge", home)
    for key in ("import", "export", "load", "curtailed"):
        steps_kwh = year.run.flows[f"{key}_kw"].sum()
        assert sum(month.kwh[f"{key}_kwh"] for month in year.months) == pytest.approx(steps_kwh, abs=1e-6)
    assert sum(month.bill for month in year.months) == pytest.approx(float(year.run.ledger.bill.total), abs=1e-6)


def test_record_has_the_keys_of_its_facts_and_a_month_no_other_attributes(demo_comparison: Comparison) -> None:
    home = demo_comparison.home
    month = flows(home.scenario, None, home).months[0]
    assert list(month.record()) == list(type(month).facts())
    assert month.import_kwh == month.kwh["import_kwh"]
    with pytest.raises(AttributeError, match="has no attribute 'imported'"):
        _ = month.imported
