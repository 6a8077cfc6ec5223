"""Growth in stages: a home as written in; the steps by what each pays back, until none raises the NPV, out."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from solarsim.errors import InputError
from solarsim.ledger.cash_flow import payback_years
from solarsim.ledger.purchase import added_cost, purchase_from
from solarsim.results import Result, fact
from solarsim.scenario.model import Scenario
from solarsim.studies.life.life import settings_of
from solarsim.studies.size._designs import Item, Several, Shop
from solarsim.studies.size._priced import unpriced
from solarsim.studies.size._room import why_not
from solarsim.studies.size._steps import Step, in_quotes, steps_from
from solarsim.studies.size.design import Design

MOST_STAGES = 12  # growth ends there, also where further steps would pay back


@dataclass(frozen=True, eq=False, repr=False)
class Stage(Result):
    """One stage of growth, compared with the home before it."""

    number: int = fact("from 1", "1")
    year: int = fact("first year with it", "year")
    name: str = fact("what is added", "text")
    changes: Mapping[str, Any] = fact("the keys that change", "table")
    strategy: str | None = fact("strategy of the highest NPV from then on", "text")
    cost: float = fact("parts, installation that follows them, and size.stage_cost, at today's prices", "currency")
    annual_gain: float | None = fact("cash that it adds in the first full year", "currency")
    payback_years: float | None = fact("from its payment until its own cash reaches 0", "years")
    npv_gain: float | None = fact("NPV of the whole after the stage less before", "currency")
    npv: float | None = fact("NPV of the whole, this stage and those before included", "currency")
    total_cost: float = fact("upfront cost of the home as written and of all stages so far", "currency")


@dataclass(frozen=True)
class _Grown:
    """A home that has grown: its hardware, and what makes it of the home as written."""

    hardware: Scenario
    changes: dict[str, Any]
    design: Design
    total_cost: float


def stages_of(several: Several, shop: Shop, written: Design) -> tuple[Stage, ...]:
    """Return the stages from the home as written, the step of the shortest payback first."""
    scenario = shop.written
    now = _Grown(scenario, {}, written, written.upfront_cost)
    stages: list[Stage] = []
    every = shop.size.stage_years
    while len(stages) < MOST_STAGES:
        number = len(stages) + 1
        year = 1 + every * number
        if year > settings_of(scenario).years:
            break
        options = [each for step in steps_from(now.hardware) if step.more and (each := _option(shop, now, step, year))]
        items: list[Item] = [(grown, "step") for _, _, grown, _ in options]
        found = several.map(items, chunk=1)
        paying = [
            (stage.payback_years, place)
            for place, (option, design) in enumerate(zip(options, found, strict=True))
            if isinstance(design, Design)
            and (stage := _stage(number, year, option, now, design)).payback_years is not None
            and (stage.npv_gain or 0.0) > 0.0
        ]
        if not paying:
            break
        option = options[min(paying)[1]]
        exact = several.map([(option[2], "exact")])[0]
        if not isinstance(exact, Design):
            break
        stage = _stage(number, year, option, now, exact)
        if stage.npv_gain is None or stage.npv_gain <= 0.0:  # only the interpolated life had paid
            break
        stages.append(stage)
        now = _Grown(option[1], option[2], exact, stage.total_cost)
    return tuple(stages)


_Option = tuple[Step, Scenario, dict[str, Any], float]


def _option(shop: Shop, now: _Grown, step: Step, year: int) -> _Option | None:
    """Return a step with the hardware after it, the changes that make it, and its cost; None where it cannot be."""
    try:
        hardware = now.hardware.changed(step.changes)
        before, after = purchase_from(now.hardware), purchase_from(hardware)
        refused = (
            unpriced(now.hardware, step.changes)
            or why_not(hardware, shop.size, shop.module_w)
            or shop.why_not(shop.homes.of(hardware))
        )
    except InputError:
        return None
    if refused:
        return None
    added = after.upfront_cost - before.upfront_cost if year == 1 else added_cost(before.lines, after.lines)
    cost = added + shop.size.stage_cost
    if year == 1:  # all at once: the stage's own installation is one more line of it
        paid = now.changes.get("costs.installation", shop.written.value("costs.installation"))
        own = {"costs.installation": paid + shop.size.stage_cost} if shop.size.stage_cost else {}
        return step, hardware, {**now.changes, **step.changes, **own}, cost
    dated = {
        "name": f"stage {(year - 1) // shop.size.stage_years}: {step.name}"[:60],
        "year": year,
        "set": [f"{key}={_toml(value)}" for key, value in step.changes.items()],
        "cost": max(0.0, cost),
    }
    before = now.changes.get("life.changes", shop.written.tables.get("life", {}).get("changes", []))
    return step, hardware, {"life.changes": [*before, dated]}, cost


def _stage(number: int, year: int, option: _Option, now: _Grown, design: Design) -> Stage:
    """Return a stage with what it changes in money."""
    step, _, _, cost = option
    before, after = now.design.cash, design.cash
    cash = None if before is None or after is None else after - before
    if cash is None or design.npv is None or now.design.npv is None:
        return Stage(number, year, step.name, step.changes, design.strategy, cost, None, None, None, design.npv, 0.0)
    first = design.annual_savings if year == 1 else float(cash[year])
    gain = (first or 0.0) - (now.design.annual_savings or 0.0) if year == 1 else first
    return Stage(
        number=number,
        year=year,
        name=step.name,
        changes=step.changes,
        strategy=design.strategy,
        cost=cost,
        annual_gain=gain,
        payback_years=payback_years(cash[year - 1 :]) if cost > 0.0 else 0.0,
        npv_gain=design.npv - now.design.npv,
        npv=design.npv,
        total_cost=now.total_cost + cost,
    )


def _toml(value: Any) -> str:
    """Return a value of a raw table as TOML on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_toml(each)}" for key, each in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(_toml, value)) + "]"
    return in_quotes(value) if isinstance(value, str) else repr(value)
