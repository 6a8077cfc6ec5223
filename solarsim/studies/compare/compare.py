"""Every strategy side by side: a scenario in, one year of each and of no system at all out."""

from dataclasses import dataclass, replace
from typing import Any

from solarsim.home import Home, home_of
from solarsim.ledger.bill import listed_cost
from solarsim.ledger.money import lowest
from solarsim.results import Result, computed, fact
from solarsim.run import Run, simulate, without_battery, without_system
from solarsim.scenario.model import Scenario
from solarsim.studies.compare.optimum import Optimum, optimum
from solarsim.studies.wiring.wiring import failure_notes

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
        "the home without any system; a home off the grid is compared with the same one on it", "record"
    )
    solar_only: Run | None = fact(
        "the same arrays and inverter without the battery; null where there is none", "record"
    )
    best: Optimum | None = fact("the optimum; null where it was not asked for", "record", default=None)

    @computed("one for each strategy, in the scenario's order", "table")
    def strategies(self) -> tuple[Run, ...]:
        return self.runs

    @computed("what the arrays could deliver above the limits of the inverter's DC inputs", "kWh DC")
    def input_clipped_kwh(self) -> float:
        return float(self.home.production.clipped_kw.sum()) * self.home.timeline.step_h

    @computed("what a reader should know", "list")
    def notes(self) -> list[str]:
        return [*self.home.notes(*self.runs), *failure_notes(self.home.scenario, self.home)]

    def record(self) -> dict[str, Any]:
        """Return the keys of JSON; what is no strategy has no name."""
        found = super().record()
        for key in ("baseline", "solar_only"):
            found[key] = found[key] and {name: value for name, value in found[key].items() if name != "name"}
        return found

    @property
    def lowest(self) -> tuple[Run, ...]:
        """The strategies of the lowest cost: those that differ by less than 1, see ``money.lowest``."""
        found = lowest([run.ledger for run in self.runs], _NEARLY)
        return tuple(run for run in self.runs if run.ledger in found)

    @property
    def comparable(self) -> bool:
        """Whether any strategy can be compared with the baseline in money."""
        return any(run.annual_savings is not None for run in self.runs)


def compare(scenario: Scenario, home: Home | None = None, best: bool = False) -> Comparison:
    """Run every strategy of a scenario, and the home without any system.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    home : Home, optional
        From ``home_from``.
    best : bool
        Also find the optimum, which takes some seconds; of quarter hours about ten times as long as of hours.

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
    baseline, found = without_system(scenario, home), optimum(home) if best else None
    solar_only = without_battery(scenario, home) if home.limits.capacity_kwh > 0.0 and home.stays_connected else None
    runs = [simulate(scenario, strategy.name, home) for strategy in scenario.strategies]
    if found is not None:
        runs = [replace(run, optimum_share=_share(run, baseline, found)) for run in runs]
        solar_only = solar_only and replace(solar_only, optimum_share=_share(solar_only, baseline, found))
    return Comparison(home, tuple(runs), scenario.name, scenario.rate_plan.currency, baseline, solar_only, found)


def _share(run: Run, baseline: Run, best: Optimum) -> float | None:
    """Return the share of the optimum's savings that a run earns; None where that is not known."""
    if best.listed_cost is None:
        return None
    # Not from the bills: their lines are rounded to the cent, and a share near 1 would show it.
    nothing, cost = (
        listed_cost(each.flows["import_kw"], each.flows["export_kw"], each.flows.prices) for each in (baseline, run)
    )
    most = nothing - best.listed_cost
    return (nothing - cost) / most if most > 0.0 else None
