"""What settles a meter CSV: valid keys and values, and how messages name them."""

import json
from typing import Any

import pytest
from pydantic import ValidationError

from solarsim.scenario.load.meter import MeterCsv


def settled(**keys: Any) -> MeterCsv:
    """Validate as a scenario file is: strictly, through JSON."""
    return MeterCsv.model_validate_json(json.dumps(keys))


def test_every_key_may_be_left_out() -> None:
    assert set(settled().model_dump().values()) == {None}


def test_valid_values() -> None:
    keys = {"delimiter": "\t", "decimal": ",", "time_columns": ["Date", "Time"], "date_order": "dmy", "clock": "wall"}
    keys |= {"labels": "end", "import_column": "A", "export_column": "B", "unit": "kw", "kind": "register"}
    assert settled(**keys).time_columns == ("Date", "Time")


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"delimiter": "x"}, "delimiter"),
        ({"decimal": ""}, "decimal"),
        ({"time_columns": []}, "time_columns"),
        ({"time_columns": ["a", "b", "c"]}, "time_columns"),
        ({"time_columns": ["a", "a"]}, "names 'a' twice"),
        ({"date_order": "ydm"}, "date_order"),
        ({"clock": "local"}, "clock"),
        ({"labels": "middle"}, "labels"),
        ({"import_column": ""}, "import_column"),
        ({"unit": "MWh"}, "unit"),
        ({"kind": "counter"}, "kind"),
        ({"units": "kwh"}, "units"),
    ],
)
def test_other_values_are_refused(keys: dict[str, Any], told: str) -> None:
    with pytest.raises(ValidationError, match=told):
        settled(**keys)
