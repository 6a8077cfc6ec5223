"""What cannot be meant about arrangement, generator and outages is refused by key."""

import json
from typing import Any

import pytest
from pydantic import ValidationError

from solarsim.scenario.backup.backup import Arrangement, Frequency, Generator, Motor, Outage, Outages

HYBRID = {"kind": "hybrid", "backed_up": "all", "transfer": "automatic", "transfer_seconds": 6.0}
SET = {
    "kw": 4.0, "start_at": 0.2, "stop_at": 0.6, "least_run_h": 1.0, "charge_kw": 3.0, "liters_per_h": 0.5,
    "liters_per_kwh": 0.3, "fuel_price": 1.5,
}  # fmt: skip


def valid(model: Any, **keys: Any) -> Any:
    return model.model_validate_json(json.dumps(keys))


@pytest.mark.parametrize(
    "keys",
    [
        {"kind": "grid_tied"},
        HYBRID,
        {**HYBRID, "motor": {"kw": 1.1, "start_factor": 6.0}},
        {**HYBRID, "transfer": "by_hand", "at_home": [{"days": ["weekend"]}]},
        {"kind": "off_grid", "grid": "none"},
        {"kind": "off_grid", "grid": "last", "grid_from": 0.3, "grid_until": 0.6},
    ],
)
def test_the_arrangements(keys: dict[str, Any]) -> None:
    assert valid(Arrangement, **keys).kind == keys["kind"]


ALL_KEYS = {
    **HYBRID, "backed_up": "critical", "grid": "last", "grid_from": 0.3, "grid_until": 0.6,
    "motor": {"kw": 1.1, "start_factor": 6.0},
}  # fmt: skip


def test_one_key_switches_the_arrangement_and_keys_of_other_kinds_say_nothing() -> None:
    kinds = {kind: valid(Arrangement, **{**ALL_KEYS, "kind": kind}) for kind in ("grid_tied", "hybrid", "off_grid")}
    assert [each.islands for each in kinds.values()] == [False, True, True]
    assert [each.critical_only for each in kinds.values()] == [False, True, False]
    assert [each.levels for each in kinds.values()] == [None, None, (0.3, 0.6)]
    assert all(each.has_grid for each in kinds.values())
    alone = {**ALL_KEYS, "grid": "none"}
    assert valid(Arrangement, **alone).has_grid
    assert not valid(Arrangement, **{**alone, "kind": "off_grid"}).has_grid


@pytest.mark.parametrize(
    ("model", "keys", "told"),
    [
        (Arrangement, {"kind": "island"}, "kind"),
        (Arrangement, {"kind": "hybrid"}, "backed_up is missing: a home of kind 'hybrid' needs it"),
        (
            Arrangement,
            {**HYBRID, "transfer_seconds": None},
            "transfer_seconds is missing: a home of kind 'hybrid' needs it",
        ),
        (Arrangement, {**HYBRID, "transfer_seconds": 5400.0}, "transfer_seconds"),
        (Arrangement, {**HYBRID, "transfer": "by_hand"}, "at_home is missing: a transfer by_hand needs"),
        (Arrangement, {**HYBRID, "at_home": [{"months": [1]}]}, "at_home is only for a transfer by_hand"),
        (Arrangement, {"kind": "off_grid"}, "grid is missing: a home of kind 'off_grid' needs it"),
        (Arrangement, {"kind": "off_grid", "grid": "last"}, "grid_from and grid_until are missing"),
        (Arrangement, {"kind": "off_grid", "grid": "last", "grid_from": 0.2}, "both of them"),
        (
            Arrangement,
            {"kind": "off_grid", "grid": "last", "grid_from": 0.7, "grid_until": 0.4},
            "grid_from 0.7 must be below grid_until 0.4",
        ),
        (Arrangement, {**HYBRID, "grid_until": 0.4}, "grid_from and grid_until belong together"),
        (Generator, {**SET, "stop_at": 0.99}, "stop_at"),
        (Frequency, {"per_year": 90.0, "mean_h": 100.0, "months": [1.0] * 12}, "a whole year or more without the grid"),
        (Motor, {"kw": 1.0, "start_factor": 0.5}, "start_factor"),
        (Generator, {**SET, "start_at": 0.6}, "start_at 0.6 must be below stop_at 0.6"),
        (Generator, {**SET, "kw": 0.0}, "kw"),
        (Generator, {**SET, "refill": [{"days": ["sat"]}]}, "refill has no effect without tank_liters"),
        (Generator, {**SET, "tank_liters": 1.6}, r"tank_liters 1.6 is less than .* one hour at 4 kW \(1.7 l\)"),
        (Generator, {**SET, "stop_at": 1.2}, "stop_at"),
        (Outage, {"from": "2026-01-14T18:30", "hours": 4}, "begins at a full hour"),
        (Outage, {"from": "2026-01-14T18:00Z", "hours": 4}, "begins at a full hour of the wall clock"),
        (Outage, {"from": "2026-01-14T18:00", "hours": 0}, "hours"),
        (Frequency, {"per_year": 1.4, "mean_h": 4.0, "months": [0.0] * 12}, "all weights are 0"),
        (Frequency, {"per_year": 1.4, "mean_h": 4.0, "months": [1.0] * 11}, "months"),
        (Frequency, {"per_year": 0.0, "mean_h": 4.0, "months": [1.0] * 12}, "per_year"),
    ],
)
def test_what_cannot_be_meant_is_refused(model: Any, keys: dict[str, Any], told: str) -> None:
    with pytest.raises(ValidationError, match=told):
        valid(model, **keys)


def test_darkness_without_a_value_is_refused() -> None:
    """At 0 a dark home would count as well served; without the key it is not comparable."""
    assert valid(Outages, value_of_lost_load=0.5).value_of_lost_load == 0.5
    with pytest.raises(ValidationError, match=r"value_of_lost_load\n.*greater than 0"):
        valid(Outages, value_of_lost_load=0.0)
