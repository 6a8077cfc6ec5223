"""How sure the best design is: it and its rivals in; how often each has the highest NPV in many lifetimes, out."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from solarsim.results import Result, fact
from solarsim.studies.risk.risk import risk
from solarsim.studies.size._designs import Shop
from solarsim.studies.size.design import Design, npv_of

_RIVALS = 5  # designs that are compared, the best among them
_MOST_LIFETIMES = 200


@dataclass(frozen=True, eq=False, repr=False)
class Chance(Result):
    """One design in many lifetimes, the same for all designs."""

    changes: Mapping[str, Any] = fact("keys that differ from the file", "table")
    strategy: str = fact("its best strategy in the typical life", "text")
    highest_share: float = fact("share of lifetimes in which no other design here has a higher NPV", "1")
    npv_p90: float | None = fact("NPV reached or exceeded in 90% of lifetimes; null where not comparable", "currency")
    npv_p50: float | None = fact("NPV reached or exceeded in half of them; null where not comparable", "currency")
    lifetimes: int = fact("how many were drawn", "1")


def chances_of(
    shop: Shop,
    designs: Sequence[Design],
    kept: Design | None,
    workers: int,
    progress: Callable[[int, int], None] | None = None,
    scheduler: str | None = None,
) -> tuple[Chance, ...]:
    """Return the chances of one design and of the best others.

    Parameters
    ----------
    shop : Shop
        What the designs share.
    designs : sequence of Design
        Of them, those of the highest NPV are compared.
    kept : Design or None
        One that is among them whatever its NPV.
    workers : int
        Processes that share the work.
    progress : callable, optional
        Called with the number of lifetimes done, and of all.
    scheduler : str, optional
        Address of a running Dask scheduler, whose workers do the work instead.

    Returns
    -------
    tuple of Chance
        That of the highest NPV in the typical life first; empty without the one, or where it is not comparable.

    Raises
    ------
    ScenarioError
        See ``risk``.
    InputError
        See ``home_from``.
    """
    ranked = sorted((each for each in designs if each.exact and each.strategy), key=npv_of, reverse=True)
    if kept not in ranked:
        return ()
    others = [each for each in ranked if each is not kept][: _RIVALS - 1]
    chosen = [each for each in ranked if each is kept or each in others]
    npvs = []
    for place, each in enumerate(chosen):
        scenario = shop.written.changed(each.changes)
        uncertainty = None if scenario.life is None else scenario.life.uncertainty
        count = _MOST_LIFETIMES if uncertainty is None else min(_MOST_LIFETIMES, uncertainty.lifetimes)

        def told(done: int, of: int, before: int = place) -> None:
            if progress is not None:
                progress(before * of + done, len(chosen) * of)

        home = shop.homes.of(scenario, exact=True)
        found = risk(
            scenario, each.strategy, home, lifetimes=count, workers=workers, progress=told, scheduler=scheduler
        )
        npvs.append(found.npv_of_each)
    table = np.array(npvs)  # designs down, lifetimes across
    highest = table >= table.max(axis=0)
    return tuple(
        Chance(
            changes=each.changes,
            strategy=each.strategy or "",
            highest_share=float(highest[place].mean()),
            npv_p90=_finite(np.quantile(table[place], 0.1, method="inverted_cdf")),
            npv_p50=_finite(np.quantile(table[place], 0.5, method="inverted_cdf")),
            lifetimes=table.shape[1],
        )
        for place, each in enumerate(chosen)
    )


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
