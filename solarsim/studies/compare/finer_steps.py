"""What hourly steps hide: a scenario in, every strategy's year by hours and by finer steps side by side out."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.windows import off_step
from solarsim.home import home_from
from solarsim.load.household import Household, household_load
from solarsim.results import Result, computed, fact
from solarsim.run import Run
from solarsim.scenario.model import Scenario
from solarsim.studies.compare.compare import Comparison, compare

#: What is shown side by side: keys of ``Run``.
BESIDE = ("annual_bill", "self_consumption", "import_kwh", "peak_import_kw")


@dataclass(frozen=True, eq=False, repr=False)
class SideBySide(Result):
    """One strategy's year at both steps."""

    name: str = fact("name of the strategy", "text")
    hourly: dict[str, float] = fact("its year by hours", "record")
    finer: dict[str, float] = fact("its year by finer steps", "record")

    @computed("what finer steps add", "record")
    def difference(self) -> dict[str, float]:
        return {key: self.finer[key] - self.hourly[key] for key in BESIDE}


@dataclass(frozen=True, eq=False, repr=False)
class StepComparison(Result):
    """One scenario by hours and by finer steps."""

    _rows = "strategies"

    hourly: Comparison
    finer: Comparison
    step_minutes: int = fact("length of the finer steps: 30 or 15", "min")

    @computed(
        "whether the load differs within any hour; if not, sun and windows alone make the difference", "true or false"
    )
    def load_moves(self) -> bool:
        hours = self.finer.home.load_kw.reshape(-1, 60 // self.step_minutes)
        return bool(np.ptp(hours, axis=1).max() > 1e-9)

    @computed("every strategy at both steps; the home without any system comes first", "table")
    def strategies(self) -> tuple[SideBySide, ...]:
        pairs = [("no system", self.hourly.baseline, self.finer.baseline)]
        if self.hourly.solar_only is not None and self.finer.solar_only is not None:
            pairs.append((self.hourly.solar_only.name, self.hourly.solar_only, self.finer.solar_only))
        pairs += [(one.name, one, other) for one, other in zip(self.hourly.runs, self.finer.runs, strict=True)]
        return tuple(SideBySide(name, _shown(hourly), _shown(finer)) for name, hourly, finer in pairs)

    @computed("what a reader should know", "list")
    def notes(self) -> list[str]:
        return list(self.finer.notes)


def _shown(run: Run) -> dict[str, float]:
    return {key: getattr(run, key) for key in BESIDE}


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
        return StepComparison(at(60), finer, minutes)
    household = _by_hours(household_load(finer.home.scenario, finer.home.timeline, finer.home.weather), 60 // minutes)
    return StepComparison(compare(hours, home_from(hours, household)), finer, minutes)


def _by_hours(household: Household, parts: int) -> Household:
    def mean(kw: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(kw.reshape(-1, parts).mean(axis=1), np.float64)

    return replace(
        household,
        load_kw=mean(household.load_kw),
        critical_kw=mean(household.critical_kw),
        kw_by_part={name: mean(kw) for name, kw in household.kw_by_part.items()},
    )
