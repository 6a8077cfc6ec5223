"""Aging of lithium iron phosphate cells: a year's history in, its stress out.

M. Naumann, M. Schimpe, P. Keil, H. C. Hesse, A. Jossen: "Analysis and modeling of calendar aging of a commercial
LiFePO4/graphite cell", J. Energy Storage 17 (2018) 153-169; M. Naumann, F. B. Spingler, A. Jossen: "Analysis and
modeling of cycle aging of a commercial LiFePO4/graphite cell", J. Power Sources 451 (2020) 227666. One 3 Ah cell:
other makers' cells age otherwise. The coefficients of resistance and the ranges that were tested are from memory.
"""

import numpy as np
from numpy.typing import NDArray

from solarsim.aging.history import History
from solarsim.aging.law import Law, Stress, _held

Floats = NDArray[np.float64]
_GAS_J_PER_MOL_K = 8.314
_ZERO_C_K = 273.15
_AT_K = 298.15
_RANGE_C = (0.0, 60.0)
_RANGE_C_RATE = (0.2, 1.0)


def _calendar_rate(soc: Floats | float, temperature_c: Floats | float) -> Floats:
    """Return the share of capacity lost to age for each square root of a second."""
    kelvin = np.asarray(temperature_c) + _ZERO_C_K
    warmth = np.exp(-17126.0 / _GAS_J_PER_MOL_K * (1.0 / kelvin - 1.0 / _AT_K))
    return np.asarray(1.2571e-5 * warmth * (2.8575 * (np.asarray(soc) - 0.5) ** 3 + 0.60225))


def _cycle_rate(depth: Floats | float, c_rate: Floats | float) -> Floats:
    """Return the share of capacity lost to cycling for each square root of an equivalent full cycle."""
    shape = 4.0253 * (np.asarray(depth) - 0.6) ** 3 + 1.0923
    return np.asarray((0.0630 * np.asarray(c_rate) + 0.0971) * shape / 100.0)


def _calendar_rise_rate(soc: Floats | float, temperature_c: Floats | float) -> Floats:
    """Return the rise of resistance by age for each second (coefficients from memory)."""
    kelvin = np.asarray(temperature_c) + _ZERO_C_K
    warmth = np.exp(-71827.0 / _GAS_J_PER_MOL_K * (1.0 / kelvin - 1.0 / _AT_K))
    return np.asarray(3.419e-10 * warmth * (3.3903 * (np.asarray(soc) - 0.5) ** 2 + 1.5604))


def _cycle_rise_rate(depth: Floats | float, c_rate: Floats | float) -> Floats:
    """Return the rise of resistance by cycling for each equivalent full cycle (coefficients from memory)."""
    shape = 6.8477 * (np.asarray(depth) - 0.5) ** 3 + 0.91882
    return np.asarray((-0.0020 * np.asarray(c_rate) + 0.0021) * shape / 100.0)


def _stress(year: History) -> Stress:
    cycles, step_s = year.cycles, year.step_h * 3600.0
    temperature_c, _ = _held(year.temperature_c, *_RANGE_C)
    c_rate, _ = _held(cycles.c_rate, *_RANGE_C_RATE)
    full = cycles.times * cycles.depth
    return Stress(
        calendar=float((_calendar_rate(year.soc, temperature_c) ** 2).sum() * step_s),
        cycle=float((_cycle_rate(cycles.depth, c_rate) ** 2 * full).sum()),
        calendar_rise=float(_calendar_rise_rate(year.soc, temperature_c).sum() * step_s),
        cycle_rise=float((_cycle_rise_rate(cycles.depth, c_rate) * full).sum()),
    )


def _outside(year: History) -> list[str]:
    _, hours = _held(year.temperature_c, *_RANGE_C)
    cycles = year.cycles
    notes = []
    if hours >= 0.005:
        notes.append(
            f"{hours:.0%} of the year the cells are outside {_RANGE_C[0]:g} to {_RANGE_C[1]:g} °C:"
            " aged at the nearer limit"
        )
    for beyond, words in (
        (cycles.c_rate < _RANGE_C_RATE[0], "slower than C/5, the slowest that was tested: aged as at C/5"),
        (cycles.c_rate > _RANGE_C_RATE[1], "faster than 1C, the fastest that was tested: aged as at 1C"),
    ):
        share = float((cycles.depth * cycles.times)[beyond].sum()) / max(cycles.full, 1e-9)
        if share >= 0.005:
            notes.append(f"{share:.0%} of the throughput is {words}")
    return notes


LFP = Law("Naumann et al. 2018, 2020", Stress(0.5, 0.5, 1.0, 1.0), _stress, _outside)
