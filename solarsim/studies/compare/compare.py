"""Every strategy side by side: a scenario in, one year of each and of no system at all out."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from solarsim.home import Home, home_of
from solarsim.ledger.bill import listed_cost
from solarsim.ledger.money import annual_savings, lowest
from solarsim.run import Run, simulate, without_battery, without_system
from solarsim.scenario.model import Scenario
from solarsim.studies.compare.optimum import Best, optimum

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, eq=False)
class Comparison:
    """The strategies of one scenario.

    Attributes
    ----------
    home : Home
        What they share.
    baseline : Run
        The home without any system.
    runs : tuple of Run
        One for each strategy, in the scenario's order.
    solar_only : Run, optional
        The same arrays and inverter without the battery; None where there is no battery.
    best : Best, optional
        The optimum, where it was asked for.
    """

    home: Home
    baseline: Run
    runs: tuple[Run, ...]
    solar_only: Run | None = None
    best: Best | None = None

    def annual_savings(self, run: Run) -> float | None:
        """Return what a run saves; None where it is not comparable with the baseline [currency a year]."""
        return annual_savings(run.ledger, self.baseline.ledger)

    @property
    def lowest(self) -> tuple[Run, ...]:
        """The runs of the lowest cost, less than 1 apart."""
        least = lowest((run.ledger for run in self.runs), within=1.0)
        return tuple(run for run in self.runs if run.ledger in least)

    def optimum_share(self, run: Run) -> float | None:
        """Share of the optimum savings that a run earns; None where that is not known."""
        if self.best is None or self.best.energy_cost is None:
            return None
        # Not from the bills: their lines are rounded to the cent, and a share near 1 would show it.
        nothing = self._listed_cost(self.baseline)
        most = nothing - self.best.energy_cost
        return (nothing - self._listed_cost(run)) / most if most > 0.0 else None

    def _listed_cost(self, run: Run) -> float:
        return listed_cost(run.flows["import_kw"], run.flows["export_kw"], self.home.prices)

    def record_of(self, run: Run) -> dict[str, object]:
        """Give a run as a record, keys as in the glossary."""
        record: dict[str, object] = {"name": run.strategy, **facts_of(run)}
        record["annual_savings"] = self.annual_savings(run)
        record["monthly_bill"] = [float(run.ledger.bill.month_total(month)) for month in range(1, 13)]
        if self.best is not None:
            record["optimum_share"] = self.optimum_share(run)
        return record

    def rows(self) -> list[dict[str, object]]:
        """Give one record for each strategy, keys as in the glossary."""
        return [self.record_of(run) for run in self.runs]

    def table(self) -> "pd.DataFrame":
        """Give the strategies as a pandas table, indexed by name."""
        import pandas as pd

        return pd.DataFrame(self.rows()).set_index("name").drop(columns="monthly_bill")


def facts_of(run: Run) -> dict[str, object]:
    """Give a run's year as a record, keys as in the glossary."""
    ledger = run.ledger
    return {
        **ledger.annual_kwh,
        "self_consumption": ledger.self_consumption,
        "self_sufficiency": ledger.self_sufficiency,
        "equivalent_full_cycles": ledger.equivalent_full_cycles,
        "temperature_blocked_h": ledger.temperature_blocked_h,
        "peak_import_kw": ledger.peak_import_kw,
        "generator_h": ledger.generator.run_h,
        "generator_starts": ledger.generator.starts,
        "fuel_liters": ledger.generator.liters,
        "fuel_cost": ledger.generator.fuel_cost,
        "annual_bill": ledger.annual_bill,
        "energy_cost": ledger.energy_cost,
        "outage_cost": ledger.outage_cost,
        "unserved_h": ledger.unserved_h,
        "balance_error_kw": ledger.balance_error_kw,
        "year_gap_kwh": run.year_gap_kwh,
    }


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
    return Comparison(
        home=home,
        baseline=without_system(scenario, home),
        runs=tuple(simulate(scenario, strategy.name, home) for strategy in scenario.strategies),
        solar_only=without_battery(scenario, home) if home.limits.capacity_kwh > 0.0 and home.stays_connected else None,
        best=optimum(home) if best else None,
    )
