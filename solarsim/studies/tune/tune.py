"""Tuning: a scenario in; the settings with the lowest cost that can be programmed, with what each line saves, out.

The table is searched on the scenario's own year, scored by the ledger's own total, and judged on other years.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from solarsim.home import Home, Parts, home_from, home_of
from solarsim.ledger.money import annual_savings
from solarsim.load.household import Household
from solarsim.results import Result, computed, fact
from solarsim.run import Run, simulate
from solarsim.scenario.model import Scenario
from solarsim.scenario.programmable import Programmable
from solarsim.scenario.strategy import Strategy
from solarsim.studies._other_years import with_strategy
from solarsim.studies.ladder.ladder import Ladder, ladder
from solarsim.studies.sheet.sheet import Sheet, sheet
from solarsim.studies.tune._lines import TunedLine, lines_of
from solarsim.studies.tune._mean_days import MeanDay, mean_days
from solarsim.studies.tune._other_conditions import OutOfSampleYear, holidays_cost, out_of_sample
from solarsim.studies.tune._problem import (
    NEEDS,
    RUNS,
    Asked,
    check_asked,
    machine_of,
    moves_of,
    plain_strategy,
    season_starts,
)
from solarsim.studies.tune._reference import Reference, Rival, reference_of
from solarsim.studies.tune._score import Scorer
from solarsim.studies.tune._search import Found, Search
from solarsim.studies.tune._starts import additions_of, starts_of
from solarsim.studies.tune._table import calendar_of, strategy_of
from solarsim.studies.tune._tidy import tidied

__all__ = ["NAME", "NEEDS", "OutOfSampleYear", "Tuned", "TunedLine", "tune", "with_ladder"]

NAME = "tuned"  #: of the table among the strategies; with a number where one has this name
_CLEARLY = 0.005  # less money a year is none


@dataclass(frozen=True, eq=False, repr=False)
class Tuned(Result):
    """The settings with the lowest cost. Costs are energy cost, outage cost where lost load has a value, and wear."""

    _rows = "lines"

    home: Home  # of the scenario with the table among its strategies
    found: Strategy  # the table; of the name and settings of a written strategy where nothing better was found
    run: Run
    sheet: Sheet
    days: tuple[MeanDay, ...]
    own_notes: tuple[str, ...]
    scenario: str = fact("name of the scenario", "text")
    currency: str = fact("ISO 4217 code of all money here", "text")
    strategy: str = fact("name of the table among the strategies", "text")
    is_new: bool = fact("false: the table has the settings of a written strategy in every hour", "true or false")
    windows: int = fact("how many windows it has besides the base settings", "1")
    reserve: float = fact("state of charge kept for outages, by it and by all that it is compared with", "1")
    energy_cost: float = fact("bill and fuel of the year under it", "currency")
    annual_savings: float | None = fact(
        "energy cost without any system less energy_cost; null where not comparable", "currency"
    )
    wear_price: float = fact("wear for each kWh of battery_out_kwh; 0 where it is not counted", "currency/kWh")
    cost: float = fact("energy cost, outage cost and wear", "currency")
    battery_savings_share: float | None = fact(
        "share of the savings that a battery could add at this reserve, less wear, which the table earns; null where"
        " not known",
        "1",
    )
    optimum_cost: float | None = fact(
        "lowest energy cost and wear that any control could reach at this reserve; null where there is no bound",
        "currency",
    )
    solar_only_cost: float = fact("energy cost of the same home without its battery", "currency")
    best_written: str = fact("strategy of the scenario with the lowest cost at this reserve; empty: none", "text")
    best_written_cost: float = fact("its cost; of a strategy without windows where there is none", "currency")
    best_written_share: float | None = fact("its battery_savings_share; null where not known", "1")
    written: tuple[Rival, ...] = fact("the strategies that it is compared with", "table")
    holidays_cost: float | None = fact(
        "what it costs a year that windows for some days know no holidays; null where that makes no difference",
        "currency",
    )
    line_price: float = fact("what each window and each further setting must earn a year to be kept", "currency")
    runs: int = fact("how many years were run in the search", "1")
    seed: int = fact("random seed of search and other years", "1")
    lines: tuple[TunedLine, ...] = fact("each window, and each setting of windows with several", "table")
    out_of_sample: tuple[OutOfSampleYear, ...] = fact("years that the table was not tuned on", "table")
    out_of_sample_best: str = fact("written strategy of the lowest mean cost in these years; empty: none", "text")
    ladder: Ladder | None = fact(
        "this table among other ways to control the battery; null where not asked for", "record", default=None
    )

    @computed("mean gain of the years that it was not tuned on", "currency")
    def out_of_sample_gain(self) -> float:
        gains = [each.cost - each.best_written_cost for each in self.out_of_sample]
        return -sum(gains) / len(gains)

    @computed(
        "whether it earns more than the best written strategy in the mean of these years by more than line_price, and"
        " in none of them less by more than that: a smaller gain is not worth programming an inverter anew",
        "true or false",
    )
    def recommended(self) -> bool:
        enough = max(_CLEARLY, self.line_price)
        return bool(self.out_of_sample_gain > enough and self.worst_year.gain >= -enough)

    def rival(self, name: str) -> Rival | None:
        """Return what a written strategy costs in the year of the tuning; None where it is none of them."""
        return next((each for each in self.written if each.strategy == name), None)

    @property
    def worst_year(self) -> OutOfSampleYear:
        """The year that it was not tuned on in which it does worst against the best written strategy."""
        return min(self.out_of_sample, key=lambda each: each.gain)

    @property
    def scenario_tuned(self) -> Scenario:
        """The scenario with the table among its strategies."""
        return self.home.scenario

    @computed("what a reader should know", "list")
    def notes(self) -> list[str]:
        return [*self.own_notes, *self.home.notes(self.run)]


def tune(
    scenario: Scenario,
    *,
    reserve: float | None = None,
    wear: float | None = None,
    worth: float = 0.001,
    holidays: bool = False,
    seasons: Sequence[tuple[str, str]] = (),
    seed: int = 1,
    runs: int = RUNS,
    home: Home | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Tuned:
    """Search for the settings with the lowest cost that the inverter can be programmed with.

    Parameters
    ----------
    scenario : Scenario
        With a battery and a grid connection.
    reserve : float, optional
        State of charge kept for outages, 0-1; that of the first strategy's base if left out.
    wear : float, optional
        Wear of the battery for each kWh of ``battery_out_kwh`` [currency/kWh]; by the model of its chemistry if left
        out.
    worth : float
        What each window and each further setting must earn in a year, as a share of the bill without any system, 0-1.
    holidays : bool
        Windows for some days treat holidays as weekends; no inverter clock knows them.
    seasons : sequence of tuple of str
        First and last day, MM-DD, of seasons; the rest of the year is one more. They are searched if left out.
    seed : int
        The same seed finds the same table.
    runs : int
        Most years that are run in the search.
    home : Home, optional
        From ``home_from`` of this scenario.
    progress : callable, optional
        Called with the number of years run and of those to be run at most.

    Returns
    -------
    Tuned
        The table, what it earns and what its lines earn.

    Raises
    ------
    ScenarioError
        No battery, no grid connection, nothing to tune, or what is asked does not go with the home.
    InputError
        What is asked is out of range; or see ``home_from``.
    ValueError
        See ``home_of``.
    """
    asked = Asked(reserve, worth, wear, holidays, tuple(seasons), seed, runs)
    check_asked(scenario, asked)
    plain, machine = plain_strategy(scenario, asked.reserve), machine_of(scenario)
    starts_on = season_starts(asked, machine)
    reference = reference_of(home_of(scenario, home), plain, asked)
    reference.check_stake()
    search = _search(reference, asked, machine, starts_on, progress)
    cuts = tuple(map(search.scorer.calendar.cut_days.index, starts_on)) if asked.seasons else None
    starts = starts_of(search, reference, cuts)
    found = search.best_from(starts, reference.stake, additions_of(search, reference))
    if found.cost > reference.best_cost:
        found = search.shortest_within(starts, reference.best_cost) or found
    found = search.found(tidied(found.table, search.scorer))
    strategy = strategy_of(found.table, search.scorer.calendar, plain, _free_name(scenario))
    return _tuned(reference, asked, search, found, strategy)


def with_ladder(tuned: Tuned, forecast_error: float = 0.3) -> Tuned:
    """Add the ladder: the table beside other ways to control the battery, at the same reserve and wear.

    Parameters
    ----------
    tuned : Tuned
        From ``tune``.
    forecast_error : float
        Standard deviation of forecast / truth of each day's sun and load, 0 to 2.

    Returns
    -------
    Tuned
        With its ladder, on the given year and on the other years.

    Raises
    ------
    ScenarioError
        The error is outside its range, or the home has no ladder, see ``ladder``.
    """
    found = ladder(
        tuned.home.scenario,
        home=tuned.home,
        tuned=tuned.found,
        reserve=tuned.reserve,
        forecast_error=forecast_error,
        wear_price=tuned.wear_price,
        seed=tuned.seed,
    )
    return replace(tuned, ladder=found)


def _search(
    reference: Reference,
    asked: Asked,
    machine: Programmable,
    starts_on: tuple[int, ...],
    progress: Callable[[int, int], None] | None,
) -> Search:
    """Return a search with nothing found yet."""
    home, plain = reference.home, reference.plain
    calendar = calendar_of(home.timeline, home.rate_plan, asked.holidays, starts_on)
    scorer = Scorer(home, calendar, plain, machine, reference.wear_price, reference.allowed_kwh)
    line_price = asked.worth * reference.baseline.exact_energy_cost
    told = None if progress is None else lambda runs: progress(min(runs, asked.runs), asked.runs)
    moves = moves_of(home, plain, machine, calendar, asked)
    return Search(scorer, moves, line_price, asked.runs, asked.seed, told)


def _free_name(scenario: Scenario) -> str:
    """Return a name for the table that no strategy of the scenario has."""
    taken = {each.name.casefold() for each in scenario.strategies}
    names = (NAME, *(f"{NAME} {number}" for number in range(2, len(taken) + 3)))
    return next(name for name in names if name not in taken)


def _tuned(reference: Reference, asked: Asked, search: Search, found: Found, strategy: Strategy) -> Tuned:
    """Run the table as every command does, and judge it on other years."""
    known = reference.written_as(with_strategy(reference.home, strategy).dispatches[strategy.name])
    if known is not None:
        strategy = strategy.model_copy(update={"name": known})
    home = _home_with(reference.home, () if known else (strategy,))
    run = simulate(home.scenario, strategy.name, home)
    best = reference.best
    best_ledger = reference.ledgers[best.name]
    before = Run(best.name, best_ledger, reference.baseline)
    years, best_there = out_of_sample(reference, asked, strategy)
    shown = sheet(home.scenario, strategy.name, home)
    return Tuned(
        home=home,
        found=strategy,
        run=run,
        sheet=shown,
        days=tuple(mean_days(shown.parts, before.flows, run.flows)),
        own_notes=reference.notes,
        scenario=home.scenario.name,
        currency=home.rate_plan.currency,
        strategy=strategy.name,
        is_new=known is None,
        windows=len(strategy.windows),
        reserve=strategy.reserve,
        energy_cost=run.energy_cost,
        annual_savings=annual_savings(run.ledger, reference.baseline),
        wear_price=reference.wear_price,
        cost=reference.cost(run.ledger),
        battery_savings_share=reference.share(run.ledger),
        optimum_cost=reference.bound,
        solar_only_cost=reference.solar_only.energy_cost,
        best_written="" if best is reference.plain else best.name,
        best_written_cost=reference.best_cost,
        best_written_share=reference.share(best_ledger),
        written=tuple(map(reference.rival, reference.written)),
        holidays_cost=holidays_cost(reference, strategy),
        line_price=search.line_price,
        runs=search.scorer.runs,
        seed=asked.seed,
        lines=tuple(lines_of(search, found, strategy, home)),
        out_of_sample=years,
        out_of_sample_best="" if best_there is reference.plain else best_there.name,
    )


def _home_with(home: Home, more: Sequence[Strategy]) -> Home:
    """Return the home of the scenario with strategies more."""
    own = [each.model_dump(by_alias=True, exclude_none=True, exclude_defaults=True, mode="json") for each in more]
    changed = home.scenario.changed({"strategies": [*home.scenario.tables["strategies"], *own]})
    household = Household(home.load_kw, home.critical_kw, {}, None, home.load_notes)
    parts = Parts(home.timeline, home.weather, home.prices, bank=home.bank, production=home.production)
    return home_from(changed, household, parts)
