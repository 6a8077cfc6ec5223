"""A battery's year: state of charge and temperature in, counted cycles out.

Cycles are counted by the rainflow method (ASTM E1049-85, section 5.4.4; library ``rainflow``). A year that is repeated
again and again is a circle: it is opened at its highest state of charge, as the standard's section on repeating
histories asks, so that every cycle closes.
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
        Mean of the steps in which the battery worked: change of the state of charge per hour [1/h].
    """

    depth: Floats
    mean_soc: Floats
    times: Floats
    c_rate: Floats

    @property
    def full(self) -> float:
        """Equivalent full cycles: the sum of all depths."""
        return float((self.depth * self.times).sum())


class History(NamedTuple):
    """A year as the aging models need it.

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
    """Build the history of a year, its cycles counted.

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
    return History(middle, temperature_c, step_h, _cycles_of(soc_bounds, step_h))


def _cycles_of(soc_bounds: Floats, step_h: float) -> Cycles:
    """Return the cycles of a year that is repeated again and again."""
    first = int(np.argmax(soc_bounds[:-1]))
    # Less than a trillionth is rounding; products of such steps vanish within the library, and cycles with them.
    path = np.append(np.roll(soc_bounds[:-1], -first), soc_bounds[first]).round(12)
    turns = _turning_points(path)
    table = np.array(_counted(path[turns]), np.float64).reshape(-1, 5)
    depth, mean_soc, times = table[:, 0], table[:, 1], table[:, 2]
    start, end = (turns[table[:, column].astype(int)] for column in (3, 4))
    change = np.abs(np.diff(path))
    moving = change > _STILL * step_h
    moved = np.concatenate([[0.0], np.cumsum(change * moving)])
    hours = np.concatenate([[0.0], np.cumsum(moving) * step_h])
    c_rate = (moved[end] - moved[start]) / np.maximum(hours[end] - hours[start], step_h)
    return Cycles(depth, mean_soc, times, c_rate)


def _turning_points(path: Floats) -> NDArray[np.int_]:
    """Return the places where a path turns, first and last included; a plateau counts as one point."""
    places = np.concatenate([[0], np.flatnonzero(np.diff(path)) + 1])
    rising = np.diff(path[places]) > 0.0
    inner = places[1:-1][rising[1:] != rising[:-1]]
    return np.concatenate([places[:1], inner, places[-1:]]) if places.size > 1 else places


def _counted(values: Floats) -> list[tuple[float, float, float, int, int]]:
    """Return range, middle, 1 or 0.5, and the places of both ends of each cycle, by the rainflow method."""
    import rainflow

    return list(rainflow.extract_cycles(values.tolist()))
