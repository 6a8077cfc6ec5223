"""From a datasheet to a module's single-diode equation: seven printed values in, six parameters out.

A curve of one diode that passes through short circuit, open circuit and maximum power, and is at maximum power there,
has one freedom left: the diode's voltage ``a`` (ideality factor x cells in series x thermal voltage). It starts at the
closed form of Batzelis & Papathanassiou (IEEE Trans. Sustain. Energy 7 (2016) 504; Batzelis, IEEE J. Photovolt. 7
(2017) 1400, eq. 9), which follows from the coefficient of open-circuit voltage; where no positive shunt resistance
goes with it, it is lowered until one does. For a given ``a`` three of the conditions are linear in light current,
saturation current and shunt conductance, and the fourth fixes the series resistance. The gap energy then is what
brings the coefficient of maximum power to the printed one: so the kind of cell and their number need not be told.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.production.iv_addition import Curve, best_point

Floats = NDArray[np.float64]
REFERENCE_K = 298.15
BOLTZMANN_EV = 8.617333262e-5
# As in De Soto et al., Solar Energy 80 (2006) 78, for silicon; the gap's own change is small beside the gap.
GAP_CHANGE_PER_C = -0.0002677
_LEAST_SHARE_OF_START = 0.2
_GAPS_EV = (-1.0, 4.0)  # far beyond any cell's: an effective value, see above
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
        """Translate to a light and a temperature (De Soto et al. 2006, eqs. 11-16).

        Parameters
        ----------
        effective_w_m2 : array of float
            Irradiance that makes current [W/m2].
        cell_c : array of float
            Of the cells [C].

        Returns
        -------
        Curve
            Of one module.
        """
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
    """Fit the single-diode equation to datasheets.

    Parameters
    ----------
    sheet : Datasheet
        Printed values.

    Returns
    -------
    Diodes
        Through the four printed values at standard test conditions exactly; NaN where no such curve exists.
    """
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        start = (1.0 - sheet.v_oc_per_c * REFERENCE_K) / (50.1 - sheet.i_sc_per_c * REFERENCE_K) * sheet.v_oc_v
        thermal = _highest_that_fits(sheet, start)
        photo, saturation, shunt, series = _through_points(sheet, thermal)
    fits = np.isfinite(photo)
    unheated = Diodes(
        photo_a=np.where(fits, photo, 1.0),
        saturation_a=np.where(fits, saturation, 1e-9),
        series_ohm=np.where(fits, series, 0.0),
        shunt_siemens=np.where(fits, shunt, 0.0),
        thermal_v=np.where(fits, thermal, 1.0),
        photo_a_per_c=sheet.i_sc_per_c * sheet.i_sc_a,
        gap_ev=np.full_like(thermal, 1.121),
    )
    gap = _gap(unheated, sheet)
    fits &= np.isfinite(gap)
    columns = {name: np.where(fits, value, np.nan) for name, value in {**vars(unheated), "gap_ev": gap}.items()}
    return Diodes(**columns)


def _highest_that_fits(sheet: Datasheet, start: Floats) -> Floats:
    """Find the diode voltage nearest below the start for which the shunt conductance is not negative."""
    low, high = start * _LEAST_SHARE_OF_START, start
    at_start = np.isfinite(_through_points(sheet, start)[0])
    for _ in range(40):
        middle = (low + high) / 2.0
        fits = np.isfinite(_through_points(sheet, middle)[0])
        low, high = np.where(fits, middle, low), np.where(fits, high, middle)
    return np.where(at_start, start, low)


def _through_points(sheet: Datasheet, thermal: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Find light current, saturation current, shunt conductance and series resistance; NaN where there are none."""
    low = np.zeros_like(thermal)
    high = (sheet.v_oc_v - sheet.v_mp_v) / sheet.i_mp_a * (1.0 - 1e-9)
    below, above = _linear_part(sheet, thermal, low)[3], _linear_part(sheet, thermal, high)[3]
    crosses = below * above < 0
    for _ in range(45):
        middle = (low + high) / 2.0
        same = _linear_part(sheet, thermal, middle)[3] * below > 0
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    series = (low + high) / 2.0
    photo, saturation, shunt, _ = _linear_part(sheet, thermal, series)
    good = crosses & (saturation > 0) & (shunt >= 0) & np.isfinite(photo)
    return tuple(np.where(good, each, np.nan) for each in (photo, saturation, shunt, series))  # type: ignore[return-value]


def _linear_part(sheet: Datasheet, thermal: Floats, series: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Solve for the currents and the shunt at a given series resistance; last, what maximum power still lacks."""
    at_mp = sheet.v_mp_v + sheet.i_mp_a * series
    swell_sc, swell_oc, swell_mp = (np.exp(volts / thermal) for volts in (sheet.i_sc_a * series, sheet.v_oc_v, at_mp))
    # The equations at short circuit and at maximum power, each less the one at open circuit.
    a, b = swell_oc - swell_sc, sheet.v_oc_v - sheet.i_sc_a * series
    c, d = swell_oc - swell_mp, sheet.v_oc_v - at_mp
    scale = a * d - b * c
    saturation = (sheet.i_sc_a * d - b * sheet.i_mp_a) / scale
    shunt = (a * sheet.i_mp_a - c * sheet.i_sc_a) / scale
    photo = saturation * (swell_oc - 1.0) + sheet.v_oc_v * shunt
    conductance = saturation / thermal * swell_mp + shunt
    return photo, saturation, shunt, conductance * (sheet.v_mp_v - sheet.i_mp_a * series) - sheet.i_mp_a


def _gap(diodes: Diodes, sheet: Datasheet) -> Floats:
    """Find the gap energy with which maximum power falls as printed; NaN where none does."""
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
