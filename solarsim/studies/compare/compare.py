"""Every strategy side by side: a scenario in, one year of each and of no system at all out."""

from dataclasses import dataclass, replace

from solarsim.home import Home, home_of
from solarsim.ledger.money import lowest
from solarsim.results import Result, computed, fact
from solarsim.run import Run, simulate, without_battery, without_system
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import Need
from solarsim.studies.optimum.optimum import Optimum, battery_savings_share, optima
from solarsim.studies.wiring.wiring import failure_notes

#: What the command needs beyond what every scenario has.
NEEDS: tuple[Need, ...] = ()

_NEARLY = 1.0  # costs that differ by less than a unit of the currency are shown as a tie


@dataclass(frozen=True, eq=False, repr=False)
class Comparison(Result):
    """The strategies of one scenario.

    Examples
    --------
    >>> from solarsim import compare, read_scenario
    >>> [run.name for run in compare(read_scenario()).lowest]
    ['winter night charge']
    """

    _rows = "runs"

    home: Home  # what they share
    runs: tuple[Run, ...]  # one for each strategy, in the scenario's order
    scenario: str = fact("name of the scenario", "text")
    currency: str = fact("ISO 4217 code of all money", "text")
    baseline: Run = fact(
        "the home without any system; a home off the grid is compared with the same one on it",
        "record",
        without=("name",),
    )
    solar_only: Run | None = fact(
        "the same arrays and inverter without the battery; null where there is none", "record", without=("name",)
    )
    best: tuple[Optimum, ...] | None = fact(
        "one optimum for each distinct reserve and amount of unserved energy; null where not asked for",
        "table",
        default=None,
    )

    @computed("one for each strategy, in the scenario's order", "table")
    def strategies(self) -> tuple[Run, ...]:
        return self.runs

    @computed("what the arrays could deliver above the limits of the inverter's DC inputs", "kWh DC")
    def input_clipped_kwh(self) -> float:
        return float(self.home.production.clipped_kw.sum()) * self.home.timeline.step_h

    @computed("what a reader should know", "list")
    def notes(self) -> list[str]:
        return [*self.home.notes(*self.runs), *failure_notes(self.home.scenario, self.home)]

    @property
    def lowest(self) -> tuple[Run, ...]:
        """The strategies of the lowest cost: those that differ by less than 1, see ``money.lowest``."""
        return _lowest(self.runs)

    @property
    def lowest_programmable(self) -> tuple[Run, ...]:
        """The same of those that can be programmed into this inverter, as far as its menu is known."""
        return _lowest(tuple(run for run in self.runs if not run.misfits))

    @property
    def comparable(self) -> bool:
        """Whether any strategy can be compared with the baseline in money."""
        return any(run.annual_savings is not None for run in self.runs)


def _lowest(runs: tuple[Run, ...]) -> tuple[Run, ...]:
    """Return the runs of the lowest cost, in their order."""
    found = lowest([run.ledger for run in runs], _NEARLY) if runs else []
    return tuple(run for run in runs if run.ledger in found)


def compare(scenario: Scenario, home: Home | None = None, best: bool = False) -> Comparison:
    """Run every strategy of a scenario, and the home without any system.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    home : Home, optional
        From ``home_from``.
    best : bool
        Also find the optimum at each distinct reserve, which takes some seconds each; of quarter hours about ten times
        as long as of hours.

    Returns
    -------
    Comparison
        One run for each strategy.

    Raises
    ------
    InputError
        See ``home_from`` and ``simulate``.
    ValueError
        See ``home_of``.
    """
    home = home_of(scenario, home)
    baseline = without_system(scenario, home)
    solar_only = without_battery(scenario, home) if home.limits.capacity_kwh > 0.0 and home.stays_connected else None
    runs = [simulate(scenario, strategy.name, home) for strategy in scenario.strategies]
    found = optima(home, {run.name: run.unserved_kwh for run in runs}) if best else None
    if found and solar_only is not None:
        costs = solar_only.ledger.exact_energy_cost, baseline.ledger.exact_energy_cost
        found = tuple(
            replace(each, scheduled_share=battery_savings_share(each.scheduled_energy_cost, *costs, each.energy_cost))
            for each in found
        )
        lowest_cost = {name: each.energy_cost for each in found for name in each.strategies}
        runs = [
            replace(
                run,
                battery_savings_share=battery_savings_share(
                    run.ledger.exact_energy_cost, *costs, lowest_cost[run.name]
                ),
            )
            for run in runs
        ]
    return Comparison(home, tuple(runs), scenario.name, scenario.rate_plan.currency, baseline, solar_only, found)
