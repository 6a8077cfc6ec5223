"""The scenario as a whole: every table of the file, and the parts of it that are enough for some questions."""

import copy
import json
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any, Self, TypeVar

from pydantic import PrivateAttr, TypeAdapter, ValidationError, ValidationInfo, model_validator

from solarsim.errors import ScenarioError, UnknownNameError, nearest
from solarsim.fields import Frozen, Name, field
from solarsim.scenario._agreement import disagreements
from solarsim.scenario._changes import changed_tables, plain_value, raw, value_at
from solarsim.scenario._doubts import doubts
from solarsim.scenario._kept import with_tables_kept
from solarsim.scenario._problems import problem_lines
from solarsim.scenario._tables import Origin, hourly_prices, misplaced_dates
from solarsim.scenario._written_units import plain_numbers
from solarsim.scenario.backup.backup import Arrangement, Generator, Outages
from solarsim.scenario.battery.battery import Battery
from solarsim.scenario.costs import Costs
from solarsim.scenario.life import Lifetime
from solarsim.scenario.plans import OtherPlans
from solarsim.scenario.production_log import MeasuredProduction
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from solarsim.scenario.roof.losses import Losses, Precipitation
from solarsim.scenario.roof.roof import Array, Module, Production
from solarsim.scenario.site import Site, WeatherSource
from solarsim.scenario.size import Size
from solarsim.scenario.strategy import Strategy
from solarsim.scenario.system import AcInverter, Grid, Inverter, Load
from solarsim.scenario.wiring import Wiring

__all__ = ["BillScenario", "LoadScenario", "RoofScenario", "Scenario", "WeatherScenario"]

_S = TypeVar("_S", bound="WeatherScenario")


class WeatherScenario(Frozen):
    """The part of a scenario that is enough for its weather: where, by which calendar, under which sky."""

    name: Name = field("the home, for headings and messages", "text")
    description: str = field("anything that a reader of the file should know", "text", default="")
    site: Site = field("where the home is", "table")
    weather: WeatherSource = field("which year of weather", "table")
    _origin: Origin = PrivateAttr(default=Origin())

    def __repr__(self) -> str:
        return f"{type(self).__name__}({self.name!r}, site {self.site.name!r})"

    __str__ = __repr__

    @property
    def tables(self) -> dict[str, Any]:
        """The raw tables as they were read, a copy."""
        return copy.deepcopy(dict(self._origin.tables)) or dict(raw(self))

    @property
    def notes(self) -> tuple[str, ...]:
        """What lapsed because of changes, and numbers that are far from what homes have: one line each."""
        return (*self._origin.notes, *doubts(self))

    @property
    def read_from(self) -> Path | None:
        """The file that the scenario was read from, if any."""
        return self._origin.file

    def file(self, name: str) -> Path:
        """Return the path of a file that the scenario names: relative to the scenario file's own folder."""
        return self._origin.path(name)

    def problem(self, text: str) -> str:
        """Return a problem with the scenario file before it."""
        return self._origin.problem(text)

    def changed(self, changes: Mapping[str, Any]) -> Self:
        """Return the scenario with other values: all changes are made to the raw tables, then it is validated once.

        Parameters
        ----------
        changes : mapping of str to object
            Dotted keys as in TOML, with their new values. In a list a number is an index (from 0), a name the item
            of that name, ``*`` every item; missing tables are made. None removes a key or a table.
            ``battery = None`` also removes what only a battery needs and says so in ``notes``;
            ``system = None`` leaves the home on the grid alone.

        Returns
        -------
        Scenario
            Of the same kind, validated and frozen.

        Raises
        ------
        ScenarioError
            A key is unknown, or the changed tables are wrong; one line for each problem.

        Examples
        --------
        >>> from solarsim import read_scenario
        >>> home = read_scenario().changed({"battery.bank.0.strings": 3, 'strategies."zero export".reserve': 0.3})
        >>> home.strategy("zero export").reserve
        0.3
        """
        origin = self._origin
        changed = _changed_origin(origin if origin.tables else replace(origin, tables=self.tables), changes)
        return with_tables_kept(self, origin.tables, changed) or _scenario_from(changed, type(self))

    def value(self, key: str) -> Any:
        """Return what the scenario has at a dotted key, defaults included; None where there is nothing."""
        return value_at(self, key)

    def plain_value(self, key: str, value: Any) -> Any:
        """Return a value for a dotted key as a number in the key's unit, where it is written with a unit."""
        return plain_value(Scenario, self._origin.tables, key, value)

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Self:
        """Return a copy; with an update, what ``changed`` returns."""
        return self.changed(update) if update else super().model_copy(deep=deep)

    def model_post_init(self, context: Any) -> None:
        """Keep where the tables came from."""
        if isinstance(context, Mapping):
            self._origin = context["origin"]

    @model_validator(mode="after")
    def _parts_agree(self, info: ValidationInfo) -> Self:
        problems = disagreements(dict(self), (info.context or {}).get("on_step", ()))
        if problems:
            raise ValueError("\n".join(problems))
        return self


class LoadScenario(WeatherScenario):
    """The part of a scenario that is enough for its load."""

    load: Load = field("what the home uses", "table")
    arrangement: Arrangement | None = field("how the home is connected to the grid", "table", default=None)


class BillScenario(LoadScenario):
    """The part of a scenario that is enough for the bill of the home without any system."""

    rate_plan: RatePlan = field("prices and rules of the utility, or the name of a file that holds them", "table")

    def on_grid_alone(self) -> "Scenario":
        """Return the home without any system as a whole scenario, as ``--set system=none`` does."""
        tables = {key: table for key, table in self.tables.items() if key in type(self).model_fields}
        tables, _ = changed_tables(Scenario, tables, {"system": None}, self._origin.rate_plan_tables)
        return _scenario_from(Origin(tables, self._origin.folder, self._origin.file, self._origin.notes), Scenario)


class RoofScenario(WeatherScenario):
    """The part of a scenario that is enough for what its arrays can deliver."""

    production: Production = field("how irradiance is brought onto the arrays", "table")
    losses: Losses = field("what arrays, modules, wiring and operation lose", "table")
    precipitation: Precipitation | None = field("rain and snow by the hour", "table", default=None)
    modules: tuple[Module, ...] = field("kinds of modules that arrays may name", "table", default=())
    arrays: tuple[Array, ...] = field("arrays of modules", "table", default=())
    inverter: Inverter = field("the hybrid inverter", "table")
    ac_inverters: tuple[AcInverter, ...] = field("inverters of AC-coupled arrays", "table", default=())


class Scenario(RoofScenario, BillScenario):
    """One home, its rate plan, and every strategy to be compared."""

    battery: Battery | None = field("the battery bank", "table", default=None)
    grid: Grid | None = field("what the utility permits at the meter", "table", default=None)
    plans: OtherPlans | None = field("other rate plans, for the command plans", "table", default=None)
    costs: Costs | None = field("what the system costs", "table", default=None)
    life: Lifetime | None = field("the coming years: length, rates, growth", "table", default=None)
    generator: Generator | None = field("a generator", "table", default=None)
    outages: Outages | None = field("when the grid is out", "table", default=None)
    wiring: Wiring | None = field("what the electrical design checks read", "table", default=None)
    production_log: MeasuredProduction | None = field("measured production", "table", default=None)
    size: Size | None = field("what could be purchased, for the command size", "table", default=None)
    strategies: tuple[Strategy, ...] = field("ways to program the inverter, to be compared", "table", min_length=1)

    @property
    def has_system(self) -> bool:
        """False for a home on the grid alone: without arrays, battery and generator."""
        return bool(self.arrays) or self.battery is not None or self.generator is not None

    @property
    def battery_in_use(self) -> Battery | None:
        """The battery; None also where a grid-tied arrangement leaves it out."""
        return self.battery if self.arrangement is None or self.arrangement.islands else None

    @property
    def battery_v(self) -> float | None:
        """Nominal voltage of the battery [V]; None without one, or where it is not written."""
        return None if self.battery is None else self.battery.volts

    @property
    def generator_in_use(self) -> Generator | None:
        """The generator; None also where a grid-tied arrangement leaves it out."""
        return self.generator if self.arrangement is None or self.arrangement.islands else None

    @property
    def value_of_lost_load(self) -> float | None:
        """What a kilowatt-hour that nothing serves is worth to the user; None where that is not stated."""
        return None if self.outages is None else self.outages.value_of_lost_load

    def other_rate_plans(self) -> tuple[RatePlan, ...]:
        """Read the files of the table ``plans``, validated; none where there is no such table."""
        return tuple(map(self.rate_plan_of, () if self.plans is None else self.plans.files))

    def rate_plan_of(self, file: str) -> RatePlan:
        """Read one file of the table ``plans``, validated."""
        origin = self._origin
        return _rate_plan_from(Origin(origin.rate_plan_tables(file), origin.folder, self.file(file)))

    def strategy(self, name: str) -> Strategy:
        """Return the strategy of a name.

        Parameters
        ----------
        name : str
            As written in the file.

        Returns
        -------
        Strategy
            The one of that name.

        Raises
        ------
        UnknownNameError
            The scenario has no such strategy.
        """
        for strategy in self.strategies:
            if strategy.name == name:
                return strategy
        raise UnknownNameError(
            f"strategy {name!r} is not in scenario {self.name!r}"
            + nearest(name, [each.name for each in self.strategies])
        )


def _rate_plan_from(origin: Origin) -> RatePlan:
    """Return the rate plan whose own tables these are, validated; problems name the keys of its own file."""
    content = {"rate_plan": origin.tables}
    lines = misplaced_dates(content)
    rate_plan, told = None, []
    try:
        prices = hourly_prices(origin.tables, origin)
    except ScenarioError as error:
        prices, told = None, list(error.problems)
    try:
        # Through JSON, because strict validation then takes TOML's lists for tuples, and nothing else.
        rate_plan = TypeAdapter(RatePlan).validate_json(
            json.dumps(plain_numbers(Scenario, content)["rate_plan"], default=str),
            context={"origin": origin, "prices": prices},
        )
    except ValidationError as error:
        details = error.errors(include_url=False)
        for detail in details:
            detail["loc"] = ("rate_plan", *detail["loc"])
        lines += problem_lines(Scenario, details, content)
    if rate_plan is None or lines or told:
        own = (line.removeprefix("rate_plan").lstrip(".: ") for line in lines)
        raise ScenarioError(*map(origin.problem, own), *told)
    return rate_plan


def _changed_origin(origin: Origin, changes: Mapping[str, Any]) -> Origin:
    """Return raw tables with changes made to them: what is wrong in them is refused when all of it is checked."""
    tables, notes = changed_tables(Scenario, origin.tables, changes, origin.rate_plan_tables)
    return replace(origin, tables=tables, notes=tuple(dict.fromkeys((*origin.notes, *notes))))


def _scenario_from(origin: Origin, kind: type[_S]) -> _S:
    """Return the scenario, or the part of one, whose tables these are, validated."""
    content = origin.tables
    if "rates" in content and "site" not in content:
        name = "its file" if origin.file is None else f'"{origin.file.name}"'
        raise ScenarioError(
            origin.problem(
                f"is a rate plan file; name it in a scenario (rate_plan = {name}), or with plans --rate-plan"
            )
        )
    # A part of a scenario leaves aside the tables that it does not need, right or wrong.
    content = {each: table for each, table in content.items() if each in kind.model_fields or each not in _TABLES}
    told: list[str] = []
    prices, named = None, content.get("rate_plan")
    try:
        if isinstance(named, str):
            file = origin.path(named)
            content["rate_plan"] = origin.rate_plan_tables(named)
            _rate_plan_from(Origin(content["rate_plan"], origin.folder, file))
        prices = hourly_prices(content.get("rate_plan"), origin)
    except ScenarioError as error:
        told += error.problems
    lines = misplaced_dates(content)
    scenario, numbers = None, plain_numbers(Scenario, content)
    try:
        scenario = kind.model_validate_json(
            json.dumps(numbers, default=str), context={"origin": origin, "prices": prices}
        )
    except ValidationError as error:
        details = error.errors(include_url=False)
        if told:
            details = [detail for detail in details if detail["loc"][:1] != ("rate_plan",)]
        lines += problem_lines(Scenario, details, content)
        if any(detail["loc"] for detail in error.errors(include_url=False)):
            lines += disagreements(_good_parts(kind, numbers))
    if scenario is None or lines or told:
        raise ScenarioError(*map(origin.problem, lines), *told)
    return scenario


_TABLES = frozenset(Scenario.model_fields)


def parts_of_scenario() -> tuple[type[WeatherScenario], ...]:
    """Return a scenario and its parts, from the whole to the least, for a file of which only a part is right."""
    return (Scenario, BillScenario, RoofScenario, LoadScenario, WeatherScenario)


@cache
def _adapter_of(kind: type[WeatherScenario], name: str) -> TypeAdapter[Any]:
    declared: Any = kind.model_fields[name]
    return TypeAdapter(declared.annotation)


def _good_parts(kind: type[WeatherScenario], content: Mapping[str, Any]) -> dict[str, Any]:
    """Return the tables that are right in themselves: what is wrong in one must not hide what others disagree on."""
    parts = {}
    for name, declared in kind.model_fields.items():
        if name not in content and not declared.is_required():
            parts[name] = declared.default
        elif content.get(name) is not None and declared.annotation is not None:
            try:
                parts[name] = _adapter_of(kind, name).validate_json(json.dumps(content[name], default=str))
            except ValidationError:
                continue
    return parts
