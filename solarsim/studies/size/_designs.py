"""One design: changes to the home as written in; its best strategy over the whole life, or why not, out."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any, Literal

from solarsim.errors import InputError
from solarsim.home import Home
from solarsim.ledger.ledger import Ledger
from solarsim.scenario.model import Scenario
from solarsim.scenario.size import Size as SizeTable
from solarsim.studies._workers import Workers
from solarsim.studies.life.life import Life
from solarsim.studies.outages.worst_month import worst_month
from solarsim.studies.size._exact import exact_life
from solarsim.studies.size._quick import quick_life
from solarsim.studies.size._room import why_not, why_not_with
from solarsim.studies.size.design import Design
from solarsim.studies.size.homes import Homes
from solarsim.studies.wiring.wiring import failing_string

Mode = Literal["quick", "exact", "step", "backup"]
Item = tuple[Mapping[str, Any], Mode]


@dataclass(frozen=True)
class Impossible:
    """Why a design cannot be built."""

    changes: Mapping[str, Any]
    reason: str


@dataclass(eq=False)
class Shop:
    """What all designs share; each worker has its own."""

    homes: Homes
    size: SizeTable
    module_w: dict[str, float]
    baselines: tuple[Ledger, ...]

    @property
    def written(self) -> Scenario:
        """The scenario as written."""
        return self.homes.home.scenario

    def why_not(self, home: Home) -> str | None:
        """Return the cap on production, or the check of strings, that only a simulated home can fail."""
        return why_not_with(home, self.size) or failing_string(home.scenario, home.weather.temp_air_c)

    def design(self, changes: Mapping[str, Any], mode: Mode) -> Design | Impossible:
        """Return a design: ``quick`` from a few years; ``step`` also has cash, ``backup`` backup, ``exact`` both."""
        exact = mode == "exact"
        try:
            scenario = self.written.changed(changes) if changes else self.written
            reason = why_not(scenario, self.size, self.module_w) if changes else None
            if reason is not None:
                return Impossible(changes, reason)
            home = self.homes.of(scenario, exact)
            reason = self.why_not(home) if changes else None
            if reason is not None:
                return Impossible(changes, reason)
            known = self.baselines if self.homes.serves_the_same(scenario) else None
            if exact:
                found = exact_life(home, known, partial(self.homes.of, exact=True))
            else:
                found = quick_life(home, known, self.homes.of)
        except InputError as error:
            return Impossible(changes, error.problems[0].removeprefix(self.written.problem("")))
        return design_of(changes, found, mode)


def design_of(changes: Mapping[str, Any], found: Life, mode: Mode) -> Design:
    """Return the design of a life."""
    home, best = found.home, found.best
    strategy = home.scenario.strategies[0].name if best is None else best.name
    backup = worst_month(home, strategy) if mode in ("exact", "backup") else None
    return Design(
        changes=changes,
        strategy=None if best is None else best.name,
        upfront_cost=found.upfront_cost,
        energy_cost=None if best is None else best.ledgers[0].energy_cost,
        annual_savings=None if best is None or best.savings is None else float(best.savings[1]),
        npv=None if best is None else best.npv,
        payback_years=None if best is None else best.payback_without_loan_years,
        kw_dc=home.production.rated_kw,
        kw_ac=home.scenario.inverter.ac_kw,
        usable_kwh=home.limits.capacity_kwh - home.limits.minimum_kwh,
        backup_duration_h=None if backup is None else backup[1],
        exact=mode == "exact",
        cash=best.cash_without_loan if mode in ("exact", "step") and best is not None else None,
    )


def design_at(shop: Shop, item: Item) -> Design | Impossible:
    """Return the design of some changes: the task of a worker."""
    return shop.design(*item)


Several = Workers[Shop, Item, Design | Impossible]
