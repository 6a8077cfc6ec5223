"""Roofs with module curves for tests: an invented module, an input with its voltages, arrays that name the module."""

from typing import Any

from solarsim.scenario.model import Scenario
from tests.builders import PLAIN, scenario

#: Invented values of a kind that many datasheets of 410 W print.
SHEET: dict[str, Any] = {
    "v_oc_v": 37.1,
    "i_sc_a": 13.9,
    "v_mp_v": 31.2,
    "i_mp_a": 13.15,
    "p_mp_per_c": -0.0034,
    "v_oc_per_c": -0.0027,
    "i_sc_per_c": 0.0005,
}
MODULE = {"name": "mine", **SHEET}
INPUT = {"max_kw": 20.0, "max_a": 60.0, "mppt_min_v": 60.0, "mppt_max_v": 480.0, "start_v": 80.0, "max_v": 500.0}


def strings(**changes: Any) -> dict[str, Any]:
    """Write an array of ten of these modules to the south, with keys replaced."""
    plain = {key: value for key, value in PLAIN["arrays"][0].items() if not key.startswith(("module_w", "temperature"))}
    return {**plain, "module": "mine", **changes}


def roof(*arrays: dict[str, Any], inputs: list[dict[str, Any]] | None = None, **changes: Any) -> Scenario:
    """Validate a home with these arrays; one plain south array where none is given."""
    tables = {"modules": [MODULE], "arrays": list(arrays or [strings()]), "inverter__inputs": inputs or [INPUT]}
    return scenario(**{**tables, **changes})
