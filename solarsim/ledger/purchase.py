"""What is bought: a scenario in; every line of its costs with quantity and amount, and the upfront cost, out.

Quantities follow the hardware, so a larger battery costs more. A home without a battery buys nothing that only a
battery needs.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from math import isclose

from solarsim.errors import ScenarioError, ordinal
from solarsim.ledger._quantities import bank_of, cells_of, kw_dc_of, modules_of, nameplate_kwh_of, quantity_of
from solarsim.ledger.lines import to_the_cent
from solarsim.results import Result, computed, fact
from solarsim.scenario.costs import Costs, InverterSize, Labor, Part
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import COSTS, require


@dataclass(frozen=True, eq=False, repr=False, kw_only=True)
class PurchaseLine(Result):
    """One line of what is bought."""

    name: str = fact("what is purchased", "text")
    kind: str = fact("part, inverter (from the table of sizes), labor or installation", "text")
    per: str | None = fact("what the quantity follows; null where it is fixed", "text", default=None)
    quantity: float = fact("how many the home needs, those already there included", "1", default=1.0)
    owned: float = fact("how many of them are there already", "1", default=0.0)
    unit_price: float = fact("price of one", "currency")
    of: str | None = fact("modules, cells or battery: what it belongs to; null for the rest", "text", default=None)
    battery_only: bool = fact("true where only a battery needs it", "true or false", default=False)
    life_years: int | None = fact("full years until it is replaced; null: never", "years", default=None)
    replacement_price: float | None = fact("price of one, installed, when its life is over", "currency", default=None)

    @computed("quantity less owned", "1")
    def bought(self) -> float:
        return max(0.0, self.quantity - self.owned)

    @computed("bought x unit_price to the cent, half up", "currency")
    def amount(self) -> Decimal:
        return to_the_cent(self.bought * self.unit_price)

    @property
    def is_part(self) -> bool:
        """False for what is work."""
        return self.kind in ("part", "inverter")


@dataclass(frozen=True, eq=False, repr=False, kw_only=True)
class Purchase(Result):
    """What is bought for a home, line by line.

    Examples
    --------
    >>> from solarsim import read_scenario
    >>> from solarsim.ledger.purchase import purchase_from
    >>> home = read_scenario()
    >>> purchase_from(home).upfront_cost
    13167.0
    >>> purchase_from(home.changed({"battery.bank.0.strings": 2})).upfront_cost
    15269.0
    """

    _rows = "lines"

    currency: str = fact("ISO 4217 code of all money here", "text")
    lines: tuple[PurchaseLine, ...] = fact("every line with its quantity", "list")
    kw_dc: float = fact("rating of all arrays, modules already there included", "kWdc")
    usable_kwh: float = fact("what of the battery's nameplate is above its low cutoff", "kWh")
    notes: tuple[str, ...] = fact("what a reader should know", "list", default=())
    wrong_quantities: tuple[str, ...] = ()  # notes on quantities that the hardware contradicts

    @computed("parts and installation, before incentives", "currency")
    def upfront_cost(self) -> float:
        return float(sum((line.amount for line in self.lines), Decimal(0)))

    @computed(
        "its part that only a battery needs; 0 without a battery, null where there is one and no line is marked",
        "currency",
    )
    def battery_cost(self) -> float | None:
        if self.usable_kwh == 0.0:
            return 0.0
        marked = [line.amount for line in self.lines if line.battery_only]
        return float(sum(marked, Decimal(0))) if marked else None

    @computed(
        "upfront cost without what only a battery needs / kw_dc; null without arrays, or where battery_cost is null",
        "currency/Wdc",
    )
    def cost_per_wdc(self) -> float | None:
        if self.battery_cost is None or self.kw_dc == 0.0:
            return None
        return float(self.upfront_cost - self.battery_cost) / (1000.0 * self.kw_dc)

    @computed("battery_cost / usable_kwh; null where either is not known", "currency/kWh")
    def cost_per_usable_kwh(self) -> float | None:
        return float(self.battery_cost) / self.usable_kwh if self.battery_cost and self.usable_kwh else None

    @property
    def battery_parts(self) -> tuple[PurchaseLine, ...]:
        """The parts, without labor, that only a battery needs."""
        return tuple(line for line in self.lines if line.battery_only and line.is_part)

    @property
    def without_battery(self) -> "Purchase":
        """What would be bought for the same home without a battery."""
        lines = tuple(line for line in self.lines if not line.battery_only)
        return replace(self, lines=lines, usable_kwh=0.0)


def costs_of(scenario: Scenario) -> Costs:
    """Return what a scenario's system costs.

    Parameters
    ----------
    scenario : Scenario
        With or without costs.

    Returns
    -------
    Costs
        Its table.

    Raises
    ------
    ScenarioError
        The scenario lists no costs.
    """
    require(scenario, COSTS)
    assert scenario.costs is not None  # noqa: S101  # for the type checker: require refuses
    return scenario.costs


def purchase_from(scenario: Scenario) -> Purchase:
    """Return what is bought for a scenario's hardware.

    Parameters
    ----------
    scenario : Scenario
        With costs.

    Returns
    -------
    Purchase
        Lines with a quantity of 0 are left out; so is what only a battery needs in a home without one.

    Raises
    ------
    ScenarioError
        The scenario lists no costs; a line counts cells of a battery without any; the inverter's size has no price; a
        fixed quantity contradicts the hardware and the list is complete; incentives are more than the cost, or the loan
        is more than is left to pay.
    UnknownNameError
        A module is named by a row that the module table does not hold.
    """
    costs = costs_of(scenario)
    battery = scenario.battery_in_use
    has_battery = battery is not None and battery.kwh > 0.0
    problems = list(_unit_problems(costs, scenario))
    if problems:
        raise ScenarioError(*map(scenario.problem, problems))
    listed = [_line(each, scenario) for each in costs.parts]
    sizes = [_inverter_line(costs, scenario)] if costs.inverters else []
    work = [_line(each, scenario) for each in costs.labor]
    if costs.installation:
        work.append(PurchaseLine(name="installation", kind="installation", unit_price=costs.installation))
    lines = [*listed, *sizes, *work]
    lapsed = [line.name for line in lines if line.battery_only and line.quantity and not has_battery]
    wrong = tuple(_wrong_quantities(listed, scenario))
    differing = [*wrong, *_other_inverter(costs, scenario)]
    if differing and costs.complete:
        raise ScenarioError(*(scenario.problem(f"{each} (costs.complete)") for each in differing))
    found = Purchase(
        currency=scenario.rate_plan.currency,
        lines=tuple(line for line in lines if line.quantity and (has_battery or not line.battery_only)),
        kw_dc=kw_dc_of(scenario),
        usable_kwh=nameplate_kwh_of(scenario) * (1.0 - battery.low_cutoff) if battery is not None else 0.0,
        notes=(
            *([f"no battery: not bought: {', '.join(map(repr, lapsed))}"] if lapsed else []),
            *differing,
        ),
        wrong_quantities=wrong,
    )
    problems = list(money_problems(costs, found.upfront_cost))
    if problems:
        raise ScenarioError(*map(scenario.problem, problems))
    return found


def added_cost(before: Iterable[PurchaseLine], after: Iterable[PurchaseLine]) -> float:
    """Return what is paid to make one home of another that stands already.

    Parameters
    ----------
    before, after : iterable of PurchaseLine
        What each of them needs.

    Returns
    -------
    float
        The increase of every line of one name: nothing is returned for what is left out, so another inverter is paid
        in full [currency].
    """
    there, needed = _amounts(before), _amounts(after)
    return float(sum((max(Decimal(0), amount - there[line]) for line, amount in needed.items()), Decimal(0)))


def _amounts(lines: Iterable[PurchaseLine]) -> dict[tuple[str, str], Decimal]:
    """Return the amount of each kind and name; lines of one name add up."""
    amounts: defaultdict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for line in lines:
        amounts[line.kind, line.name] += line.amount
    return amounts


def _unit_problems(costs: Costs, scenario: Scenario) -> Iterator[str]:
    """Yield each line that counts cells or strings of a battery that is stated in kWh."""
    if not nameplate_kwh_of(scenario) or bank_of(scenario):
        return
    for where, lines in (("parts", costs.parts), ("labor", costs.labor)):
        for number, line in enumerate(lines, start=1):
            if line.per in ("cell", "battery_string"):
                yield (
                    f"costs.{where}.{ordinal(number)}.per: {line.per!r} needs battery.bank; a battery of capacity_kwh"
                    " is bought per = 'battery_kwh' or in a fixed quantity"
                )


def _line(written: Part | Labor, scenario: Scenario) -> PurchaseLine:
    """Return a line with the quantity that this hardware needs."""
    part = written if isinstance(written, Part) else None
    return PurchaseLine(
        name=written.name,
        kind="labor" if part is None else "part",
        per=written.per,
        quantity=quantity_of(written, scenario),
        owned=0.0 if part is None else part.owned,
        unit_price=written.unit_price,
        of=written.of,
        battery_only=written.battery_only,
        life_years=None if part is None else part.life_years,
        replacement_price=None if part is None else part.replacement_price,
    )


def _inverter_line(costs: Costs, scenario: Scenario) -> PurchaseLine:
    """Return the inverter of the scenario's rating, from the table of sizes."""
    size = _size_of(costs, scenario)
    if size is None:
        ratings = ", ".join(f"{each.ac_kw:g}" for each in costs.inverters)
        raise ScenarioError(
            scenario.problem(
                f"costs.inverters: has no price for inverter.ac_kw {scenario.inverter.ac_kw:g};"
                f" sizes with a price: {ratings}"
            )
        )
    return PurchaseLine(
        name=f"hybrid inverter {size.ac_kw:g} kW",
        kind="inverter",
        per="inverter",
        unit_price=size.unit_price,
        life_years=size.life_years,
        replacement_price=size.replacement_price,
    )


def _size_of(costs: Costs, scenario: Scenario) -> InverterSize | None:
    """Return the inverter size of the scenario's rating."""
    return next((each for each in costs.inverters if isclose(each.ac_kw, scenario.inverter.ac_kw)), None)


def _wrong_quantities(parts: list[PurchaseLine], scenario: Scenario) -> Iterator[str]:
    """Yield in what the modules and the cells of the list differ from the hardware."""
    modules, cells = modules_of(scenario), cells_of(scenario)
    strings = sum(each.strings for each in bank_of(scenario))
    listed, names = _counted(parts, "modules", "module")
    if names and listed != modules:
        yield f"costs.parts: {names}: {listed:g} in the list, the arrays have {modules} modules"
    # A battery may be listed by the cell or by the string: one product each.
    listed, names = _counted(parts, "cells", "cell")
    if names and strings and listed not in (cells, strings):
        yield (
            f"costs.parts: {names}: {listed:g} in the list, the bank has {cells} cells in {strings}"
            f" {'string' if strings == 1 else 'strings'}"
        )


def _counted(parts: list[PurchaseLine], of: str, per: str) -> tuple[float, str]:
    """Return how many of a kind are listed one by one, and the names of these lines; no names where some are not."""
    lines = [line for line in parts if line.of == of]
    one_by_one = all(line.per in (None, per) for line in lines)
    return sum(line.quantity for line in lines), ", ".join(repr(line.name) for line in lines) if one_by_one else ""


def _other_inverter(costs: Costs, scenario: Scenario) -> Iterator[str]:
    """Yield in what the inverter's size in the table of prices differs from the inverter."""
    size = _size_of(costs, scenario)
    keys = [] if size is None else [key.removeprefix("inverter.") for key in size.changes]
    other = [key for key in keys if key != "ac_kw" and getattr(size, key) != getattr(scenario.inverter, key)]
    if other:
        yield (
            f"costs.inverters: the size of {scenario.inverter.ac_kw:g} kW lists other values than [inverter], which"
            f" are used: {', '.join(other)}"
        )


def money_problems(costs: Costs, upfront_cost: float) -> Iterator[str]:
    """Check that others do not pay more than the system costs.

    Parameters
    ----------
    costs : Costs
        Incentives and loan.
    upfront_cost : float
        Parts and installation [currency].

    Yields
    ------
    str
        What does not add up.
    """
    if costs.contract is not None:
        return
    most = upfront_cost + 0.005  # shares are multiplied in floating point
    paid = [(each, each.paid(upfront_cost)) for each in costs.incentives]
    given = sum(amount for _, amount in paid)
    if given > most:
        yield f"costs: incentives of {given:,.2f} are more than parts and installation cost ({upfront_cost:,.2f})"
    if costs.loan is not None:
        left = upfront_cost - sum(amount for each, amount in paid if each.year == 0)
        borrowed = costs.loan.borrowed(upfront_cost)
        if borrowed > left + 0.005:
            yield (
                f"costs: the loan of {borrowed:,.2f} is more than is paid at the purchase ({left:,.2f}, after"
                " incentives of year 0)"
            )
