"""Export pay: each key belongs to its kind of pay."""

import pytest

from solarsim.errors import ScenarioError
from tests.builders import scenario


@pytest.mark.parametrize("export", [{"pay": "flat"}, {"pay": "none", "price": 0.1}])
def test_export_price_belongs_to_flat_pay(export: dict[str, object]) -> None:
    with pytest.raises(ScenarioError, match="'price' belongs to pay = 'flat'"):
        scenario(rate_plan__export=export)
