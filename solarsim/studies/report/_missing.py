"""What a report cannot have: a scenario in; each study that it does not allow, with what it lacks, out."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from solarsim.results import Result, fact
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import missing
from solarsim.studies import offers, savings
from solarsim.studies.life import life
from solarsim.studies.outages import outages
from solarsim.studies.risk import risk
from solarsim.studies.wiring import wiring

#: Command, its needs, and what it would have computed.
_STUDIES = (
    ("savings", savings.NEEDS, "what is purchased, its cost, and simple payback"),
    ("life", life.NEEDS, "cash flow by year, payback over the life, NPV and IRR"),
    ("risk", risk.NEEDS, "P50 and P90 of energy, savings and NPV, and the sensitivity of NPV"),
    ("outages", outages.NEEDS, "how long the home stays supplied in an outage"),
    ("wiring", wiring.NEEDS, "electrical design checks"),
)


@dataclass(frozen=True, eq=False, repr=False)
class Missing(Result):
    """A study that was not made."""

    study: str = fact("the command that would compute it", "text")
    what: str = fact("what was not computed", "text")
    lacks: tuple[str, ...] = fact("what the scenario lacks for it, and the keys to add", "list")


def missing_from(scenario: Scenario) -> tuple[Missing, ...]:
    """Return the studies that a scenario does not allow."""
    return tuple(_missing(scenario))


def _missing(scenario: Scenario) -> Iterator[Missing]:
    for study, needs, what in _STUDIES:
        lacks = missing(scenario, needs)
        if lacks:
            yield Missing(study, what, lacks)


def no_offers(scenarios: Sequence[Scenario], names: Sequence[str]) -> Missing | None:
    """Return why several scenarios cannot be compared as offers; None where they can, or where there is one."""
    if len(scenarios) < 2:
        return None
    lacks = tuple(
        f"{name!r} {problem}"
        for scenario, name in zip(scenarios, names, strict=True)
        for problem in missing(scenario, offers.NEEDS)
    )
    return Missing("offers", "the offers side by side", lacks) if lacks else None
