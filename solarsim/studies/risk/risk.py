"""The risk of the money: a scenario with spreads in; a thousand simulated lifetimes, and what drives them, out."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from solarsim.home import Home, home_from, home_of
from solarsim.ledger.purchase import Purchase, costs_of
from solarsim.results import Result, computed, fact
from solarsim.scenario.costs import Costs
from solarsim.scenario.life import Lifetime, Uncertainty
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import COSTS, LIFE, SPREADS, UNCERTAINTY, require
from solarsim.studies.life.life import assumed, cells_left_by_age, settings_of
from solarsim.studies.life.stages import replacements_in, stages_from
from solarsim.studies.life.system import solar_only_from, system_from
from solarsim.studies.risk._draws import HIGH, LOW, MIDDLE, WEATHER, draw, ends_of, middle_course
from solarsim.studies.risk._lifetimes import Job, outcomes_of

#: What the command needs beyond what every scenario has.
NEEDS = (COSTS, LIFE, UNCERTAINTY, SPREADS)

__all__ = ["WEATHER", "InputSwing", "Percentiles", "Risk", "percentiles", "risk"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False, repr=False)
class Percentiles(Result):
    """P90, the cautious end, P50 and P10 of the lifetimes.

    P90 of savings and net present value is reached or exceeded in 90% of the lifetimes; P90 of a payback is not
    exceeded in 90% of them.
    """

    p90: float | None = fact(
        "the cautious end: as good or better in 90% of the lifetimes; null: never", "as of its key"
    )
    p50: float | None = fact("as good or better in half of the lifetimes", "as of its key")
    p10: float | None = fact("as good or better in 10% of the lifetimes", "as of its key")


@dataclass(frozen=True, eq=False, repr=False)
class InputSwing(Result):
    """What one uncertain input alone does to the net present value."""

    name: str = fact("the key in [life], or weather", "text")
    low_value: float = fact(
        "10th percentile of the input: a rate a year; of weather, solar energy / typical year's", "1"
    )
    high_value: float = fact("90th percentile of the input", "1")
    npv_at_low: float | None = fact("NPV there, the other inputs at their medians; null: not comparable", "currency")
    npv_at_high: float | None = fact("NPV at high_value, likewise", "currency")

    @computed("distance of the two; null where one of them is", "currency")
    def swing(self) -> float | None:
        if self.npv_at_low is None or self.npv_at_high is None:
            return None
        return abs(self.npv_at_high - self.npv_at_low)


@dataclass(frozen=True, eq=False, repr=False)
class Risk(Result):
    """Many lifetimes of one strategy."""

    _rows = "inputs"

    home: Home  # of the first year, typical weather
    settings: Lifetime
    costs: Costs
    purchase: Purchase
    replacements: Mapping[str, tuple[int, ...]]  # years at whose end each part is replaced
    solar_only_npv_of_each: Floats | None  # None: there is no such home, or what it costs is not known
    npv_of_each: Floats  # in the order of drawing; minus infinity: not comparable
    savings_of_each: Floats  # likewise
    payback_of_each: Floats  # infinity: never
    solar_kwh_of_each: Floats  # in the first year
    strategy: str = fact("name of the strategy", "text")
    seed: int = fact("seed of the draws", "1")
    unserved_kwh: float = fact("mean unserved demand a year", "kWh")
    unserved_h: float = fact("mean time a year in which some demand was unserved", "h")
    npv_at_medians: float | None = fact(
        "NPV with every uncertain input at its median; null: not comparable", "currency"
    )
    inputs: tuple[InputSwing, ...] = fact("every uncertain input, the strongest first", "list")
    notes: tuple[str, ...] = fact("what a reader should know", "list")
    cells_left: tuple[float, ...] | None = fact(
        "share of the battery's first capacity at the start of each year of its age, in every lifetime, from the model"
        " of its chemistry; null where battery_fade_per_year is stated",
        "1",
        default=None,
    )

    @computed("name of the scenario", "text")
    def scenario(self) -> str:
        return self.home.scenario.name

    @computed("ISO 4217 code of all money here", "text")
    def currency(self) -> str:
        return self.home.scenario.rate_plan.currency

    @computed("number of lifetimes", "1")
    def lifetimes(self) -> int:
        return self.npv_of_each.size

    @computed("lifetimes that leave too much unserved to compare; they count as the worst", "1")
    def lifetimes_not_comparable(self) -> int:
        return int((~np.isfinite(self.npv_of_each)).sum())

    @computed("net present value", "currency")
    def npv(self) -> Percentiles:
        return percentiles(self.npv_of_each)

    @computed("net present value of the same home without a battery; null where it is not known", "currency")
    def solar_only_npv(self) -> Percentiles | None:
        each = self.solar_only_npv_of_each
        return None if each is None else percentiles(each)

    @computed("npv less solar_only_npv, lifetime by lifetime: what the battery is worth", "currency")
    def battery_npv(self) -> Percentiles | None:
        each = self.solar_only_npv_of_each
        return None if each is None else percentiles(self.npv_of_each - each)

    @computed("share of the lifetimes in which the battery is worth its cost; null where not known", "1")
    def share_battery_pays(self) -> float | None:
        each = self.solar_only_npv_of_each
        return None if each is None else float((self.npv_of_each >= each).mean())

    @computed("mean of the years' savings", "currency")
    def average_savings(self) -> Percentiles:
        return percentiles(self.savings_of_each)

    @computed("solar energy of the first year that served the home or was exported, directly or stored", "kWh AC")
    def first_year_solar_kwh(self) -> Percentiles:
        return percentiles(self.solar_kwh_of_each)

    @computed("simple payback; p90: at most so long with 90% confidence; null: never, or under a contract", "years")
    def simple_payback_years(self) -> Percentiles:
        return percentiles(self.payback_of_each, larger_is_better=False)

    @computed("share of the lifetimes that pay back within the years; null under a contract", "1")
    def share_paid_back(self) -> float | None:
        return None if self.costs.contract is not None else float(np.isfinite(self.payback_of_each).mean())

    @computed("share of the lifetimes whose NPV is not below 0", "1")
    def share_npv_not_negative(self) -> float:
        return float((self.npv_of_each >= 0.0).mean())

    @computed("the tables [life] and [costs]", "record")
    def assumed(self) -> dict[str, Any]:
        return assumed(self.settings, self.costs)


def percentiles(values: Floats, larger_is_better: bool = True) -> Percentiles:
    """Return P90, P50 and P10 of some outcomes.

    Parameters
    ----------
    values : array of float
        Infinity stands for never, minus infinity for not comparable.
    larger_is_better : bool
        False for paybacks, costs and bills.

    Returns
    -------
    Percentiles
        Each is one of the values, so that "never" is not averaged; None where it is infinite.
    """
    shares = (LOW, MIDDLE, HIGH) if larger_is_better else (HIGH, MIDDLE, LOW)
    found = (float(each) for each in np.quantile(values, shares, method="inverted_cdf"))
    return Percentiles(*(each if isfinite(each) else None for each in found))


def risk(
    scenario: Scenario,
    strategy: str | None = None,
    home: Home | None = None,
    lifetimes: int | None = None,
    seed: int | None = None,
    workers: int = 1,
    progress: Callable[[int, int], None] | None = None,
    scheduler: str | None = None,
) -> Risk:
    """Simulate many lifetimes of a strategy, each with rates and weather of its own.

    Parameters
    ----------
    scenario : Scenario
        With costs, a life and its uncertainty.
    strategy : str, optional
        Which; the first one if left out.
    home : Home, optional
        From ``home_from`` of this scenario.
    lifetimes, seed : int, optional
        In place of the scenario's.
    workers : int
        Processes that share the work; the answer does not depend on it.
    progress : callable, optional
        Called with the number of lifetimes done, and of all.
    scheduler : str, optional
        Address of a running Dask scheduler, whose workers do the work instead; the answer is the same.

    Returns
    -------
    Risk
        Inputs are drawn independently: that prices of energy and of export mostly rise together is not in it.
        A rate is the same in all years of a lifetime: years of low and high prices in turn are not in it either.

    Raises
    ------
    ScenarioError
        The scenario has no ``costs``, no ``life`` or no ``life.uncertainty``; or see
        ``cells_left_by_age``.
    UnknownNameError
        The scenario has no such strategy.
    InputError
        See ``home_from``.
    MachineError
        Worker processes were ended again and again, for lack of memory for example.
    ValueError
        See ``home_of``; or there is less than one lifetime or worker.

    Examples
    --------
    >>> from solarsim import read_scenario, risk
    >>> npv = risk(read_scenario(), lifetimes=10).npv
    >>> npv.p90 <= npv.p50 <= npv.p10
    True
    """
    uncertainty, costs, settings = _uncertainty_of(scenario), costs_of(scenario), settings_of(scenario)
    chosen = scenario.strategies[0].name if strategy is None else scenario.strategy(strategy).name
    lifetimes = uncertainty.lifetimes if lifetimes is None else lifetimes
    seed = uncertainty.seed if seed is None else seed
    if lifetimes < 1 or workers < 1:
        raise ValueError(f"lifetimes {lifetimes} and workers {workers} must be 1 or more")
    home = home_of(scenario, home)
    files = uncertainty.weather_files or ()
    homes = (home, *(home_from(scenario.changed({"weather": file})) for file in files))

    stages = stages_from(homes, settings, files)
    purchase = stages[0].purchase
    courses = tuple(draw(settings, seed, number, len(files)) for number in range(lifetimes))
    yearly_kwh = np.array([each.production.dc_kw.sum() for each in homes]) * home.timeline.step_h
    ends = ends_of(settings, courses, yearly_kwh)
    all_courses = [*courses, middle_course(settings), *(way for each in ends for way in (each.low, each.high))]
    left = cells_left_by_age(home, chosen)
    job = Job(system_from(stages, chosen, costs, settings), solar_only_from(stages, costs, settings), left)
    outcomes = outcomes_of(job, all_courses, workers, progress, scheduler)

    at_medians, *at_ends = (each.npv if isfinite(each.npv) else None for each in outcomes[lifetimes:])
    inputs = [
        InputSwing(each.name, each.low_value, each.high_value, low, high)
        for each, low, high in zip(ends, at_ends[::2], at_ends[1::2], strict=True)
    ]
    npv, savings, payback, unserved_kwh, unserved_h, solar_only, solar_kwh = np.array(outcomes[:lifetimes]).T
    return Risk(
        home=home,
        settings=settings,
        costs=costs,
        purchase=purchase,
        replacements=replacements_in(stages, settings.years),
        strategy=chosen,
        seed=seed,
        solar_only_npv_of_each=None if job.solar_only is None else solar_only,
        npv_of_each=npv,
        savings_of_each=savings,
        payback_of_each=payback,
        solar_kwh_of_each=solar_kwh,
        unserved_kwh=float(unserved_kwh.mean()),
        unserved_h=float(unserved_h.mean()),
        npv_at_medians=at_medians,
        inputs=tuple(sorted(inputs, key=lambda each: -(each.swing or 0.0))),
        notes=tuple(dict.fromkeys([*(note for each in homes for note in each.notes()), *purchase.notes])),
        cells_left=left,
    )


def _uncertainty_of(scenario: Scenario) -> Uncertainty:
    """Return the spreads of a scenario's rates and weather; refuse a scenario that names none."""
    require(scenario, *NEEDS)
    uncertainty = settings_of(scenario).uncertainty
    assert uncertainty is not None  # noqa: S101  # for the type checker: require refuses
    return uncertainty
