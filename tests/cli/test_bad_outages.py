"""Impossible arrangements, generators and outages through the real command: refused by key, one line each."""

from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from tests.cli.test_bad_scenarios import assert_refused, write_home
from tests.homes_without_grid import EVEN_MONTHS, GENERATOR, HYBRID, event

Case = tuple[list[str], dict[str, Any]]
LAST = {"kind": "off_grid", "grid": "last", "grid_from": 0.3, "grid_until": 0.6}


def home(*says: str, **changes: Any) -> Case:
    """Write a case: what its message must hold, and what is wrong with a hybrid home."""
    return list(says), {"arrangement": dict(HYBRID), **changes}


def arranged(*says: str, **keys: Any) -> Case:
    """Write a case about the arrangement; None removes."""
    return list(says), {"arrangement": {key: value for key, value in {**HYBRID, **keys}.items() if value is not None}}


def generator(*says: str, **keys: Any) -> Case:
    """Write a case about the generator."""
    return home(*says, generator={key: value for key, value in {**GENERATOR, **keys}.items() if value is not None})


CASES: dict[str, Case] = {
    "kind misspelled": arranged("arrangement.kind", "'hybrd'", kind="hybrd"),
    "key misspelled": arranged("arrangement.backd_up", "did you mean 'backed_up'", backd_up="all"),
    "transfer without minutes": arranged("transfer_seconds is missing", transfer_seconds=None),
    "by hand, and nobody ever there": arranged("at_home is missing", transfer="by_hand"),
    "nothing is critical": arranged("backed_up = 'critical', but nothing is", backed_up="critical"),
    "motor without surge": arranged("inverter.surge_kw, which is missing", motor={"kw": 1.0, "start_factor": 6.0}),
    "island without battery": home("needs a [battery]", battery=None),
    "grid turned to below the minimum": (
        ["arrangement.grid_from: 0.05 is below battery.low_cutoff 0.1"],
        {"arrangement": {**LAST, "grid_from": 0.05}},
    ),
    "generator's levels crossed": generator("start_at 0.7 must be below stop_at 0.6", start_at=0.7),
    "generator that never starts": generator("generator.start_at: 0.05 is below battery.low_cutoff", start_at=0.05),
    "generator that waits for full": generator("generator.stop_at", "0.99", stop_at=0.99),
    "generator without fuel": generator("generator.liters_per_kwh", "missing", liters_per_kwh=None),
    "tank that nobody fills": (
        ["generator.refill is missing", "state when the tank is filled"],
        {"arrangement": {"kind": "off_grid", "grid": "none"}, "generator": {**GENERATOR, "tank_liters": 20.0}},
    ),
    "restart below the cutoff": home("restart_at 0.05 is below low_cutoff 0.1", battery__restart_at=0.05),
    "restart that the generator never reaches": home(
        "battery.restart_at: 0.7 is above generator.stop_at 0.6", battery__restart_at=0.7, generator=dict(GENERATOR)
    ),
    "restart that the grid never reaches": (
        ["battery.restart_at: 0.7 is above arrangement.grid_until 0.6"],
        {"arrangement": LAST, "battery__restart_at": 0.7},
    ),
    "generator and no arrangement": home(
        "generator: has no effect without [arrangement]", arrangement=None, generator=dict(GENERATOR)
    ),
    "outage at half past": home(
        "begins at a full hour", outages={"events": [{"from": datetime(2026, 1, 5, 7, 30), "hours": 2}]}
    ),
    "outage of another year": home(
        "2027-01-05 07:00 is not a time of the wall clock in 2026", outages={"events": [event("2027-01-05T07:00", 2)]}
    ),
    "more outage than year": home(
        "a whole year or more without the grid",
        outages={"frequency": {"per_year": 80.0, "mean_h": 200.0, "months": EVEN_MONTHS}},
    ),
    "cold limits crossed": home(
        "charge_min_c",
        "must rise in this order",
        battery__chemistry="lfp",
        battery__place="garage",
        battery__charge_min_c=30.0,
        battery__charge_slow_below_c=5.0,
    ),
}


@pytest.mark.parametrize(("says", "changes"), CASES.values(), ids=list(CASES))
def test_what_cannot_be_meant_is_one_line(tmp_path: Path, says: list[str], changes: dict[str, Any]) -> None:
    given = {key: value for key, value in changes.items() if key != "arrangement" or value is not None}
    write_home(tmp_path / "home.toml", **given)
    assert_refused(tmp_path, "outages home.toml", "home.toml: ", *says)


def test_a_panel_above_the_inverter_s_rating_is_refused(tmp_path: Path) -> None:
    critical = {**HYBRID, "backed_up": "critical"}
    write_home(tmp_path / "home.toml", arrangement=critical, load__critical_share=1.0, inverter__ac_kw=0.6)
    assert_refused(tmp_path, "outages home.toml", "the critical load reaches", "above inverter.ac_kw 0.6")


@pytest.mark.parametrize(
    ("arguments", "changes", "says"),
    [
        (
            "outages home.toml",
            {},
            ["home.toml: has no table [arrangement]; add one"],
        ),
        ("outages home.toml --years 5", {"arrangement": HYBRID}, ["no [outages.frequency]"]),
        ("outages home.toml --strategy hme", {"arrangement": HYBRID}, ["strategy 'hme' is not in scenario"]),
        ("outages home.toml --years 0", {"arrangement": HYBRID}, ["'0' must be a whole number from 1 to 10000"]),
        ("outages home.toml --seed x", {"arrangement": HYBRID}, ["'x' must be a whole number"]),
        ("outages home.toml --plot a.bmp", {"arrangement": HYBRID}, ["a.bmp"]),
    ],
)
def test_what_the_command_cannot_do_is_one_line(
    tmp_path: Path, arguments: str, changes: dict[str, Any], says: list[str]
) -> None:
    write_home(tmp_path / "home.toml", **{key: dict(value) for key, value in changes.items()})
    assert_refused(tmp_path, arguments, *says)
