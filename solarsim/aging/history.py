"""What a battery lived through in a year: state of charge and temperature in, counted cycles out.

Cycles are counted by the rainflow method (ASTM E1049-85, section 5.4.4; library ``rainflow``). A year
that is lived again and again is a circle: it is opened at its highest state of charge, as the
standard's section on repeating histories asks, so that every cycle closes.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
_STILL = 1e-3  # change of state of charge in an hour that is self-discharge or rounding, not a cycle


class Cycles(NamedTuple):
    """Counted cycles, one entry for each.

    Attributes
    ----------
    depth, mean_soc : arrays of float
        Range and middle of the state of charge, 0-1.
    times : array of float
        1 for a whole cycle, 0.5 for a half.
    c_rate : array of float
        Mean of the steps in which the battery moved: change of state of charge an hour [1/h].
    """

    depth: Floats
    mean_soc: Floats
    times: Floats
    c_rate: Floats

    @property
    def full(self) -> float:
        """Equivalent full cycles: depths added up."""
        return float((self.depth * self.times).sum())


class History(NamedTuple):
    """A year as the models of aging see it.

    Attributes
    ----------
    soc, temperature_c : arrays of float
        Mean of each step: 0-1, and of the cells [C].
    step_h : float
        Length of a step [h].
    cycles : Cycles
        Of the whole year.
    """

    soc: Floats
    temperature_c: Floats
    step_h: float
    cycles: Cycles


def history_from(soc_bounds: Floats, temperature_c: Floats, step_h: float) -> History:
    """Count a year's cycles.

    Parameters
    ----------
    soc_bounds : array of float
        State of charge at the start of the year and at the end of each step, 0-1.
    temperature_c : array of float
        Of the cells, mean of each step [C].
    step_h : float
        Length of a step [h].

    Returns
    -------
    History
        The year.
    """
    middle = (soc_bounds[1:] + soc_bounds[:-1]) / 2.0
    return History(middle, temperature_c, step_h, cycles_of(soc_bounds, step_h))


def cycles_of(soc_bounds: Floats, step_h: float) -> Cycles:
    """Count the cycles of a year that is lived again and again.

    Parameters
    ----------
    soc_bounds : array of float
        As for ``history_from``.
    step_h : float
        Length of a step [h].

    Returns
    -------
    Cycles
        None of them where the state of charge never changes.
    """
    first = int(np.argmax(soc_bounds[:-1]))
    # Less than a trillionth is rounding; products of such steps vanish within the library, and cycles with them.
    path = np.append(np.roll(soc_bounds[:-1], -first), soc_bounds[first]).round(12)
    turns = turning_points(path)
    table = np.array(counted(path[turns]), np.float64).reshape(-1, 5)
    depth, mean_soc, times = table[:, 0], table[:, 1], table[:, 2]
    start, end = (turns[table[:, column].astype(int)] for column in (3, 4))
    change = np.abs(np.diff(path))
    moving = change > _STILL * step_h
    moved = np.concatenate([[0.0], np.cumsum(change * moving)])
    hours = np.concatenate([[0.0], np.cumsum(moving) * step_h])
    c_rate = (moved[end] - moved[start]) / np.maximum(hours[end] - hours[start], step_h)
    return Cycles(depth, mean_soc, times, c_rate)


def turning_points(path: Floats) -> NDArray[np.int_]:
    """Find where a path turns, its first and last point included; plateaus count as one point.

    Parameters
    ----------
    path : array of float
        Any.

    Returns
    -------
    array of int
        Places in the path.
    """
    places = np.concatenate([[0], np.flatnonzero(np.diff(path)) + 1])
    rising = np.diff(path[places]) > 0.0
    inner = places[1:-1][rising[1:] != rising[:-1]]
    return np.concatenate([places[:1], inner, places[-1:]]) if places.size > 1 else places


def counted(values: Floats) -> list[tuple[float, float, float, int, int]]:
    """Count the cycles of a path by the rainflow method.

    Parameters
    ----------
    values : array of float
        Where it turns.

    Returns
    -------
    list of tuple
        Range, middle, 1 or 0.5, and the places of its two ends, for each cycle.
    """
    import rainflow

    return list(rainflow.extract_cycles(values.tolist()))
