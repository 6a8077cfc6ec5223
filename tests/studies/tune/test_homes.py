"""What tuned settings must reach over many homes, on a subset that fits; all of them take a quarter of an hour."""

import pytest

from solarsim.run import close_year
from solarsim.studies._other_years import other_years
from solarsim.studies.tune.tune import Tuned, tune
from tests.studies.tune.homes import HOMES

pytestmark = pytest.mark.slow
RUNS = 5000
SUBSET = ("older_roof", "24 kWh that sells at the peak", "6 kWh and expensive evenings")


@pytest.fixture(scope="module", params=SUBSET)
def tuned(request: pytest.FixtureRequest) -> Tuned:
    return tune(HOMES[request.param](), wear=0.0, runs=RUNS)


@pytest.mark.parametrize("name", HOMES)
def test_every_home_is_a_scenario(name: str) -> None:
    assert HOMES[name]().strategies


def test_the_table_earns_most_of_what_the_battery_could(tuned: Tuned) -> None:
    share, written = tuned.battery_savings_share, tuned.best_written_share
    assert share is not None
    assert written is not None
    assert share >= 0.94  # of all homes the median; the lowest 0.89
    assert (share - written) / (1.0 - written) >= 0.40
    assert tuned.windows <= 6


def test_it_beats_the_written_strategies_in_every_other_year(tuned: Tuned) -> None:
    for year in other_years(tuned.home):
        costs = {name: close_year(year.home, name).energy_cost for name in year.home.dispatches}
        own = costs.pop("tuned")
        assert own < min(costs.values()), year.name
