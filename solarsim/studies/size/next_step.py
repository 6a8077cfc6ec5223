"""What one step adds: a home before and after it in; cost, gain, payback and NPV of the step out."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from solarsim.ledger.cash_flow import payback_years
from solarsim.results import Result, fact
from solarsim.studies.size._steps import Step
from solarsim.studies.size.design import Design


@dataclass(frozen=True, eq=False, repr=False)
class NextStep(Result):
    """One more or one fewer of something, compared with the home that it starts from."""

    name: str = fact("what changes", "text")
    more: bool = fact("true for one more, false for one fewer", "true or false")
    changes: Mapping[str, Any] = fact("the keys that change, every axis among them", "table")
    strategy: str | None = fact("strategy of the highest NPV after the step", "text")
    added_cost: float = fact("upfront cost after the step less before; negative for one fewer", "currency")
    annual_gain: float | None = fact("savings of the first year after the step less before", "currency")
    npv_gain: float | None = fact(
        "NPV after the step less before, without its cost where price_missing; null where not comparable", "currency"
    )
    payback_years: float | None = fact(
        "when the step's own cash first reaches 0; null: never, or the step costs nothing more", "years"
    )
    backup_duration_h: float | None = fact(
        "backup duration in the worst month after the step, with that strategy; null without an arrangement", "h"
    )
    price_missing: str | None = fact("why [costs] does not tell what it costs; null where it does", "text")
    break_even_cost: float | None = fact(
        "of an addition without a price, the upfront cost at which the NPV stays the same; null for others, or where"
        " any cost raises it",
        "currency",
        default=None,
    )


@dataclass(frozen=True, eq=False, repr=False)
class Skipped(Result):
    """Designs that are impossible for one reason."""

    reason: str = fact("why", "text")
    designs: int = fact("how many designs", "1")
    changes: Mapping[str, Any] = fact("the first of them", "table")


def next_step(
    step: Step, changes: Mapping[str, Any], before: Design, after: Design, price_missing: str | None
) -> NextStep:
    """Return a step with what it changes in money.

    Parameters
    ----------
    step : Step
        Its name and kind.
    changes : mapping of str to object
        Every key that it changes, and every axis.
    before, after : Design
        Both exact.
    price_missing : str or None
        Why its cost is not known.

    Returns
    -------
    NextStep
        Differences of the two.
    """
    added = after.upfront_cost - before.upfront_cost
    known = before.cash is not None and after.cash is not None
    cash = after.cash - before.cash if before.cash is not None and after.cash is not None else None
    return NextStep(
        name=step.name,
        more=step.more,
        changes=changes,
        strategy=after.strategy,
        added_cost=added,
        annual_gain=_less(after.annual_savings, before.annual_savings),
        npv_gain=_less(after.npv, before.npv) if known else None,
        payback_years=payback_years(cash) if cash is not None and added > 0.0 and not price_missing else None,
        backup_duration_h=after.backup_duration_h,
        price_missing=price_missing,
    )


def _less(after: float | None, before: float | None) -> float | None:
    return None if after is None or before is None else after - before
