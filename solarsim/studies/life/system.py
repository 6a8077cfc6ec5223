"""One strategy of a system, ready to be run through the years: stages in; its homes and payments, and its life, out."""

from collections.abc import Sequence
from typing import NamedTuple

from solarsim.home import Home
from solarsim.ledger.ledger import Ledger
from solarsim.ledger.payments import Payments, payments_from
from solarsim.run import SOLAR_ONLY
from solarsim.scenario.costs import Costs
from solarsim.scenario.life import Lifetime
from solarsim.studies.life.ages import LaterHomes
from solarsim.studies.life.stages import (
    Stage,
    later_homes,
    later_purchases,
    why_no_solar_only,
    without_battery,
)
from solarsim.studies.life.strategy_life import StrategyLife
from solarsim.studies.life.years import Course, homes_by_year, lean, ledgers_by_year, until_removed


class System(NamedTuple):
    """What the years of one strategy need, and little else: it is sent to workers.

    Attributes
    ----------
    strategy : str
        Its name.
    homes : tuple of Home
        Of the first year: with the typical weather, then with each weather file.
    later : tuple of LaterHomes
        After dated changes.
    costs : Costs
        When parts are replaced, and how the system is paid.
    payments : Payments
        All but the savings.
    discount_rate : float
        A year's.
    """

    strategy: str
    homes: tuple[Home, ...]
    later: tuple[LaterHomes, ...]
    costs: Costs
    payments: Payments
    discount_rate: float

    def life(self, course: Course, baselines: tuple[Ledger, ...] | None = None) -> StrategyLife:
        """Run the years.

        Parameters
        ----------
        course : Course
            How they go.
        baselines : tuple of Ledger, optional
            The same years without any system, where they have been run.

        Returns
        -------
        StrategyLife
            Without its months and without the home without a battery.
        """
        homes = homes_by_year(self.homes, course, self.costs, later=self.later)
        without, ledgers = ledgers_by_year(self.strategy, homes, baselines)
        years = until_removed(ledgers, without, self.costs)
        return StrategyLife(years, without, self.payments, self.discount_rate, self.strategy, course.cells_left)


def system_from(stages: Sequence[Stage], strategy: str, costs: Costs, settings: Lifetime) -> System:
    """Return a strategy of the home as written and as changed later.

    Parameters
    ----------
    stages : sequence of Stage
        From the home as written.
    strategy : str
        The name of one of its strategies.
    costs : Costs
        The scenario's.
    settings : Lifetime
        Its ``life``.

    Returns
    -------
    System
        Lean homes, and the payments.
    """
    return _system(stages, strategy, costs, settings, with_battery=True)


def solar_only_from(stages: Sequence[Stage], costs: Costs, settings: Lifetime) -> System | None:
    """Return the same home without a battery and without what only a battery needs.

    Parameters
    ----------
    stages : sequence of Stage
        From the home as written.
    costs : Costs
        The scenario's.
    settings : Lifetime
        Its ``life``.

    Returns
    -------
    System or None
        None where that cannot be, or what it costs is not known, see ``why_no_solar_only``.
    """
    if why_no_solar_only(stages, costs) is not None:
        return None
    return _system(without_battery(stages), SOLAR_ONLY, costs, settings, with_battery=False)


def _system(stages: Sequence[Stage], strategy: str, costs: Costs, settings: Lifetime, with_battery: bool) -> System:
    """Return a strategy's homes and payments."""
    return System(
        strategy=strategy,
        homes=tuple(lean(home, strategy) for home in stages[0].homes),
        later=tuple(later_homes(stages, strategy)),
        costs=costs,
        payments=payments_from(stages[0].purchase, costs, settings, later_purchases(stages, with_battery)),
        discount_rate=settings.discount_rate,
    )
