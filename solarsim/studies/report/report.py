"""What is handed over: scenarios in; the results of the other commands, with the strategy that is recommended, out.

Nothing is computed here that another study does not compute; only what is chosen from their results, and why.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from solarsim.errors import UnknownNameError, nearest
from solarsim.home import Home, home_of
from solarsim.ledger.cash_flow import below_zero_again
from solarsim.results import Result, fact
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import Need
from solarsim.studies.bill import BillStudy, bill
from solarsim.studies.compare.compare import Comparison, compare
from solarsim.studies.flows import FlowsYear
from solarsim.studies.life.life import Life, life
from solarsim.studies.life.strategy_life import StrategyLife
from solarsim.studies.offers import Offers, offers
from solarsim.studies.outages.outages import BackupMonth, Outages, outages
from solarsim.studies.report._missing import Missing, missing_from, no_offers
from solarsim.studies.report._ratings import Ratings, ratings_of
from solarsim.studies.risk.risk import Risk, risk
from solarsim.studies.roof import Roof, roof
from solarsim.studies.savings import Savings, savings
from solarsim.studies.sheet._days import SheetDay
from solarsim.studies.sheet.sheet import Sheet, sheet
from solarsim.studies.wiring.wiring import Wiring, wiring

__all__ = ["PARTS", "SECTIONS", "HomeReport", "Report", "report"]

#: What the command needs beyond what every scenario has: what is missing is left out, and named.
NEEDS: tuple[Need, ...] = ()
#: The parts of a report, and the sections of each that can be left out; assumptions, sources and cautions always stay.
PARTS = {
    "household": (),
    "installer": ("ratings", "purchase", "roof", "settings", "wiring", "strategies", "months", "bills"),
    "bank": ("certainty", "cash", "payments", "sensitivity"),
}
SECTIONS = tuple(name for part, sections in PARTS.items() for name in (part, *sections))
_Progress = Callable[[str], None]


@dataclass(frozen=True, eq=False, repr=False)
class HomeReport(Result):
    """One scenario: what the other commands say of it, and what of that is shown first."""

    home: Home
    comparison: Comparison
    flows: tuple[FlowsYear, ...]  # one for each strategy, in the scenario's order
    bill: BillStudy
    sheet: Sheet
    roof: Roof
    savings: Savings | None
    life: Life | None
    risk: Risk | None
    outages: Outages | None
    wiring: Wiring | None
    name: str = fact("what it is called: the name of its file", "text")
    scenario: str = fact("name of the scenario", "text")
    currency: str = fact("ISO 4217 code of all money", "text")
    calendar_year: int = fact("the year that is simulated", "year")
    weather: str = fact("where its weather is from", "text")
    latitude_deg: float = fact("of the weather, north positive", "deg")
    longitude_deg: float = fact("of the weather, east positive", "deg")
    strategy: str = fact("name of the strategy that the report recommends", "text")
    chosen_by: str = fact("npv (the highest), energy_cost (the lowest) or user", "text")
    strategy_number: int = fact("its place among the strategies, from 0", "1")
    ratings: Ratings = fact("what an interconnection form asks for", "record")
    mean_monthly_bill: float = fact("a twelfth of the year's bill with the recommended strategy", "currency")
    mean_monthly_baseline_bill: float = fact("a twelfth of the year's bill without any system", "currency")
    mean_daily_demand_kwh: float = fact("load and standby of a mean day", "kWh")
    below_zero_again: int | None = fact(
        "year in which the balance falls below 0 again after it has reached it; null: never, or not known", "year"
    )
    incentives: float | None = fact("received over the life; null without life or costs", "currency")
    sunny_day: SheetDay | None = fact("the sunny day of sheet with the most solar energy; null without one", "record")
    cloudy_day: SheetDay | None = fact("the cloudy day of sheet with the least solar energy, likewise", "record")
    shortest_backup: BackupMonth | None = fact(
        "the month whose outages are backed up for the shortest time, by the median; null where outages are not known",
        "record",
    )
    longest_backup: BackupMonth | None = fact("the month with the longest, likewise", "record")
    missing: tuple[Missing, ...] = fact("what could not be computed, and the keys to add for it", "table")

    @property
    def best(self) -> StrategyLife | None:
        """Life of the recommended strategy; None without the tables ``life`` and ``costs``."""
        return None if self.life is None else self.life.strategies[self.strategy_number]


@dataclass(frozen=True, eq=False, repr=False)
class Report(Result):
    """What is handed over to a household, its installer and its bank."""

    _rows = "homes"

    offers: Offers | None  # side by side, where there are several scenarios
    made_on: date = fact("day on which the report was made", "date")
    without: tuple[str, ...] = fact("parts and sections that were left out", "list")
    homes: tuple[HomeReport, ...] = fact("one for each scenario, in the order given", "list")
    no_offers: Missing | None = fact(
        "why several scenarios could not be compared as offers; null where they were, or where there is one", "record"
    )
    notes: tuple[str, ...] = fact("what a reader should know", "list")

    def has(self, section: str) -> bool:
        """Return whether a part or a section is in the report."""
        part = next(name for name, sections in PARTS.items() if section in (name, *sections))
        return not {part, section} & set(self.without)


def report(
    scenarios: Scenario | Sequence[Scenario],
    names: Sequence[str] | None = None,
    strategy: str | None = None,
    without: Iterable[str] = (),
    lifetimes: int | None = None,
    workers: int = 1,
    made_on: date | None = None,
    progress: _Progress | None = None,
    home: Home | None = None,
) -> Report:
    """Collect what the other commands say of one home, or of several offers for it.

    Parameters
    ----------
    scenarios : Scenario or sequence of Scenario
        Several are offers for one home, see ``offers``.
    names : sequence of str, optional
        What each is called; the scenarios' own names if left out.
    strategy : str, optional
        The strategy that is recommended; if left out, that of the highest NPV, or where no NPV is known that of the
        lowest energy cost.
    without : iterable of str
        Parts and sections to leave out, see ``SECTIONS``.
    lifetimes : int, optional
        Number of lifetimes for P50 and P90, in place of the scenario's.
    workers : int
        Processes that share the lifetimes.
    made_on : date, optional
        The day that the report bears; today if left out.
    progress : callable, optional
        Called with a few words before each study.
    home : Home, optional
        From ``home_from`` of the one scenario.

    Returns
    -------
    Report
        Tables that a scenario does not have leave their part out and are named in ``missing``.

    Raises
    ------
    UnknownNameError
        A section to leave out does not exist; or a scenario has no such strategy.
    ScenarioError
        Several scenarios are not offers for one home, see ``offers``.
    InputError
        See ``home_from`` and the studies themselves.
    ValueError
        A home was given with several scenarios; or see ``home_of``.

    Examples
    --------
    >>> from solarsim import read_scenario, report
    >>> found = report(read_scenario(), without=["bank"])
    >>> found.homes[0].strategy
    'winter night charge'
    """
    several = [scenarios] if isinstance(scenarios, Scenario) else list(scenarios)
    called = [each.name for each in several] if names is None else list(names)
    left_out = tuple(dict.fromkeys(without))
    for name in left_out:
        if name not in SECTIONS:
            raise UnknownNameError(f"section {name!r} does not exist{nearest(name, SECTIONS)}")
    for scenario in several if strategy is not None else ():
        scenario.strategy(strategy or "")  # refused before anything is computed
    say = progress or (lambda _: None)
    why_not = no_offers(several, called)
    side_by_side = None
    if len(several) > 1:
        if home is not None:
            raise ValueError("a home belongs to one scenario, not to several")
        say("comparing the offers")
        side_by_side = offers(several, called) if why_not is None else None
    lives = [None] * len(several) if side_by_side is None else [each.life for each in side_by_side.offers]
    with_risk = "bank" not in left_out
    homes = tuple(
        _home_report(scenario, name, home, strategy, known, with_risk, lifetimes, workers, say)
        for scenario, name, known in zip(several, called, lives, strict=True)
    )
    single = len(homes) == 1
    notes = (note if single else f"{each.name}: {note}" for each in homes for note in _notes(each))
    return Report(
        offers=side_by_side,
        made_on=made_on or date.today(),
        without=left_out,
        homes=homes,
        no_offers=why_not,
        notes=tuple(dict.fromkeys(notes)),
    )


def _notes(each: HomeReport) -> Iterable[str]:
    """Return the notes of all studies of a home."""
    studies = (each.comparison, each.life, each.risk, each.outages, each.wiring)
    return (note for study in studies if study is not None for note in study.notes)


def _home_report(
    scenario: Scenario,
    name: str,
    home: Home | None,
    strategy: str | None,
    known: Life | None,
    with_risk: bool,
    lifetimes: int | None,
    workers: int,
    say: _Progress,
) -> HomeReport:
    """Run the studies of one scenario."""
    say(f"running the strategies of {name}")
    home = home_of(scenario, home if known is None else known.home)
    missing = missing_from(scenario)
    lacking = {each.study for each in missing}
    compared = compare(scenario, home)
    lived = known if known is not None or "life" in lacking else life(scenario, home=home)
    chosen, chosen_by = _recommended(scenario, strategy, lived, compared)
    number = [each.name for each in scenario.strategies].index(chosen)
    run = compared.runs[number]
    drawn = None
    if with_risk and "risk" not in lacking:
        say(f"running lifetimes of {name}")
        drawn = risk(scenario, chosen, home, lifetimes, workers=workers)
    say(f"looking at outages of {name}")
    out = None if "outages" in lacking else outages(scenario, chosen, home=home)
    keyed = sheet(scenario, chosen, home)
    months = () if out is None else out.months
    return HomeReport(
        home=home,
        comparison=compared,
        flows=tuple(FlowsYear(home, each, scenario.name, compared.currency) for each in compared.runs),
        bill=bill(scenario, chosen, home=home),
        sheet=keyed,
        roof=roof(scenario),
        savings=None if "savings" in lacking else savings(scenario, home=home),
        life=lived,
        risk=drawn,
        outages=out,
        wiring=None if "wiring" in lacking else wiring(scenario, home),
        name=name,
        scenario=scenario.name,
        currency=compared.currency,
        calendar_year=scenario.site.calendar_year,
        weather=home.weather.place,
        latitude_deg=home.weather.latitude_deg,
        longitude_deg=home.weather.longitude_deg,
        strategy=chosen,
        chosen_by=chosen_by,
        strategy_number=number,
        ratings=ratings_of(home),
        mean_monthly_bill=run.annual_bill / 12,
        mean_monthly_baseline_bill=compared.baseline.annual_bill / 12,
        mean_daily_demand_kwh=run.ledger.demand_kwh / 365,
        below_zero_again=None if lived is None else _below_zero_again(lived.strategies[number]),
        incentives=None if lived is None else sum(year.incentives for year in lived.strategies[number].years),
        sunny_day=max(_days(keyed, "sunny"), key=lambda day: day.pv_available_kwh, default=None),
        cloudy_day=min(_days(keyed, "cloudy"), key=lambda day: day.pv_available_kwh, default=None),
        shortest_backup=min(months, key=lambda month: month.backup_duration_h, default=None),
        longest_backup=max(months, key=lambda month: month.backup_duration_h, default=None),
        missing=missing,
    )


def _below_zero_again(lived: StrategyLife) -> int | None:
    return None if lived.cash is None else below_zero_again(lived.cash)


def _days(keyed: Sheet, sky: str) -> list[SheetDay]:
    return [day for day in keyed.days if day.sky == sky]


def _recommended(scenario: Scenario, strategy: str | None, lived: Life | None, compared: Comparison) -> tuple[str, str]:
    """Return the strategy to recommend, and by what it was chosen."""
    if strategy is not None:
        return scenario.strategy(strategy).name, "user"
    if lived is not None and lived.best is not None:
        return lived.best.name, "npv"
    return compared.lowest[0].name, "energy_cost"
