"""The plan: what a strategy asks for in every step, as plain arrays."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray


class Plan(NamedTuple):
    """A strategy laid onto the timeline; every array has one entry for each step.

    Attributes
    ----------
    battery_first : array of bool
        Surplus goes to the battery before the grid.
    serves_load : array of bool
        The battery may serve the home.
    floor : array of float
        No discharge below this state of charge, 0-1.
    ceiling : array of float
        Solar charging stops at this state of charge, 0-1.
    charge_to : array of float
        Charge up to here, from the grid if the sun does not suffice, 0-1; 0 means no such order.
    sell_to : array of float
        Sell from the battery down to here, 0-1; 1 means no such order.
    import_cap_kw : array of float
        The battery covers demand above it, and charging from the grid stays under it [kW].
    export_limit_kw : array of float
        Export stops here [kW].
    bias_kw : array of float
        Import that zero export keeps [kW].
    grid : array of bool
        The grid is there.
    backed_kw : array of float
        Without it: demand that stands behind the inverter and can be served, self-use included [kW].
    generator_may_start : array of bool
        Without it: a generator may start or go on.
    """

    battery_first: NDArray[np.bool_]
    serves_load: NDArray[np.bool_]
    floor: NDArray[np.float64]
    ceiling: NDArray[np.float64]
    charge_to: NDArray[np.float64]
    sell_to: NDArray[np.float64]
    import_cap_kw: NDArray[np.float64]
    export_limit_kw: NDArray[np.float64]
    bias_kw: NDArray[np.float64]
    grid: NDArray[np.bool_]
    backed_kw: NDArray[np.float64]
    generator_may_start: NDArray[np.bool_]
