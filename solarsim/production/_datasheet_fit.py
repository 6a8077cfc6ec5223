"""From a datasheet to a module's single-diode equation: seven printed values in, six parameters out.

The diode's voltage ``a`` (ideality factor x cells in series x thermal voltage) is that of the closed form of Batzelis &
Papathanassiou (IEEE Trans. Sustain. Energy 7 (2016) 504; Batzelis, IEEE J. Photovolt. 7 (2017) 1400, eq. 9), which
follows from the coefficient of open-circuit voltage. Where the closed form goes on by approximation, the curve here is
led through the printed points: through open circuit and maximum power, where its slope is that of a maximum, and
through short circuit. For a given series resistance these are linear in light current, saturation current and shunt
conductance. Where that conductance would be negative, no leak is taken and short circuit is left free, by up to 5%:
it makes no power, and a lower ``a`` in its place would make weak light too strong. The gap energy then is what brings
the coefficient of maximum power to the printed one: so neither the kind of cell nor their number is needed.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.production._iv_addition import Curve, best_point

Floats = NDArray[np.float64]
REFERENCE_K = 298.15
BOLTZMANN_EV = 8.617333262e-5
# As in De Soto et al., Solar Energy 80 (2006) 78, for silicon; the gap's own change is small beside the gap.
GAP_CHANGE_PER_C = -0.0002677
_MOST_OFF_SHORT_CIRCUIT = 0.05
_GAPS_EV = (0.2, 4.0)  # wider than any cell's: an effective value, see above
_WARM_C = 20.0  # coefficients hold from 25 C to 45 C, where modules work


@dataclass(frozen=True, eq=False)
class Diodes:
    """Six parameters of the single-diode equation at 1000 W/m2 and 25 C, an entry for each module; NaN where none fits.

    Attributes
    ----------
    photo_a, saturation_a : array of float
        Light current and saturation current [A].
    series_ohm, shunt_siemens : array of float
        Series resistance [ohm] and shunt conductance [S].
    thermal_v : array of float
        Ideality factor x cells in series x thermal voltage [V].
    photo_a_per_c : array of float
        Change of the light current with temperature [A/C].
    gap_ev : array of float
        Effective gap energy [eV].
    """

    photo_a: Floats
    saturation_a: Floats
    series_ohm: Floats
    shunt_siemens: Floats
    thermal_v: Floats
    photo_a_per_c: Floats
    gap_ev: Floats

    def curve(self, effective_w_m2: Floats, cell_c: Floats) -> Curve:
        """Return the curve of one module at an irradiance and a cell temperature (De Soto et al. 2006, eqs. 11-16)."""
        warmer = cell_c - 25.0
        kelvin = cell_c + 273.15
        light = effective_w_m2 / 1000.0
        gap_there = self.gap_ev * (1.0 + GAP_CHANGE_PER_C * warmer)
        lifted = (self.gap_ev / REFERENCE_K - gap_there / kelvin) / BOLTZMANN_EV
        saturation = self.saturation_a * (kelvin / REFERENCE_K) ** 3 * np.exp(lifted)
        return Curve(
            photo_a=light * (self.photo_a + self.photo_a_per_c * warmer),
            saturation_a=saturation,
            series_ohm=self.series_ohm + np.zeros_like(light),
            shunt_siemens=self.shunt_siemens * light,
            thermal_v=self.thermal_v * kelvin / REFERENCE_K,
        )


@dataclass(frozen=True, eq=False)
class Datasheet:
    """What a datasheet prints at standard test conditions, one entry for each module.

    Attributes
    ----------
    v_oc_v, i_sc_a, v_mp_v, i_mp_a : array of float
        Open-circuit voltage [V], short-circuit current [A], voltage [V] and current [A] at maximum power.
    p_mp_per_c, v_oc_per_c, i_sc_per_c : array of float
        Temperature coefficients as shares [1/C].
    """

    v_oc_v: Floats
    i_sc_a: Floats
    v_mp_v: Floats
    i_mp_a: Floats
    p_mp_per_c: Floats
    v_oc_per_c: Floats
    i_sc_per_c: Floats


def diodes_from(sheet: Datasheet) -> Diodes:
    """Return the single-diode parameters of datasheets, short circuit met within 5%; NaN where none fit."""
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        thermal = (1.0 - sheet.v_oc_per_c * REFERENCE_K) / (50.1 - sheet.i_sc_per_c * REFERENCE_K) * sheet.v_oc_v
        leaky, tight = (
            _through_points(sheet, thermal, _with_short_circuit),
            _through_points(sheet, thermal, _without_leak),
        )
        points = [np.where(np.isfinite(leaky[0]), one, other) for one, other in zip(leaky, tight, strict=True)]
    fits = np.isfinite(points[0]) & np.isfinite(thermal)
    photo, saturation, shunt, series = (
        np.where(fits, each, harmless) for each, harmless in zip(points, (1.0, 1e-9, 0.0, 0.0), strict=True)
    )
    diodes = Diodes(
        photo_a=photo,
        saturation_a=saturation,
        series_ohm=series,
        shunt_siemens=shunt,
        thermal_v=np.where(fits, thermal, 1.0),
        photo_a_per_c=sheet.i_sc_per_c * sheet.i_sc_a,
        gap_ev=np.full_like(thermal, 1.0),
    )
    short_a = diodes.curve(np.full_like(thermal, 1000.0), np.full_like(thermal, 25.0)).at(np.zeros_like(thermal))[0]
    fits &= np.abs(short_a / sheet.i_sc_a - 1.0) <= _MOST_OFF_SHORT_CIRCUIT
    gap = _gap(diodes, sheet)
    fits &= np.isfinite(gap)
    return Diodes(**{name: np.where(fits, value, np.nan) for name, value in {**vars(diodes), "gap_ev": gap}.items()})


Points = tuple[Floats, Floats, Floats, Floats]


def _through_points(
    sheet: Datasheet, thermal: Floats, rest: Callable[[Datasheet, Floats, Floats], tuple[Floats, Floats]]
) -> Points:
    """Return light current, saturation current, shunt conductance and series resistance; NaN where none fit."""

    def lacks(series: Floats) -> Floats:
        saturation, shunt = rest(sheet, thermal, series)
        swell_mp = np.exp((sheet.v_mp_v + sheet.i_mp_a * series) / thermal)
        conductance = saturation / thermal * swell_mp + shunt
        return np.asarray(conductance * (sheet.v_mp_v - sheet.i_mp_a * series) - sheet.i_mp_a)

    low = np.zeros_like(thermal)
    high = (sheet.v_oc_v - sheet.v_mp_v) / sheet.i_mp_a * (1.0 - 1e-9)
    at_low = lacks(low)
    crosses = at_low * lacks(high) < 0
    for _ in range(50):
        middle = (low + high) / 2.0
        same = lacks(middle) * at_low > 0
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    series = (low + high) / 2.0
    saturation, shunt = rest(sheet, thermal, series)
    photo = saturation * (np.exp(sheet.v_oc_v / thermal) - 1.0) + sheet.v_oc_v * shunt
    good = crosses & (saturation > 0) & (shunt >= 0) & np.isfinite(photo)
    photo, saturation, shunt, series = (np.where(good, each, np.nan) for each in (photo, saturation, shunt, series))
    return photo, saturation, shunt, series


def _with_short_circuit(sheet: Datasheet, thermal: Floats, series: Floats) -> tuple[Floats, Floats]:
    """Solve the equations at short circuit and at maximum power, each less the one at open circuit."""
    at_mp = sheet.v_mp_v + sheet.i_mp_a * series
    swell_sc, swell_oc, swell_mp = (np.exp(volts / thermal) for volts in (sheet.i_sc_a * series, sheet.v_oc_v, at_mp))
    a, b = swell_oc - swell_sc, sheet.v_oc_v - sheet.i_sc_a * series
    c, d = swell_oc - swell_mp, sheet.v_oc_v - at_mp
    scale = a * d - b * c
    return (sheet.i_sc_a * d - b * sheet.i_mp_a) / scale, (a * sheet.i_mp_a - c * sheet.i_sc_a) / scale


def _without_leak(sheet: Datasheet, thermal: Floats, series: Floats) -> tuple[Floats, Floats]:
    """Solve the equation at maximum power less the one at open circuit."""
    swell_mp = np.exp((sheet.v_mp_v + sheet.i_mp_a * series) / thermal)
    return sheet.i_mp_a / (np.exp(sheet.v_oc_v / thermal) - swell_mp), np.zeros_like(series)


def _gap(diodes: Diodes, sheet: Datasheet) -> Floats:
    """Return the gap energy with which maximum power falls as printed; NaN where none does."""
    wanted = sheet.v_mp_v * sheet.i_mp_a * (1.0 + _WARM_C * sheet.p_mp_per_c)
    light, warm = np.full_like(wanted, 1000.0), np.full_like(wanted, 25.0 + _WARM_C)

    def power(gap: Floats) -> Floats:
        volts, current = best_point([Diodes(**{**vars(diodes), "gap_ev": gap}).curve(light, warm)])
        return volts * current

    low, high = (np.full_like(wanted, each) for each in _GAPS_EV)
    reached = (power(low) > wanted) & (power(high) < wanted)
    for _ in range(40):
        middle = (low + high) / 2.0
        more = power(middle) > wanted
        low, high = np.where(more, middle, low), np.where(more, high, middle)
    return np.where(reached, (low + high) / 2.0, np.nan)
