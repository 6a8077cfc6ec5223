"""The voltage of strings in the cold: datasheet values and the coldest hour in; volts and string lengths out."""

from math import ceil, floor
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.scenario.site import Site

STANDARD_C = 25.0  #: cell temperature of a datasheet
_ROUNDING = 1e-9


class ColdestHour(NamedTuple):
    """The air temperature for which strings are checked, and where it comes from.

    Attributes
    ----------
    air_c : float
        [C]. Before sunrise cells are as cold as the air (common practice, no source).
    source : str
        In words, for a message.
    """

    air_c: float
    source: str


def coldest_hour(site: Site, temp_air_c: NDArray[np.float64]) -> ColdestHour:
    """Return the site's design temperature; where it states none, the lowest of the weather, nights included.

    Parameters
    ----------
    site : Site
        Its ``design_low_c``, if any.
    temp_air_c : array of float
        The year's air temperature [C].

    Returns
    -------
    ColdestHour
        Temperature and source.
    """
    if site.design_low_c is not None:
        return ColdestHour(site.design_low_c, "site.design_low_c")
    return ColdestHour(
        float(temp_air_c.min()), "lowest air temperature of this weather; a design value, site.design_low_c, is lower"
    )


def cold_open_circuit_v(v_oc_v: float, per_c: float, low_c: float) -> float:
    """Return a module's open-circuit voltage at a low temperature, by its maker's coefficient.

    Parameters
    ----------
    v_oc_v : float
        At standard test conditions [V].
    per_c : float
        Temperature coefficient, below 0: share per degree [C].
    low_c : float
        Lowest expected temperature [C].

    Returns
    -------
    float
        [V]. NEC 690.7(A)(1): the maker's coefficient comes before the table.

    Examples
    --------
    >>> round(cold_open_circuit_v(49.5, -0.0027, -10.0), 2)
    54.18
    """
    return v_oc_v * (1.0 + per_c * (low_c - STANDARD_C))


def most_in_series(limit_v: float, each_v: float) -> int:
    """Return how many modules in series stay at or below a voltage [V]."""
    return floor(limit_v / each_v + _ROUNDING)


def fewest_in_series(limit_v: float, each_v: float) -> int:
    """Return how many modules in series reach a voltage [V]."""
    return ceil(limit_v / each_v - _ROUNDING)
