"""Fixtures that many tests share: the demo home, computed once for each worker."""

import os
import signal

import pytest
from hypothesis import HealthCheck, settings

from solarsim.home import Home, home_from
from solarsim.scenario.model import Scenario
from solarsim.scenario.read import read_scenario
from solarsim.studies.compare.compare import Comparison, compare

# A shell that starts a process in the background has it ignore Ctrl-C, and all that it starts; tests send it.
signal.signal(signal.SIGINT, signal.default_int_handler)

# The machine is shared: a slow example is the machine's, not the code's. CI draws the same examples each time.
settings.register_profile("solarsim", deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("ci", parent=settings.get_profile("solarsim"), derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") == "true" else "solarsim")


@pytest.fixture(scope="session")
def demo() -> Scenario:
    """Read the packaged demo home."""
    return read_scenario()


@pytest.fixture(scope="session")
def demo_home(demo: Scenario) -> Home:
    """Compute its series."""
    return home_from(demo)


@pytest.fixture(scope="session")
def demo_comparison(demo: Scenario, demo_home: Home) -> Comparison:
    """Run its strategies."""
    return compare(demo, demo_home)
