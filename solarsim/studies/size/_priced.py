"""Whether a change of hardware has a price: what is purchased before and after it in; why it has none, out."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from solarsim.errors import InputError
from solarsim.ledger.cash_flow import present_value
from solarsim.ledger.payments import payments_from
from solarsim.ledger.purchase import Purchase, PurchaseLine, costs_of, purchase_from
from solarsim.scenario.model import Scenario
from solarsim.studies.life.life import settings_of
from solarsim.studies.size._axes import Axes

#: Keys that are purchased: where the parts list does not follow them, every size would cost the same.
_PURCHASED = (
    "modules_in_series", "strings", "module_w", "cells_in_series", "cell_ah", "capacity_kwh", "ac_kw",
)  # fmt: skip


def unpriced(written: Scenario, changes: Mapping[str, Any]) -> str | None:
    """Return why changes of hardware have no price; None where they have one, or cannot be made at all."""
    try:
        return _why(purchase_from(written), purchase_from(written.changed(changes)))
    except InputError:
        return None  # told where the design is made


def break_even_cost(scenario: Scenario, npv_gain: float) -> float | None:
    """Return the upfront cost of an addition at which it adds nothing to the NPV; None where any cost pays.

    Loan and incentives that are a share of the cost bear their part of it.
    """
    from scipy.optimize import brentq

    costs, settings, purchase = costs_of(scenario), settings_of(scenario), purchase_from(scenario)

    def payments(cost: float) -> float:
        line = PurchaseLine(name="addition", kind="part", unit_price=cost)
        paid = payments_from(replace(purchase, lines=(*purchase.lines, line)), costs, settings)
        return present_value(paid.total, settings.discount_rate)

    def gain(cost: float) -> float:
        return npv_gain + payments(cost) - payments(0.0)

    highest = next((npv_gain * 2.0**power for power in range(20) if gain(npv_gain * 2.0**power) < 0.0), None)
    return None if highest is None else float(brentq(gain, 0.0, highest, xtol=0.01))


def only_price(scenario: Scenario) -> str | None:
    """Return why other sizes than the written one have no price: a contract states what this one costs."""
    costs = scenario.costs
    if costs is None or costs.contract is None:
        return None
    key = "costs.lease" if costs.lease is not None else "costs.power_purchase"
    return (
        f"{key}: states the price of this system only, so other sizes have no price; size the purchase with"
        f" --set {key}=none, or compare offers with a price each (solarsim offers)"
    )


def axis_notes(written: Scenario, axes: Axes) -> Iterator[str]:
    """Yield a note for each axis along which the parts list does not follow the hardware."""
    for key, values in axes.items():
        if key.partition(".")[0] in ("costs", "life"):
            yield (
                f"axis {key}: is an assumption, not something to choose: the highest NPV only shows which value is the"
                " most favorable"
            )
        if key.rpartition(".")[2] not in _PURCHASED:
            continue
        now = written.value(key)
        reasons = (unpriced(written, {key: value}) for value in values if value != now)
        reason = next(filter(None, reasons), None)
        if reason is not None:
            yield f"axis {key}: {reason}"


def _why(before: Purchase, after: Purchase) -> str | None:
    """Return why what is purchased does not tell the cost of a change."""
    if after.wrong_quantities and after.wrong_quantities != before.wrong_quantities:
        return "costs.parts lists another number of modules or cells than it needs (give per in place of a quantity)"
    if _quantities(before) == _quantities(after):
        return "no line of [costs] follows this hardware (see per in: solarsim guide costs)"
    return None


def _quantities(purchase: Purchase) -> list[tuple[str, str, float]]:
    """Return how many of each are needed, those already there included."""
    return [(line.kind, line.name, line.quantity) for line in purchase.lines]
