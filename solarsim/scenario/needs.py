"""What a command needs beyond what every scenario has: a scenario in, one line for each thing that is missing out.

Each study names its needs in ``NEEDS``, refuses a scenario by them, and ``check`` reads them from there.
"""

from collections.abc import Callable, Sequence
from typing import NamedTuple, get_args

from solarsim.errors import ScenarioError
from solarsim.scenario._lapses import NO_SYSTEM
from solarsim.scenario.battery.chemistry import Chemistry
from solarsim.scenario.life import Lifetime
from solarsim.scenario.model import Scenario


class Need(NamedTuple):
    """One thing that a command needs.

    Attributes
    ----------
    is_missing : callable
        Whether a scenario lacks it.
    problem : str
        What to write, as it follows the name of the file.
    """

    is_missing: Callable[[Scenario], bool]
    problem: str


def _has_no_battery(scenario: Scenario) -> bool:
    return scenario.battery_in_use is None or scenario.battery_in_use.kwh == 0.0


def _names_nothing_uncertain(scenario: Scenario) -> bool:
    life = scenario.life
    spread = None if life is None else life.uncertainty
    if life is None or spread is None:
        return False
    return not (life.spreads() or spread.weather_standard_deviation or spread.weather_files)


COSTS = Need(lambda home: home.costs is None, "has no table [costs]; add one with parts")
LIFE = Need(
    lambda home: home.life is None,
    "has no table [life]; add one with "
    + ", ".join(key for key, declared in Lifetime.model_fields.items() if declared.is_required()),
)
UNCERTAINTY = Need(
    lambda home: home.life is None or home.life.uncertainty is None,
    "has no table [life.uncertainty]; add one with lifetimes, seed",
)
SPREADS = Need(
    _names_nothing_uncertain, "life.uncertainty: names no uncertain input, for example price_growth or weather_files"
)
ARRANGEMENT = Need(
    lambda home: home.arrangement is None,
    "has no table [arrangement]; add one with a kind (grid_tied, hybrid or off_grid)",
)
BATTERY = Need(_has_no_battery, "has no battery, so none can age")
BATTERY_TO_TUNE = Need(_has_no_battery, "has no battery, so there is nothing to tune")
GRID_TO_TUNE = Need(
    lambda home: not _has_no_battery(home) and home.arrangement is not None and home.arrangement.kind == "off_grid",
    "arrangement: a home off the grid has nothing to tune: its battery serves the home whenever it can, and there is no"
    " grid to charge from or to sell to",
)
CHEMISTRY = Need(
    lambda home: not _has_no_battery(home) and home.battery is not None and home.battery.chemistry is None,
    f"battery.chemistry: is missing; allowed: {', '.join(get_args(Chemistry))}",
)
PRODUCTION_LOG = Need(
    lambda home: home.production_log is None,
    'has no table [production_log]; add one with side ("ac" or "dc") and file and column, or monthly_kwh',
)
ARRAYS_TO_COMPARE = Need(
    lambda home: home.production_log is not None and not home.arrays,
    "has a [production_log] but no [[arrays]] to compare it with",
)
OTHER_PLANS = Need(
    lambda home: home.plans is None or not home.plans.files,
    "has no table [plans] with files of other rate plans; add one, or name each with --rate-plan FILE",
)
WIRING = Need(
    lambda home: home.wiring is None,
    "wiring: is missing; write a table [wiring] with standard, edition, building, grid_v and phases:"
    " solarsim guide wiring",
)


def missing(scenario: Scenario, needs: Sequence[Need]) -> tuple[str, ...]:
    """Return what a scenario lacks.

    Parameters
    ----------
    scenario : Scenario
        Validated.
    needs : sequence of Need
        Of a command.

    Returns
    -------
    tuple of str
        One line for each thing that is missing, as it follows the name of the file.
    """
    lacking = [need.problem for need in needs if need.is_missing(scenario)]
    gone = next((f" ({note})" for note in scenario.notes if note.startswith(NO_SYSTEM)), "") if lacking else ""
    return tuple(f"{problem}{gone}" for problem in lacking)


def require(scenario: Scenario, *needs: Need) -> None:
    """Check that a scenario has what a command needs.

    Parameters
    ----------
    scenario : Scenario
        Validated.
    needs : Need
        Of the command.

    Raises
    ------
    ScenarioError
        Something is missing; one line for each.
    """
    lines = missing(scenario, needs)
    if lines:
        raise ScenarioError(*map(scenario.problem, lines))
