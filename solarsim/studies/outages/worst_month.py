"""The month with the shortest backup: a home and a strategy in; its number and the backup duration out."""

import numpy as np

from solarsim.home import Home
from solarsim.studies.outages._island import backup_of, can_island, island_of


def worst_month(home: Home, strategy: str) -> tuple[int | None, float] | None:
    """Return the month in which outages are backed up for the shortest time, by the median of its starts.

    Parameters
    ----------
    home : Home
        With an arrangement.
    strategy : str
        The name of one of its strategies.

    Returns
    -------
    tuple or None
        Month, 1 to 12, and backup duration [h], at most 72; no month and 0 where nothing is supplied without the grid;
        None where the scenario does not state an arrangement, or there is no grid that could fail.
    """
    arrangement = home.scenario.arrangement
    if arrangement is None or not arrangement.has_grid:
        return None
    if not can_island(home):
        return None, 0.0
    backup = backup_of(island_of(home, strategy))
    hours = [backup.lowest_in(0.5, month) for month in range(1, 13)]
    worst = int(np.argmin(hours))
    return worst + 1, hours[worst]
