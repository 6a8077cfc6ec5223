"""Where the roof's energy goes: a home in, kilowatt-hours and hours lost to each cause, by array and input, out."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.home import Home

Floats = NDArray[np.float64]
_NOTICED_KW = 1e-3


@dataclass(frozen=True, eq=False)
class Way:
    """Energy of one array or one input, from what it is offered to what is left, cause by cause.

    Attributes
    ----------
    offered_kwh : array of float
        By month [kWh].
    lost_kwh : dict of str to array of float
        By cause and month, in order [kWh].
    lost_h : dict of str to float
        By cause, the time in which more than a watt was lost [h].
    """

    offered_kwh: Floats
    lost_kwh: dict[str, Floats]
    lost_h: dict[str, float]

    @property
    def left_kwh(self) -> Floats:
        """What is left, by month [kWh]."""
        return np.asarray(self.offered_kwh - sum(self.lost_kwh.values()))


@dataclass(frozen=True, eq=False)
class ArrayWay:
    """An array's way from light to its input.

    Attributes
    ----------
    name : str
        Of the array.
    input : int or None
        On which it stands; None behind an inverter of its own.
    rated_kw : float
        Power at standard test conditions [kW].
    way : Way
        Offered is rating x light on its plane.
    """

    name: str
    input: int | None
    rated_kw: float
    way: Way


@dataclass(frozen=True, eq=False)
class InputWay:
    """An input's way from its arrays to the inverter's DC side.

    Attributes
    ----------
    number : int
        From 1.
    way : Way
        Offered is what its arrays could bring, each by itself.
    open_circuit_max_v : float or None
        Highest voltage without load [V]; None where arrays have ratings only.
    working_min_v, working_max_v : float or None
        Lowest and highest working voltage while more than a watt comes [V].
    """

    number: int
    way: Way
    open_circuit_max_v: float | None
    working_min_v: float | None
    working_max_v: float | None


@dataclass(frozen=True, eq=False)
class Roof:
    """The roof's year.

    Attributes
    ----------
    home : Home
        Of which it tells.
    arrays : tuple of ArrayWay
        As in the scenario.
    inputs : tuple of InputWay
        Those with arrays.
    """

    home: Home
    arrays: tuple[ArrayWay, ...]
    inputs: tuple[InputWay, ...]

    @property
    def pv_available_kwh(self) -> Floats:
        """What comes to the inverter's DC side, by month [kWh]."""
        return np.asarray(sum((each.way.left_kwh for each in self.inputs), np.zeros(12)))


def roof_of(home: Home) -> Roof:
    """Add up what the roof loses on its way to the inverter.

    Parameters
    ----------
    home : Home
        With its production.

    Returns
    -------
    Roof
        Every kilowatt-hour from the light on the planes to the DC side is either left or lost to one named cause.

    Raises
    ------
    ValueError
        The home is of a later year.
    """
    production = home.production.roof
    if production is None:
        raise ValueError("the home is of a later year: its roof's way was not computed")
    month = home.timeline.standard_month[production.up] - 1
    step_h = home.timeline.step_h
    inputs = []
    for each in production.inputs:
        if any(array.input == each.number for array in production.arrays):
            working = None if each.working_v is None else each.working_v[each.stages["power"] > _NOTICED_KW]
            known = working is not None and working.size > 0
            inputs.append(
                InputWay(
                    number=each.number,
                    way=_way(each.stages, month, step_h),
                    open_circuit_max_v=None if each.open_circuit_v is None else float(each.open_circuit_v.max()),
                    working_min_v=float(working.min()) if working is not None and known else None,
                    working_max_v=float(working.max()) if working is not None and known else None,
                )
            )
    arrays = (
        ArrayWay(each.name, each.input, each.rated_kw, _way(each.stages, month, step_h)) for each in production.arrays
    )
    return Roof(home, tuple(arrays), tuple(inputs))


def _way(stages: dict[str, Floats], month: NDArray[np.int64], step_h: float) -> Way:
    (_, left), *following = stages.items()
    offered = _by_month(left, month, step_h)
    lost_kwh, lost_h = {}, {}
    for cause, kw in following:
        lost = left - kw
        lost_kwh[cause] = _by_month(lost, month, step_h)
        lost_h[cause] = float((lost > _NOTICED_KW).sum()) * step_h
        left = kw
    return Way(offered, lost_kwh, lost_h)


def _by_month(kw: Floats, month: NDArray[np.int64], step_h: float) -> Floats:
    return np.asarray(np.bincount(month, kw, minlength=12) * step_h, np.float64)
