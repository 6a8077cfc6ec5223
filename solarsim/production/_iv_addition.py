"""Strings in parallel: curves of current and voltage in, their sum's maximum power, currents and voltages out.

Each ``Curve`` is one single-diode equation for each step: strings of one kind are one larger diode. Modules in series
multiply the voltage, strings in parallel the current, a cable adds to the series resistance. Bypass diodes are left
out: they matter where a string is shaded unevenly, which is not modeled. Strings have no blocking diodes: at a
voltage above its own open circuit a string draws current from its neighbors, as it does on a roof.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
_MOST_ROUNDS = 100
_CLOSE_V = 1e-9


@dataclass(frozen=True, eq=False)
class Curve:
    """Single-diode equation of strings of one kind, one entry for each step.

    ``I = photo - saturation (exp((V + I series) / thermal) - 1) - (V + I series) / shunt``

    Attributes
    ----------
    photo_a, saturation_a : array of float
        Light current and saturation current [A].
    series_ohm : array of float
        Series resistance [ohm].
    shunt_siemens : array of float
        Shunt conductance [S]; 0 is a shunt without leak.
    thermal_v : array of float
        Ideality factor x cells in series x thermal voltage [V].
    """

    photo_a: Floats
    saturation_a: Floats
    series_ohm: Floats
    shunt_siemens: Floats
    thermal_v: Floats

    def strings(
        self, modules_in_series: int, strings: int, kept: Floats | float = 1.0, cable_ohm: float = 0.0
    ) -> "Curve":
        """Return the curve of modules in series and strings in parallel, as seen from the end of their cables."""
        parallel = strings * kept
        return Curve(
            photo_a=self.photo_a * parallel,
            saturation_a=self.saturation_a * parallel,
            series_ohm=(self.series_ohm * modules_in_series + kept * cable_ohm) / parallel,
            shunt_siemens=self.shunt_siemens * parallel / modules_in_series,
            thermal_v=self.thermal_v * modules_in_series,
        )

    @property
    def open_circuit_bound_v(self) -> Floats:
        """Voltage that the open circuit does not pass: that of a diode without shunt [V]."""
        return np.asarray(self.thermal_v * np.log1p(self.photo_a / self.saturation_a))

    def at(self, volts: Floats) -> tuple[Floats, Floats, Floats]:
        """Return the current at a voltage, its slope over voltage and that slope's own."""
        across = self._across_diode(volts)
        swell = self.saturation_a * np.exp(across / self.thermal_v)
        current = self.photo_a - (swell - self.saturation_a) - across * self.shunt_siemens
        conductance = swell / self.thermal_v + self.shunt_siemens
        divided = 1.0 + conductance * self.series_ohm
        return current, -conductance / divided, -swell / self.thermal_v**2 / divided**3

    def _across_diode(self, volts: Floats) -> Floats:
        """Return the voltage across the diode."""
        # Newton's method on a rising convex function, from above: it cannot overshoot.
        series = np.maximum(self.series_ohm, 1e-12)
        most = volts + series * self.photo_a
        across = np.minimum(most, self.thermal_v * np.log1p(most / (series * self.saturation_a)))
        for _ in range(_MOST_ROUNDS):
            swell = self.saturation_a * np.exp(across / self.thermal_v)
            current = self.photo_a - (swell - self.saturation_a) - across * self.shunt_siemens
            over = across - series * current - volts
            step = over / (1.0 + series * (swell / self.thermal_v + self.shunt_siemens))
            across = across - step
            if np.abs(step).max(initial=0.0) < _CLOSE_V:
                return np.asarray(across)
        raise ArithmeticError("no voltage was found at a string's diode")


def sum_at(curves: list[Curve], volts: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the current of all curves at one common voltage, its slope over voltage and that slope's own."""
    current, slope, bend = curves[0].at(volts)
    for each in curves[1:]:
        more = each.at(volts)
        current, slope, bend = current + more[0], slope + more[1], bend + more[2]
    return current, slope, bend


def best_point(curves: list[Curve]) -> tuple[Floats, Floats]:
    """Return voltage and current of the maximum power of the sum of curves."""
    # Each curve is concave, so their sum is, and power has one maximum only: where I + V dI/dV is zero.

    def gain(volts: Floats) -> tuple[Floats, Floats]:
        current, slope, bend = sum_at(curves, volts)
        return current + volts * slope, 2.0 * slope + volts * bend

    highest = _highest(curves)
    volts = _root(gain, np.zeros_like(highest), highest, 0.8 * highest)
    return volts, sum_at(curves, volts)[0]


def open_circuit_v(curves: list[Curve]) -> Floats:
    """Return the common open-circuit voltage."""
    highest = _highest(curves)
    return _root(lambda volts: sum_at(curves, volts)[:2], np.zeros_like(highest), highest, highest)


def volts_at(curves: list[Curve], current_a: float, above_v: Floats) -> Floats:
    """Return the voltage, at or above a given one, at which the sum of curves falls to a current."""

    def over(volts: Floats) -> tuple[Floats, Floats]:
        current, slope, _ = sum_at(curves, volts)
        return current - current_a, slope

    highest = np.maximum(_highest(curves), above_v)
    return _root(over, above_v, highest, highest)


def _highest(curves: list[Curve]) -> Floats:
    return np.asarray(np.max([each.open_circuit_bound_v for each in curves], axis=0))


def _root(falling: Callable[[Floats], tuple[Floats, Floats]], low: Floats, high: Floats, start: Floats) -> Floats:
    """Return the root of a falling function between two ends."""
    # Newton's method; the middle where it would leave them or hardly gains.
    at, before = start, high - low
    for _ in range(_MOST_ROUNDS):
        value, slope = falling(at)
        low, high = np.where(value > 0, at, low), np.where(value > 0, high, at)
        step = -value / np.minimum(slope, -1e-300)
        newton = (at + step >= low) & (at + step <= high) & (np.abs(step) <= np.abs(before) / 2.0)
        step = np.where(newton, step, (low + high) / 2.0 - at)
        at, before = at + step, step
        if np.abs(step).max(initial=0.0) < _CLOSE_V * 100:
            return np.asarray(at)
    raise ArithmeticError("no voltage was found at which the strings' currents balance")
