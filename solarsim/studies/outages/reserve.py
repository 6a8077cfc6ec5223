"""What a reserve costs and what it gives: a home and a strategy in, one point for each level of reserve out."""

from typing import NamedTuple

from solarsim.home import Home
from solarsim.studies.outages.island import Survival, island_of, keeping, survival_of, without_generator

_STEPS = 10


class ReservePoint(NamedTuple):
    """One level of reserve.

    Attributes
    ----------
    reserve : float
        Kept in every hour, 0-1.
    held : bool
        A window that sells, or a ceiling of solar charging, keeps it lower at times.
    annual_bill : float
        Of a year without outages [currency].
    costs : float
        That, less the bill with the lowest reserve [currency a year].
    survival : Survival
        What battery and sun ride through.
    """

    reserve: float
    held: bool
    annual_bill: float
    costs: float
    survival: Survival


def reserve_levels(lowest: float) -> list[float]:
    """Give the levels of reserve that are tried.

    Parameters
    ----------
    lowest : float
        The battery's low cutoff, 0-1.

    Returns
    -------
    list of float
        The lowest, and every tenth above it up to full.
    """
    return [lowest, *(tenth / _STEPS for tenth in range(1, _STEPS + 1) if tenth / _STEPS > lowest + 1e-9)]


def reserve_curve(home: Home, strategy: str) -> tuple[ReservePoint, ...]:
    """Run a strategy with every level of reserve: the bill that it leaves and the outages that it rides through.

    A generator stays out of it: it hides what a reserve does.

    Parameters
    ----------
    home : Home
        Connected to the grid, with a battery and an arrangement.
    strategy : str
        The name of one of its strategies.

    Returns
    -------
    tuple of ReservePoint
        From the lowest level up.

    Raises
    ------
    ScenarioError
        See ``island_of``.
    """
    home = without_generator(home)
    battery = home.scenario.battery_in_use
    points: list[ReservePoint] = []
    for level in reserve_levels(0.0 if battery is None else battery.low_cutoff):
        changed, held = keeping(home, strategy, level)
        island = island_of(changed, strategy)
        lowest_bill = points[0].annual_bill if points else island.annual_bill
        points.append(
            ReservePoint(level, held, island.annual_bill, island.annual_bill - lowest_bill, survival_of(island))
        )
    return tuple(points)
