"""What hourly steps hide: a scenario in, every strategy's year by hours and by finer steps side by side out."""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.windows import off_step
from solarsim.home import home_from
from solarsim.load.household import Household, household_load
from solarsim.run import Run
from solarsim.scenario.model import Scenario
from solarsim.studies.compare.compare import Comparison, compare, facts_of

#: What is set side by side, keys as in the glossary.
BESIDE = ("annual_bill", "self_consumption", "import_kwh", "peak_import_kw")


@dataclass(frozen=True, eq=False)
class StepComparison:
    """One scenario by hours and by finer steps.

    Attributes
    ----------
    minutes : int
        Length of the finer steps: 30 or 15 [min].
    hourly, finer : Comparison
        Every strategy's year at both.
    """

    minutes: int
    hourly: Comparison
    finer: Comparison

    @property
    def load_moves(self) -> bool:
        """Whether the load differs within any hour; if not, sun and windows alone make the difference."""
        hours = self.finer.home.load_kw.reshape(-1, 60 // self.minutes)
        return bool(np.ptp(hours, axis=1).max() > 1e-9)

    def rows(self) -> list["SideBySide"]:
        """Set every strategy's years side by side; the home without any system comes first."""
        pairs = [("no system at all", self.hourly.baseline, self.finer.baseline)]
        if self.hourly.solar_only is not None and self.finer.solar_only is not None:
            pairs.append((self.hourly.solar_only.strategy, self.hourly.solar_only, self.finer.solar_only))
        pairs += [
            (hourly.strategy, hourly, finer) for hourly, finer in zip(self.hourly.runs, self.finer.runs, strict=True)
        ]
        return [SideBySide(name, _told(hourly), _told(finer)) for name, hourly, finer in pairs]


class SideBySide(NamedTuple):
    """One strategy's year at both steps; keys are those of ``BESIDE``, as in the glossary."""

    name: str
    hourly: dict[str, float]
    finer: dict[str, float]

    @property
    def difference(self) -> dict[str, float]:
        """What finer steps add."""
        return {key: self.finer[key] - self.hourly[key] for key in BESIDE}


def _told(run: Run) -> dict[str, float]:
    facts = facts_of(run)
    return {key: float(str(facts[key])) for key in BESIDE}


#: Stands for a load that is known already and is handed to ``home_from``.
_LOAD_APART = {"load": {"monthly_kwh": [0.0] * 12, "shape": "evenings", "critical_share": 1.0}}


def compare_steps(scenario: Scenario, minutes: int, known: Comparison | None = None) -> StepComparison:
    """Run every strategy by hours and by finer steps.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    minutes : int
        Length of the finer steps: 30 or 15 [min].
    known : Comparison, optional
        Of this scenario at its own steps: it is not run again.

    Returns
    -------
    StepComparison
        Both years. Finer steps know the sun's way within the hour, and the load's where a meter, a file or a part
        of the house tells it. They do not know clouds within the hour, so that the truth lies further off. A load
        whose own windows stand within hours has the means of its finer steps in the hourly run.

    Raises
    ------
    ScenarioError
        A window of rate plan or strategy does not begin and end on full hours, so that there is no hourly run.
    InputError
        See ``home_from``.
    ValueError
        The steps are none of 30 and 15.
    """
    if minutes not in (30, 15):
        raise ValueError(f"steps of {minutes} minutes must be 30 or 15")

    def at(step_minutes: int) -> Comparison:
        if known is not None and scenario.site.step_minutes == step_minutes:
            return known
        return compare(scenario.changed({"site.step_minutes": step_minutes}))

    within_hours = any(off_step(scenario.load, 60))
    hours = scenario.changed({"site.step_minutes": 60, **(_LOAD_APART if within_hours else {})})
    finer = at(minutes)
    if not within_hours:
        return StepComparison(minutes, hourly=at(60), finer=finer)
    household = _by_hours(household_load(finer.home.scenario, finer.home.timeline, finer.home.weather), 60 // minutes)
    return StepComparison(minutes, hourly=compare(hours, home_from(hours, household)), finer=finer)


def _by_hours(household: Household, parts: int) -> Household:
    def mean(kw: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(kw.reshape(-1, parts).mean(axis=1), np.float64)

    return replace(
        household,
        load_kw=mean(household.load_kw),
        critical_kw=mean(household.critical_kw),
        kw_by_part={name: mean(kw) for name, kw in household.kw_by_part.items()},
    )
