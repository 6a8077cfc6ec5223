"""Rates that disagree are refused."""

import pytest

from solarsim.errors import ScenarioError
from tests.builders import scenario

ALWAYS = {"name": "a", "import_price": 0.1}
EVENING = {"from": "16:00", "to": "21:00"}


@pytest.mark.parametrize(
    ("rates", "told"),
    [
        ([ALWAYS, {**ALWAYS, "windows": [EVENING]}], "two rates are named 'a'"),
        ([ALWAYS, {**ALWAYS, "name": "b"}], "only one rate can hold in all other hours"),
        ([{**ALWAYS, "export_price": 0.1}], "export_price belongs to export pay 'by_rate'"),
    ],
)  # fmt: skip
def test_rates_that_disagree_are_refused(rates: list[dict[str, object]], told: str) -> None:
    with pytest.raises(ScenarioError, match=told):
        scenario(rate_plan__rates=rates)
