"""The ladder: a home and its strategies in, what each smarter way to control the battery costs and saves out.

From solar alone over strategies that an inverter can be programmed with to controllers that plan the next hours every
night, and to the optimum; all at one reserve, on the given year and on others. Planning controllers are simulated as
they would act: what they do in an hour depends on nothing that they cannot know by then. Not modeled: what such a
controller costs and consumes, faults of its connection, and settings that the inverter would not take every hour.
"""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from math import inf

from solarsim.dispatch.programmable import misfits
from solarsim.dispatch.strategy import raised
from solarsim.engine.year import Year
from solarsim.errors import ScenarioError
from solarsim.home import Home, home_of
from solarsim.ledger.ledger import Ledger
from solarsim.ledger.money import serves_as_much
from solarsim.results import Result, fact
from solarsim.run import SOLAR_ONLY, close_year, home_without_battery, ledger_of
from solarsim.scenario.model import Scenario
from solarsim.scenario.strategy import Strategy
from solarsim.studies._other_years import other_years, with_strategy
from solarsim.studies.ladder._controllers import planned_year
from solarsim.studies.ladder._outlooks import forecast, known_hours, like_days
from solarsim.studies.optimum.optimum import battery_savings_share, free_year, optimum

_WORKERS = 2  # years that are computed side by side
_PLAIN = "plainest strategy"
_DECIMALS = 6  # of unserved kWh


@dataclass(frozen=True, eq=False, repr=False)
class Rung(Result):
    """One way to control the battery."""

    kind: str = fact(
        "solar_only, plainest, best_written, tuned, plans_from_past_days, plans_with_forecast, plans_with_known_hours"
        " or optimum",
        "text",
    )
    strategy: str | None = fact("name of the strategy; null where the battery follows none", "text")
    cost: float | None = fact("energy cost and wear of the given year; null where it is not known", "currency")
    battery_savings_share: float | None = fact(
        "share of the savings that a battery could add at this reserve, less wear; null where not known", "1"
    )
    equivalent_full_cycles: float | None = fact("battery_out_kwh / capacity in the given year; null for bounds", "1")
    unserved_kwh: float | None = fact("unserved demand of the given year; null for bounds", "kWh")
    other_cost: float | None = fact("mean energy cost and wear of the other years; null where not known", "currency")
    other_share: float | None = fact("mean of battery_savings_share in the other years; null where not known", "1")
    other_share_lowest: float | None = fact("lowest of battery_savings_share in the other years", "1")
    other_share_highest: float | None = fact("highest of battery_savings_share in the other years", "1")


@dataclass(frozen=True, eq=False, repr=False)
class Ladder(Result):
    """Ways to control one home's battery, from none to perfect foresight.

    Examples
    --------
    >>> from solarsim import ladder, read_scenario
    >>> result = ladder(read_scenario(), others=False)  # doctest: +SKIP
    >>> [rung.kind for rung in result.rungs][-1]  # doctest: +SKIP
    'optimum'
    """

    _rows = "rungs"

    home: Home  # what they share
    scenario: str = fact("name of the scenario", "text")
    currency: str = fact("ISO 4217 code of all money", "text")
    reserve: float = fact("reserve that all keep", "1")
    forecast_error: float = fact("standard deviation of forecast / truth of a day's sun and load", "1")
    wear_price: float = fact("wear for each kWh of battery_out_kwh; 0 where it is not counted", "currency/kWh")
    others: tuple[str, ...] = fact("what is other in each of the other years", "list")
    rungs: tuple[Rung, ...] = fact("from the plainest to the optimum", "table")
    why_no_optimum: str = fact("why there is no bound, and so no share; empty where there is one", "text")

    def rung(self, kind: str) -> Rung | None:
        """Return the rung of a kind; None where there is none.

        Parameters
        ----------
        kind : str
            See ``Rung.kind``.

        Returns
        -------
        Rung or None
            The one.
        """
        return next((each for each in self.rungs if each.kind == kind), None)


def ladder(
    scenario: Scenario,
    *,
    home: Home | None = None,
    tuned: Strategy | None = None,
    reserve: float | None = None,
    forecast_error: float = 0.3,
    wear_price: float = 0.0,
    others: bool = True,
    seed: int = 1,
) -> Ladder:
    """Compare ways to control the battery, from none to perfect foresight.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    home : Home, optional
        From ``home_from``.
    tuned : Strategy, optional
        A table that was found by search, from ``tune``.
    reserve : float, optional
        State of charge that all keep for outages, 0-1; left out, the base reserve of the first strategy.
    forecast_error : float
        Standard deviation of forecast / truth of each day's sun and load, 0 to 2.
    wear_price : float
        Wear of the battery for each kWh of ``battery_out_kwh`` [currency/kWh].
    others : bool
        Also on other years of the home, which takes eight times as long.
    seed : int
        Of forecast errors and other years.

    Returns
    -------
    Ladder
        One rung for each way.

    Raises
    ------
    InputError
        See ``home_from``.
    ScenarioError
        No battery, a home off the grid, or a number outside its range.
    ValueError
        See ``home_of``.
    """
    home = home_of(scenario, home)
    reserve = scenario.strategies[0].reserve if reserve is None else reserve
    _check(home, reserve, forecast_error, wear_price)
    plain = Strategy(name=_PLAIN, surplus_to="battery", battery_serves_load=True, reserve=reserve)
    ways = _Ways(plain, _best_written(home, plain, tuned, wear_price), tuned, forecast_error, wear_price)
    years = [("", home), *((each.name, each.home) for each in (other_years(home, seed) if others else ()))]
    with ThreadPoolExecutor(_WORKERS) as pool:  # the solver and the compiled plans let go of Python's lock
        jobs = [pool.submit(ways.costs, each, seed + number) for number, (_, each) in enumerate(years)]
        first, *rest = (job.result() for job in jobs)
    return Ladder(
        home=home,
        scenario=scenario.name,
        currency=home.rate_plan.currency,
        reserve=reserve,
        forecast_error=forecast_error,
        wear_price=wear_price,
        others=tuple(name for name, _ in years[1:]),
        rungs=tuple(_rung(kind, ways, first, rest) for kind in first.cost),
        why_no_optimum=first.why_no_optimum,
    )


def _check(home: Home, reserve: float, forecast_error: float, wear_price: float) -> None:
    """Refuse what has no ladder."""
    scenario = home.scenario
    problems = []
    if home.limits.capacity_kwh <= 0.0:
        problems.append("battery: there is none to control")
    elif not home.stays_connected:
        problems.append("arrangement: off the grid nothing can be planned: the battery serves whenever it can")
    if not 0.0 <= reserve <= 1.0:
        problems.append(f"reserve {reserve:g}: must be 0 to 1")
    if not 0.0 <= forecast_error <= 2.0:
        problems.append(f"forecast error {forecast_error:g}: must be 0 to 2; 0.3 is 30%")
    if not 0.0 <= wear_price < inf:
        problems.append(f"wear price {wear_price:g}: must be 0 or more")
    if problems:
        raise ScenarioError(*map(scenario.problem, problems))


def _cost(ledger: Ledger, wear_price: float) -> float:
    """Return energy cost and wear of a year, not rounded to cents."""
    worn = wear_price * ledger.annual_kwh["battery_out_kwh"] if wear_price > 0.0 else 0.0
    return ledger.exact_energy_cost + worn


def _best_written(home: Home, plain: Strategy, tuned: Strategy | None, wear_price: float) -> Strategy | None:
    """Return the written strategy of the lowest cost at the plain one's reserve, of those that the inverter takes."""
    machine, known = home.scenario.inverter.programmable, "" if tuned is None else tuned.name
    able = [each for each in home.scenario.strategies if each.name != known]
    able = [each for each in able if machine is None or not misfits(each, machine, home.timeline)]
    at_reserve = [raised(each, plain.reserve) for each in able]
    return min(at_reserve, key=lambda each: _cost(_run(home, each), wear_price), default=None)


def _run(home: Home, strategy: Strategy) -> Ledger:
    """Return the year of a strategy that need not be in the home's scenario."""
    return close_year(with_strategy(home, strategy), strategy.name)


@dataclass(frozen=True, eq=False)
class _Costs:
    """One year of each way, by kind: energy cost, share; cycles and unserved energy of what was simulated."""

    cost: dict[str, float | None]
    share: dict[str, float | None]
    cycles: dict[str, float]
    unserved_kwh: dict[str, float]
    why_no_optimum: str


@dataclass(frozen=True, eq=False)
class _Ways:
    """What is compared."""

    plain: Strategy
    written: Strategy | None
    tuned: Strategy | None
    forecast_error: float
    wear_price: float

    def costs(self, home: Home, seed: int) -> _Costs:
        """Run every way through one year."""
        home = with_strategy(home, self.plain)
        ledgers = {
            "solar_only": close_year(home_without_battery(home), SOLAR_ONLY),
            "plainest": close_year(home, self.plain.name),
        }
        if self.written is not None:
            ledgers["best_written"] = _run(home, self.written)
        if self.tuned is not None:
            ledgers["tuned"] = _run(home, self.tuned)
        ledgers |= {kind: ledger_of(home, year) for kind, year in self._planned(home, seed)}
        plain_kwh, baseline = ledgers["plainest"].unserved_kwh, close_year(home, None).exact_energy_cost
        best = optimum(home, self.plain.name, round(plain_kwh, _DECIMALS), self.wear_price)
        solar = ledgers["solar_only"].exact_energy_cost
        cost: dict[str, float | None] = {kind: _cost(each, self.wear_price) for kind, each in ledgers.items()}
        cost["optimum"] = best.energy_cost
        share = {
            kind: battery_savings_share(each, solar, baseline, best.energy_cost)
            if kind == "optimum" or serves_as_much(ledgers[kind], plain_kwh)
            else None
            for kind, each in cost.items()
        }
        cycles = {kind: each.equivalent_full_cycles for kind, each in ledgers.items() if kind != "solar_only"}
        unserved_kwh = {kind: each.unserved_kwh for kind, each in ledgers.items()}
        return _Costs(cost, share, cycles, unserved_kwh, best.why_none)

    def _planned(self, home: Home, seed: int) -> Iterator[tuple[str, Year]]:
        """Yield the year of each controller that plans."""
        year, steps = free_year(home, self.plain.name), len(home.timeline)
        a_day = steps // 365
        outlooks = {
            "plans_from_past_days": like_days(steps, a_day, home.timeline.day_kind),
            "plans_with_forecast": forecast(year, a_day, self.forecast_error, seed),
            "plans_with_known_hours": known_hours(steps, a_day),
        }
        for kind, outlook in outlooks.items():
            yield kind, planned_year(year, year, home.prices, outlook, self.wear_price)


def _rung(kind: str, ways: _Ways, first: _Costs, rest: list[_Costs]) -> Rung:
    """Return one way over all years."""
    strategy = {"plainest": ways.plain, "best_written": ways.written, "tuned": ways.tuned}.get(kind)
    costs = [each.cost[kind] for each in rest]
    shares = [share for each in rest if (share := each.share[kind]) is not None]
    known = [each for each in costs if each is not None]
    return Rung(
        kind=kind,
        strategy=None if strategy is None else strategy.name,
        cost=first.cost[kind],
        battery_savings_share=first.share[kind],
        equivalent_full_cycles=first.cycles.get(kind),
        unserved_kwh=first.unserved_kwh.get(kind),
        other_cost=sum(known) / len(known) if known and len(known) == len(costs) else None,
        other_share=sum(shares) / len(shares) if shares else None,
        other_share_lowest=min(shares, default=None),
        other_share_highest=max(shares, default=None),
    )
