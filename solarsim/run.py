"""One run: a home and a strategy in, flows and ledger out."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from solarsim.dispatch.conflicts import conflicts
from solarsim.dispatch.strategy import dispatch_from
from solarsim.engine.records import GRID_ALONE, cells_at_ease
from solarsim.engine.year import Year, run_year
from solarsim.hardware.cell_temperature import Bank
from solarsim.hardware.limits import limits_from
from solarsim.home import Home, home_of
from solarsim.ledger.flows import Floats, Flows, flows_from_year, flows_without_system
from solarsim.ledger.ledger import ENERGY, Ledger, ledger_from
from solarsim.ledger.money import annual_savings
from solarsim.results import Fact, Result, computed, fact
from solarsim.scenario.model import Scenario
from solarsim.scenario.strategy import Strategy

if TYPE_CHECKING:
    import pandas as pd

#: Name of the rule under which a home without a battery runs.
SOLAR_ONLY = "solar, no battery"
_GAP_KWH = 0.01
_NOTHING_KWH, _NOTHING = 0.5, 0.005  # in a year; the second in money


@dataclass(frozen=True, eq=False, repr=False)
class Run(Result):
    """One strategy's year; sums of energy are keys, too, see ``ledger.ENERGY``.

    Examples
    --------
    >>> from solarsim import read_scenario, simulate
    >>> run = simulate(read_scenario(), "zero export")
    >>> run.export_kwh, float(run.hourly()["export_kw"].max())
    (0.0, 0.0)
    """

    strategy: str  # empty for the home without any system
    ledger: Ledger
    baseline: Ledger
    conflicts: tuple[str, ...] = ()  # orders of the strategy that work against each other, and what they cost
    battery_savings_share: float | None = fact(
        "share of the savings that a battery could add at the same reserve which this strategy earns; negative where"
        " it costs more than solar alone; null where not asked for, not known or hardly anything to save",
        "1",
        default=None,
    )

    misfits: tuple[str, ...] | None = fact(
        "why this strategy cannot be programmed into this inverter, empty where it can; null without"
        " inverter.programmable",
        "list",
        default=None,
    )

    @classmethod
    def facts(cls) -> dict[str, Fact]:
        """Return the name, the sums of energy, then all else."""
        own = super().facts()
        return {"name": own["name"], **ENERGY, **own}

    def __getattr__(self, key: str) -> float:
        if key in ENERGY:
            return self.ledger.annual_kwh[key]
        raise AttributeError(f"{type(self).__name__!r} has no attribute {key!r}")

    @computed("name of the strategy; empty for the home without any system", "text")
    def name(self) -> str:
        return self.strategy

    @computed("time in which some demand was unserved", "h")
    def unserved_h(self) -> float:
        return self.ledger.unserved_h

    @computed("share of the solar energy used that was not exported, directly or through the battery", "1")
    def self_consumption(self) -> float:
        return self.ledger.self_consumption

    @computed("share of load and standby that the sun served, directly or through the battery", "1")
    def self_sufficiency(self) -> float:
        return self.ledger.self_sufficiency

    @computed("battery_out_kwh / capacity", "1")
    def equivalent_full_cycles(self) -> float:
        return self.ledger.equivalent_full_cycles

    @computed("time in which the cells' temperature kept solar power out of the battery", "h")
    def temperature_blocked_h(self) -> float:
        return self.ledger.temperature_blocked_h

    @computed("highest mean of import in a step; peaks within a step are higher", "kW AC")
    def peak_import_kw(self) -> float:
        return self.ledger.peak_import_kw

    @computed("time in which a generator runs, idle or not", "h")
    def generator_h(self) -> float:
        return self.ledger.generator.run_h

    @computed("how often a generator starts", "1")
    def generator_starts(self) -> int:
        return self.ledger.generator.starts

    @computed("fuel that a generator burns", "l")
    def fuel_liters(self) -> float:
        return self.ledger.generator.liters

    @computed("fuel of a generator", "currency")
    def fuel_cost(self) -> float:
        return self.ledger.fuel_cost

    @computed("sum of the year's bill; negative if the year earns, 0 without a grid connection", "currency")
    def annual_bill(self) -> float:
        return self.ledger.annual_bill

    @computed("the year's bill by month, January to December", "currency")
    def monthly_bill(self) -> list[float]:
        return [float(self.ledger.bill.month_total(month)) for month in range(1, 13)]

    @computed("annual_bill + fuel_cost: cash", "currency")
    def energy_cost(self) -> float:
        return self.ledger.energy_cost

    @computed("unserved_kwh x outages.value_of_lost_load, no cash; null where the scenario states no value", "currency")
    def outage_cost(self) -> float | None:
        return self.ledger.outage_cost

    @computed("energy cost without any system less energy_cost; null where not comparable", "currency")
    def annual_savings(self) -> float | None:
        return annual_savings(self.ledger, self.baseline)

    @computed("largest amount by which the energy balance of any step fails to close", "kW")
    def balance_error_kw(self) -> float:
        return self.ledger.balance_error_kw

    @computed("stored energy at the year's end less at its start; 0 where the year closed", "kWh")
    def year_gap_kwh(self) -> float:
        return self.ledger.gap_kwh

    @property
    def notes(self) -> list[str]:
        """What the user must know of this run."""
        gap = f"{self.strategy!r}: the year ends {self.year_gap_kwh:+.2f} kWh off its start"
        return [*([gap] if abs(self.year_gap_kwh) > _GAP_KWH else []), *self.conflicts]

    @property
    def flows(self) -> Flows:
        """Every step."""
        return self.ledger.flows

    def hourly(self) -> "pd.DataFrame":
        """Return the hourly table, indexed by the start of each step."""
        return self.flows.table()

    def monthly(self) -> "pd.DataFrame":
        """Return kWh and bill by month."""
        return self.ledger.monthly()


def simulate(scenario: Scenario, strategy: str, home: Home | None = None) -> Run:
    """Run one strategy through the year.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    strategy : str
        The name of one of its strategies.
    home : Home, optional
        From ``home_from`` of this scenario, where several strategies are run.

    Returns
    -------
    Run
        Flows and ledger.

    Raises
    ------
    InputError
        See ``home_from``; or the strategy is not in the scenario.
    ValueError
        See ``home_of``.
    """
    chosen, home = scenario.strategy(strategy).name, home_of(scenario, home)
    ledger = close_year(home, chosen)
    reasons = None if home.misfits is None else home.misfits[chosen]
    return Run(chosen, ledger, close_year(home, None), tuple(_conflict_notes(home, chosen, ledger)), misfits=reasons)


def _conflict_notes(home: Home, strategy: str, ledger: Ledger) -> Iterator[str]:
    """Yield the conflicts among a strategy's orders, each with what a second year without it would be."""
    inputs = home.inputs(strategy)
    cycles = ledger.equivalent_full_cycles
    for found in conflicts(inputs.dispatch, home.timeline.step_h, ledger.capacity_kwh, cycles):
        other = ledger_of(home, run_year(inputs._replace(dispatch=found.without)))
        more_kwh = other.sums["pv_to_battery_kwh"] - ledger.sums["pv_to_battery_kwh"]
        cost = other.energy_cost - ledger.energy_cost
        currency = home.rate_plan.currency
        effect = (
            f"{abs(more_kwh):,.0f} kWh {'more' if more_kwh > 0 else 'less'} solar energy a year would enter the"
            f" battery, and energy would cost {abs(cost):,.2f} {currency} {'more' if cost > 0 else 'less'}"
        )
        if abs(more_kwh) < _NOTHING_KWH and abs(cost) < _NOTHING:
            effect = "nothing would change"
        yield f"{strategy!r}: {found.what}; {found.remedy} {effect}"


def without_system(scenario: Scenario, home: Home | None = None) -> Run:
    """Run the home without any system: the grid serves all of its load.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    home : Home, optional
        From ``home_from``.

    Returns
    -------
    Run
        The baseline of all savings. A home without a grid connection is compared with the same home on the grid.

    Raises
    ------
    InputError
        See ``home_from``.
    ValueError
        See ``home_of``.
    """
    ledger = close_year(home_of(scenario, home), None)
    return Run("", ledger, ledger)


def without_battery(scenario: Scenario, home: Home | None = None) -> Run:
    """Run the home with its arrays and inverter but no battery: the sun serves the home, the rest is exported.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    home : Home, optional
        From ``home_from``.

    Returns
    -------
    Run
        What solar alone earns, under the utility's export limit only.

    Raises
    ------
    InputError
        See ``home_from``.
    ValueError
        See ``home_of``.
    """
    home = home_of(scenario, home)
    return Run(SOLAR_ONLY, close_year(home_without_battery(home), SOLAR_ONLY), close_year(home, None))


def home_without_battery(home: Home) -> Home:
    """Return the home with its arrays and inverter but no battery; its one strategy is ``SOLAR_ONLY``.

    It exports its surplus under the utility's export limit only, and stops with the grid. It knows nothing of who
    serves without the grid: its baseline is that of the home itself.
    """
    scenario = home.scenario
    limits = limits_from(scenario.inverter, None, home.timeline.step_h)
    rule = Strategy(name=SOLAR_ONLY, surplus_to="grid", battery_serves_load=False, reserve=0.0)
    dispatch = dispatch_from(rule, scenario.grid, home.timeline)
    if home.supply is not None:
        dispatch = dispatch._replace(grid=home.supply.grid)
    bank = Bank(None, cells_at_ease(limits, len(home.timeline)))
    return replace(home, limits=limits, bank=bank, switching=GRID_ALONE, supply=None, dispatches={SOLAR_ONLY: dispatch})


def close_year(home: Home, strategy: str | None, start_soc: float | None = None, table: Floats | None = None) -> Ledger:
    """Run one year and return its ledger, for studies of many years.

    ``strategy`` None is the home without any system. ``start_soc`` is a guess, 0-1: that of the year before
    saves a pass. The engine writes into ``table``, see ``run_year``; the steps of such a year are not kept.
    """
    if strategy is None:
        flows = flows_without_system(home.timeline, home.prices, home.load_kw, home.grid_without_system)
        return ledger_from(flows, None, home.scenario.value_of_lost_load, keep_steps=table is None)
    start_kwh = None if start_soc is None else max(home.limits.minimum_kwh, start_soc * home.limits.capacity_kwh)
    return ledger_of(home, run_year(home.inputs(strategy), start_kwh, table), keep_steps=table is None)


def ledger_of(home: Home, year: Year, keep_steps: bool = True) -> Ledger:
    """Return the ledger of a home with its system."""
    scenario, flows = home.scenario, flows_from_year(home.timeline, home.prices, year)
    return ledger_from(flows, scenario.generator_in_use, scenario.value_of_lost_load, home.has_grid, keep_steps)
