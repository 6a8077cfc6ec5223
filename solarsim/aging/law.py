"""How aging adds up over the years: stress of each year in, loss, capacity and resistance out.

A published law says "loss = k x^z" for constant stress: x is time or throughput, z often one half. Under
varying stress a battery that has lost L is where constant stress k would have brought it at the
virtual time x = (L/k)^(1/z), and goes on from there. Then L^(1/z) grows by k^(1/z) for each unit of x: that is
what is added up here as stress, and the loss is its power z. For z = 1/2 this is the square-root method
of Naumann et al., J. Power Sources 451 (2020) 227666; constant stress in parts equals the closed form.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.aging.history import History

Floats = NDArray[np.float64]


class Stress(NamedTuple):
    """Stress since a battery was new; years add up field by field.

    Attributes
    ----------
    calendar, cycle : float or array of float
        Of capacity: calendar aging and cycle aging.
    calendar_rise, cycle_rise : float or array of float
        Of resistance: the same.
    """

    calendar: float | Floats = 0.0
    cycle: float | Floats = 0.0
    calendar_rise: float | Floats = 0.0
    cycle_rise: float | Floats = 0.0


class Law(NamedTuple):
    """An aging model.

    Attributes
    ----------
    source : str
        Publication, for the user.
    exponents : Stress
        The power z of each of the four sums.
    stress : callable
        From the history of a year to its stress.
    outside : callable
        From the history of a year to notes: where it left the model's range, and what was done.
    """

    source: str
    exponents: Stress
    stress: Callable[[History], Stress]
    outside: Callable[[History], list[str]]


class Condition(NamedTuple):
    """What is left of a battery, as shares of the new one.

    Attributes
    ----------
    calendar_loss, cycle_loss : array of float
        Capacity lost to calendar aging and to cycle aging.
    capacity : array of float
        What is left, at least 0.
    resistance : array of float
        1 when new.
    """

    calendar_loss: Floats
    cycle_loss: Floats
    capacity: Floats
    resistance: Floats


def plus(one: Stress, other: Stress, times: float | Floats = 1.0) -> Stress:
    """Compute the stress after more years.

    Parameters
    ----------
    one : Stress
        Since the battery was new.
    other : Stress
        Of one more year.
    times : float or array of float
        How often that year is repeated.

    Returns
    -------
    Stress
        Since the battery was new.
    """
    return Stress(*(before + times * more for before, more in zip(one, other, strict=True)))


def condition(law: Law, stress: Stress) -> Condition:
    """Compute capacity and resistance after a stress.

    Parameters
    ----------
    law : Law
        The model.
    stress : Stress
        Since the battery was new.

    Returns
    -------
    Condition
        Calendar and cycle aging are added, as the laws used here were fitted.
    """
    calendar, cycle, calendar_rise, cycle_rise = (
        np.asarray(total, np.float64) ** exponent for total, exponent in zip(stress, law.exponents, strict=True)
    )
    return Condition(calendar, cycle, np.maximum(0.0, 1.0 - calendar - cycle), 1.0 + calendar_rise + cycle_rise)


def _held(values: Floats, low: float, high: float) -> tuple[Floats, float]:
    """Return values held at the edges of a model's range, and the share of them that was outside."""
    within = np.clip(values, low, high)
    return within, float((within != values).mean()) if values.size else 0.0
