"""Aging of NMC cells: a year's history in, its stress out.

J. Schmalstieg, S. Kaebitz, M. Ecker, D. U. Sauer: "A holistic aging model for Li(NiMnCo)O2 based 18650 lithium-ion
batteries", J. Power Sources 257 (2014) 325-334 (secondary copies, which agree). Fitted to one make of 2.05 Ah cell
that was stored at 35 to 50 C and cycled at 35 C and 1C. Below 35 C its own Arrhenius law is extrapolated, which every
result states; below 0 C it is held. Newer cells mostly last longer.
"""

import numpy as np
from numpy.typing import NDArray

from solarsim.aging.history import History
from solarsim.aging.law import Law, Stress, _held

Floats = NDArray[np.float64]
_CELL_AH = 2.05
_ZERO_C_K = 273.15
_RANGE_C = (0.0, 50.0)
_TESTED_C = 35.0
# Voltage at rest by state of charge, NMC against graphite; from memory, common practice, no source.
_SOC = np.linspace(0.0, 1.0, 11)
_AT_REST_V = np.array([3.30, 3.50, 3.57, 3.61, 3.65, 3.69, 3.77, 3.86, 3.95, 4.06, 4.18])
_PARTS = (np.arange(40) + 0.5) / 40 - 0.5  # of a cycle's depth, at constant current
_LEAST_RISE = 1.5e-5


def _volts_at(soc: Floats | float) -> Floats:
    """Return the voltage of a cell at rest."""
    return np.asarray(np.interp(soc, _SOC, _AT_REST_V))


def _root_mean_square_v(mean_soc: Floats, depth: Floats) -> Floats:
    """Return the root mean square of the voltage over each cycle."""
    volts = _volts_at(mean_soc[:, None] + depth[:, None] * _PARTS)
    return np.asarray(np.sqrt((volts**2).mean(axis=1)))


def _calendar_rates(cell_v: Floats | float, temperature_c: Floats | float) -> tuple[Floats, Floats]:
    """Return capacity lost and resistance gained by age, for each (day to the power 0.75)."""
    kelvin, volts = np.asarray(temperature_c) + _ZERO_C_K, np.asarray(cell_v)
    loss = (7.543 * volts - 23.75) * 1e6 * np.exp(-6976.0 / kelvin)
    rise = (5.270 * volts - 16.32) * 1e5 * np.exp(-5986.0 / kelvin)
    return np.asarray(loss), np.asarray(rise)


def _cycle_rates(root_mean_square_v: Floats | float, depth: Floats | float) -> tuple[Floats, Floats]:
    """Return capacity lost for each root of an Ah through a 2.05 Ah cell, and resistance gained for each Ah."""
    volts, depth = np.asarray(root_mean_square_v), np.asarray(depth)
    loss = 7.348e-3 * (volts - 3.667) ** 2 + 7.600e-4 + 4.081e-3 * depth
    rise = 2.153e-4 * (volts - 3.725) ** 2 - 1.521e-5 + 2.798e-4 * depth
    return loss, np.maximum(_LEAST_RISE, rise)


def _stress(year: History) -> Stress:
    cycles, step_days = year.cycles, year.step_h / 24.0
    temperature_c, _ = _held(year.temperature_c, *_RANGE_C)
    loss, rise = _calendar_rates(_volts_at(year.soc), temperature_c)
    cycle_loss, cycle_rise = _cycle_rates(_root_mean_square_v(cycles.mean_soc, cycles.depth), cycles.depth)
    through_ah = 2.0 * _CELL_AH * cycles.depth * cycles.times  # in and out again
    return Stress(
        calendar=float((loss ** (4.0 / 3.0)).sum() * step_days),
        cycle=float((cycle_loss**2 * through_ah).sum()),
        calendar_rise=float((rise ** (4.0 / 3.0)).sum() * step_days),
        cycle_rise=float((cycle_rise * through_ah).sum()),
    )


def _outside(year: History) -> list[str]:
    notes = []
    _, outside = _held(year.temperature_c, *_RANGE_C)
    cooler = float((year.temperature_c < _TESTED_C).mean())
    if cooler >= 0.005:
        notes.append(
            f"{cooler:.0%} of the year the cells are cooler than the {_TESTED_C:g} to 50 °C tested: extrapolated"
        )
    if outside >= 0.005:
        notes.append(
            f"{outside:.0%} of the year they are outside {_RANGE_C[0]:g} to {_RANGE_C[1]:g} °C:"
            " aged at the nearer limit"
        )
    return notes


NMC = Law("Schmalstieg et al. 2014 (newer cells mostly last longer)", Stress(0.75, 0.5, 0.75, 1.0), _stress, _outside)
