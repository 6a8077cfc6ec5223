"""Offers side by side: scenarios of one home in; cost, savings, payback, NPV and backup of each out."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from solarsim.errors import ScenarioError
from solarsim.home import Home, home_from
from solarsim.results import Result, computed, fact
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import COSTS, LIFE, missing
from solarsim.studies.life.life import Life, life
from solarsim.studies.life.strategy_life import StrategyLife
from solarsim.studies.outages.worst_month import worst_month
from solarsim.studies.size.homes import Homes
from solarsim.studies.wiring.wiring import failure_notes

#: What the command needs beyond what every scenario has.
NEEDS = (COSTS, LIFE)

_SAME = ("site", "weather", "load")
_FILES = ("file", "other_files", "shape_file")
_TITLES = ("name", "description")
_FADE = "battery_fade_per_year"
_MOST_CHARACTERS = 60


@dataclass(frozen=True, eq=False, repr=False)
class Offer(Result):
    """One offer with its best strategy over the whole life."""

    life: Life
    name: str = fact("name of the offer", "text")
    strategy: str | None = fact("strategy of the highest NPV; null where none is comparable in money", "text")
    kw_dc: float = fact("rating of all arrays", "kWdc")
    kw_ac: float = fact("rating of the hybrid inverter", "kWac")
    usable_kwh: float = fact("energy of the battery above its low cutoff", "kWh")
    upfront_cost: float = fact(
        "parts and installation, before incentives; under a lease or power purchase agreement its payment at the start",
        "currency",
    )
    backup_month: int | None = fact("month of the shortest backup, 1 to 12; null where there is none", "1")
    backup_duration_h: float | None = fact(
        "backup duration in that month, median of all starts, at most 72; null without an arrangement", "h"
    )
    differences: Mapping[str, tuple[Any, Any]] = fact(
        "keys that differ from the first offer: its value, then this one's; 'written' for a table that only one has,"
        " null where the key is not written",
        "table",
    )

    @property
    def best(self) -> StrategyLife | None:
        """The life of the best strategy."""
        return self.life.best

    @computed("bill and fuel of the first year; null where not comparable", "currency")
    def energy_cost(self) -> float | None:
        return None if self.best is None else self.best.ledgers[0].energy_cost

    @computed("of the first year; null where not comparable", "currency")
    def annual_savings(self) -> float | None:
        return None if self.best is None or self.best.savings is None else float(self.best.savings[1])

    @computed(
        "simple payback over the life, as if paid in full at the purchase; null: never, not comparable, or under a"
        " contract",
        "years",
    )
    def payback_years(self) -> float | None:
        return None if self.best is None else self.best.payback_without_loan_years

    @computed("paid in the first year for a loan, lease or power purchase agreement; not in the savings", "currency")
    def first_year_payments(self) -> float:
        shown = self.best or self.life.strategies[0]
        paid = shown.payments
        return -float(paid.loan_payments[1] + paid.contract[1] + shown.energy_payments[1])

    @computed("whether it is paid under a lease or power purchase agreement", "true or false")
    def under_contract(self) -> bool:
        return self.life.costs.contract is not None

    @computed("net present value; null where not comparable", "currency")
    def npv(self) -> float | None:
        return None if self.best is None else self.best.npv

    @computed("internal rate of return; null: none, several, or not comparable", "1")
    def irr(self) -> float | None:
        return None if self.best is None else self.best.irr

    @computed("levelized cost of energy; null where not comparable", "currency/kWh")
    def lcoe(self) -> float | None:
        found: float | None = (self.best or self.life.strategies[0]).lcoe
        return found


@dataclass(frozen=True, eq=False, repr=False)
class Offers(Result):
    """Offers for one home, side by side."""

    _rows = "offers"

    home: Home  # of the first
    currency: str = fact("ISO 4217 code of all money here", "text")
    years: int = fact("length of the life of the first", "years")
    offers: tuple[Offer, ...] = fact("in the order given", "list")
    notes: tuple[str, ...] = fact("what a reader should know", "list")

    @computed("name of the offer with the lowest upfront cost", "text")
    def cheapest(self) -> str:
        return min(self.offers, key=lambda each: each.upfront_cost).name

    @computed("name of the offer with the highest NPV; null where none is comparable", "text")
    def highest_npv(self) -> str | None:
        known = [each for each in self.offers if each.npv is not None]
        return max(known, key=lambda each: each.npv or 0.0).name if known else None

    @computed("name of the offer with the shortest payback; null where none pays back", "text")
    def shortest_payback(self) -> str | None:
        known = [each for each in self.offers if each.payback_years is not None]
        return min(known, key=lambda each: each.payback_years or 0.0).name if known else None


def offers(scenarios: Sequence[Scenario], names: Sequence[str] | None = None) -> Offers:
    """Compare offers for one home.

    Parameters
    ----------
    scenarios : sequence of Scenario
        Two or more, each with costs and a life; site, weather, load and currency are the same in all.
    names : sequence of str, optional
        What each is called; the scenarios' own names if left out.

    Returns
    -------
    Offers
        Each with its best strategy by NPV.

    Raises
    ------
    ScenarioError
        Fewer than two offers; two of one name; or they differ in currency, site, weather or load; or one has no
        ``costs`` or ``life``.
    InputError
        See ``home_from``.

    Examples
    --------
    >>> from solarsim import offers, read_scenario
    >>> home = read_scenario()
    >>> found = offers([home, home.changed({"battery.bank.0.strings": 2})], ["small", "large"])
    >>> found.cheapest, found.offers[1].differences
    ('small', {'battery.bank.0.strings': (None, 2)})
    """
    called = list(names) if names is not None else [each.name for each in scenarios]
    problems = list(_problems(scenarios, called))
    if problems:
        raise ScenarioError(*problems)
    homes = Homes(home_from(scenarios[0]))
    found = tuple(
        _offer(scenario, name, homes.of(scenario, exact=True), scenarios[0])
        for scenario, name in zip(scenarios, called, strict=True)
    )
    common = found[0].life.notes
    own = (f"{each.name}: {note}" for each in found[1:] for note in each.life.notes if note not in common)
    checked = (
        f"{each.name}: {note}" for each in found for note in failure_notes(each.life.home.scenario, each.life.home)
    )
    return Offers(
        home=homes.home,
        currency=scenarios[0].rate_plan.currency,
        years=found[0].life.settings.years,
        offers=found,
        notes=(*common, *own, *checked),
    )


def _offer(scenario: Scenario, name: str, home: Home, first: Scenario) -> Offer:
    found = life(scenario, None, home)
    strategy, contract = None if found.best is None else found.best.name, found.costs.contract
    backup = worst_month(home, strategy or scenario.strategies[0].name)
    return Offer(
        life=found,
        name=name,
        strategy=strategy,
        kw_dc=home.production.rated_kw,
        kw_ac=scenario.inverter.ac_kw,
        usable_kwh=home.limits.capacity_kwh - home.limits.minimum_kwh,
        upfront_cost=found.upfront_cost if contract is None else contract.upfront_payment,
        backup_month=None if backup is None else backup[0],
        backup_duration_h=None if backup is None else backup[1],
        differences=_differences(first, scenario),
    )


def _problems(scenarios: Sequence[Scenario], names: Sequence[str]) -> Iterator[str]:
    """Yield why scenarios cannot be compared as offers."""
    if len(scenarios) < 2:
        yield "offers: name at least two files, or one file and --variant"
        return
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield f"offers: more than one is named {name!r}"
    for scenario in scenarios:
        yield from map(scenario.problem, missing(scenario, NEEDS))
    first = scenarios[0]
    for scenario, name in zip(scenarios[1:], names[1:], strict=True):
        currencies = first.rate_plan.currency, scenario.rate_plan.currency
        if currencies[0] != currencies[1]:
            yield f"offers: {name!r} is in {currencies[1]}, {names[0]!r} in {currencies[0]}; use one currency"
        for table in _SAME:
            one, other = (dict(_leaves({table: _placed(each, table)})) for each in (first, scenario))
            key = next((key for key in {**one, **other} if one.get(key) != other.get(key)), None)
            if key is not None:
                yield (
                    f"offers: {name!r} is for another home than {names[0]!r}: {key} is {_short(other.get(key))} there,"
                    f" {_short(one.get(key))} in the first"
                )
                break


def _short(value: Any) -> str:
    """Return a value in a few characters."""
    text = repr(value)
    return text if len(text) <= _MOST_CHARACTERS else f"{text[: _MOST_CHARACTERS - 3]}..."


def _placed(scenario: Scenario, table: str) -> Any:
    """Return a table with its files as whole paths."""

    def placed(key: str, value: Any) -> Any:
        if isinstance(value, Mapping):
            return {inner: placed(inner, each) for inner, each in value.items()}
        if key in _FILES and isinstance(value, str):
            return str(Path(scenario.file(value)).resolve())
        return [placed(key, each) for each in value] if isinstance(value, list | tuple) else value

    return placed(table, getattr(scenario, table).model_dump(exclude_none=True))


def _differences(first: Scenario, scenario: Scenario) -> dict[str, tuple[Any, Any]]:
    """Return the keys whose written values differ, with both; not what lapses with hardware that only one has."""
    one, other = (
        {key: table for key, table in each.tables.items() if key not in _TITLES + _SAME} for each in (first, scenario)
    )
    found = dict(_differing(one, other))
    return {key: pair for key, pair in found.items() if not _follows(key, pair, found)}


def _follows(key: str, pair: tuple[Any, Any], found: Mapping[str, Any]) -> bool:
    """Return whether a difference follows from another: from a battery or an array that only one home has."""
    if key.startswith("wiring.pv."):
        return "written" in pair and any(each.startswith("arrays.") and "written" in found[each] for each in found)
    of_battery = key.endswith(_FADE) or (key == "arrangement.kind" and set(pair) == {"hybrid", "grid_tied"})
    return "battery" in found and of_battery


def _differing(one: Any, other: Any, key: str = "") -> Iterator[tuple[str, tuple[Any, Any]]]:
    """Yield the keys at which two values differ, with both; a table or an entry that only one has is one key."""
    mine = {} if one is None and isinstance(other, list) else _entries(one)
    yours = {} if other is None and isinstance(one, list) else _entries(other)
    if mine is not None and yours is not None:
        for name in {**mine, **yours}:
            yield from _differing(mine.get(name), yours.get(name), f"{key}.{name}" if key else name)
    elif one != other:
        yield key, (_shortly(one), _shortly(other))


def _entries(value: Any) -> dict[str, Any] | None:
    """Return the keys of a table, or the entries of a list of tables by their names, else by number."""
    if isinstance(value, list) and all(isinstance(each, Mapping) for each in value):
        return {repr(each["name"]) if "name" in each else f"{place}": each for place, each in enumerate(value)}
    return {str(name): inner for name, inner in value.items()} if isinstance(value, Mapping) else None


def _shortly(value: Any) -> Any:
    """Return a value, and of a table only that it is written."""
    return "written" if isinstance(value, Mapping) else value


def _leaves(value: Any, before: str = "") -> Iterator[tuple[str, Any]]:
    """Yield every value of nested tables with its dotted key; entries of a list by their names, else by number."""
    if isinstance(value, Mapping):
        for key, inner in value.items():
            yield from _leaves(inner, f"{before}.{key}" if before else str(key))
    elif isinstance(value, list | tuple) and any(isinstance(each, Mapping) for each in value):
        for place, each in enumerate(value):
            name = each.get("name") if isinstance(each, Mapping) else None
            yield from _leaves(each, f"{before}.{place if name is None else repr(name)}")
    else:
        yield before, value
