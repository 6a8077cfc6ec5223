"""Checks of two homes that several tests look at: reading a home takes two seconds."""

from functools import cache

from solarsim.scenario.model import Scenario
from solarsim.scenario.read import read_scenario
from solarsim.studies.check.check import Check, check
from tests.builders import scenario


@cache
def bare() -> Scenario:
    """Return a home that has only what every scenario must have."""
    return scenario()


@cache
def checked_demo() -> Check:
    """Return the check of the demo."""
    return check(read_scenario())


@cache
def checked_bare() -> Check:
    """Return the check of the bare home, with a problem that its reader found."""
    return check(bare(), ["plain.toml: x: unknown key"])
