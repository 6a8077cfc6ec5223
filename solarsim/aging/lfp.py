"""Aging of lithium iron phosphate cells: a year's history in, its stress out.

M. Naumann, M. Schimpe, P. Keil, H. C. Hesse, A. Jossen: "Analysis and modeling of calendar aging of a commercial
LiFePO4/graphite cell", J. Energy Storage 17 (2018) 153-169; M. Naumann, F. B. Spingler, A. Jossen: "Analysis and
modeling of cycle aging of a commercial LiFePO4/graphite cell", J. Power Sources 451 (2020) 227666. One 3 Ah cell:
other makers' cells age otherwise. The coefficients of resistance and the ranges that were tested are from memory.
"""

import numpy as np
from numpy.typing import NDArray

from solarsim.aging.history import History
from solarsim.aging.law import Law, Stress, held

Floats = NDArray[np.float64]
_GAS_J_PER_MOL_K = 8.314
_ZERO_C_K = 273.15
_AT_K = 298.15
RANGE_C = (0.0, 60.0)
RANGE_C_RATE = (0.2, 1.0)


def calendar_rate(soc: Floats | float, temperature_c: Floats | float) -> Floats:
    """Tell how fast time takes capacity: the loss is this times the square root of seconds.

    Parameters
    ----------
    soc : array of float or float
        State of charge, 0-1.
    temperature_c : array of float or float
        Of the cells [C].

    Returns
    -------
    array of float
        Share of capacity for each root of a second.
    """
    kelvin = np.asarray(temperature_c) + _ZERO_C_K
    warmth = np.exp(-17126.0 / _GAS_J_PER_MOL_K * (1.0 / kelvin - 1.0 / _AT_K))
    return np.asarray(1.2571e-5 * warmth * (2.8575 * (np.asarray(soc) - 0.5) ** 3 + 0.60225))


def cycle_rate(depth: Floats | float, c_rate: Floats | float) -> Floats:
    """Tell how fast cycling takes capacity: the loss is this times the square root of equivalent full cycles.

    Parameters
    ----------
    depth : array of float or float
        Range of the state of charge, 0-1.
    c_rate : array of float or float
        Current / capacity [1/h].

    Returns
    -------
    array of float
        Share of capacity for each root of a cycle.
    """
    shape = 4.0253 * (np.asarray(depth) - 0.6) ** 3 + 1.0923
    return np.asarray((0.0630 * np.asarray(c_rate) + 0.0971) * shape / 100.0)


def calendar_rise_rate(soc: Floats | float, temperature_c: Floats | float) -> Floats:
    """Tell how fast time raises resistance: the rise is this times seconds.

    Parameters
    ----------
    soc : array of float or float
        State of charge, 0-1.
    temperature_c : array of float or float
        Of the cells [C].

    Returns
    -------
    array of float
        Share of the first resistance for each second (coefficients from memory).
    """
    kelvin = np.asarray(temperature_c) + _ZERO_C_K
    warmth = np.exp(-71827.0 / _GAS_J_PER_MOL_K * (1.0 / kelvin - 1.0 / _AT_K))
    return np.asarray(3.419e-10 * warmth * (3.3903 * (np.asarray(soc) - 0.5) ** 2 + 1.5604))


def cycle_rise_rate(depth: Floats | float, c_rate: Floats | float) -> Floats:
    """Tell how fast cycling raises resistance: the rise is this times equivalent full cycles.

    Parameters
    ----------
    depth : array of float or float
        Range of the state of charge, 0-1.
    c_rate : array of float or float
        Current / capacity, at most 1 [1/h].

    Returns
    -------
    array of float
        Share of the first resistance for each cycle (coefficients from memory).
    """
    shape = 6.8477 * (np.asarray(depth) - 0.5) ** 3 + 0.91882
    return np.asarray((-0.0020 * np.asarray(c_rate) + 0.0021) * shape / 100.0)


def _stress(year: History) -> Stress:
    cycles, step_s = year.cycles, year.step_h * 3600.0
    temperature_c, _ = held(year.temperature_c, *RANGE_C)
    c_rate, _ = held(cycles.c_rate, *RANGE_C_RATE)
    full = cycles.times * cycles.depth
    return Stress(
        calendar=float((calendar_rate(year.soc, temperature_c) ** 2).sum() * step_s),
        cycle=float((cycle_rate(cycles.depth, c_rate) ** 2 * full).sum()),
        calendar_rise=float(calendar_rise_rate(year.soc, temperature_c).sum() * step_s),
        cycle_rise=float((cycle_rise_rate(cycles.depth, c_rate) * full).sum()),
    )


def _outside(year: History) -> list[str]:
    _, hours = held(year.temperature_c, *RANGE_C)
    cycles = year.cycles
    told = []
    if hours >= 0.005:
        told.append(
            f"{hours:.0%} of the year the cells are outside {RANGE_C[0]:g} to {RANGE_C[1]:g} C: held at the edge"
        )
    for beyond, words in (
        (cycles.c_rate < RANGE_C_RATE[0], "slower than C/5, the slowest that was tested: aged as at C/5"),
        (cycles.c_rate > RANGE_C_RATE[1], "faster than 1C, the fastest that was tested: aged as at 1C"),
    ):
        share = float((cycles.depth * cycles.times)[beyond].sum()) / max(cycles.full, 1e-9)
        if share >= 0.005:
            told.append(f"{share:.0%} of the throughput is {words}")
    return told


LFP = Law("Naumann et al. 2018, 2020", Stress(0.5, 0.5, 1.0, 1.0), _stress, _outside)
