"""Half and quarter hours out of hours: a year of hourly weather in, the same year on finer steps out.

Nothing is known of the clouds within an hour, and none are invented: how clear the sky is stays what it is over
the hour, and only the sun moves. So the edges of clouds, which make power jump within minutes, are not in it.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.weather.sun import SunUp, sun_up
from solarsim.weather.typical_year import HOURS, PLAUSIBLE, Weather

Floats = NDArray[np.float64]
_TURBIDITY = 3.0  # a clear day of temperate places (common practice, no source); it shapes hours and changes no energy
_LOWEST_SUN_DEG = 89.9  # of the zenith: below it the model of the clear sky divides by nothing
_LEAST_W_M2 = 1.0  # clear-sky light below this has no shape worth following


def on_steps(hourly: Weather, timeline: Timeline) -> Weather:
    """Lay 8,760 hours onto half or quarter hours; each hour keeps its GHI, DNI and DHI.

    The clear-sky index of an hour holds in each of its steps: direct light follows the clear-sky direct light at the
    middle of each step's sun-up part; diffuse light follows clear-sky global as far as the hour is diffuse, and
    clear-sky diffuse light for the rest. GHI is laid out as DHI + DNI cos(zenith), and its sum is brought to the
    hour's, so that in each step the three close as well as in the whole hour, and no better. Where little light comes
    from a clear sky (twilight), or more than any sky sends would fall into the sun-up part of an hour (a file whose
    labels are off), the hour's light is spread evenly.

    Clear sky after Ineichen & Perez (Solar Energy 73, 2002) through pvlib, at a Linke turbidity of 3. Temperature and
    wind run straight from the middle of one hour to that of the next: the year keeps its mean, the warmest and coldest
    hours lose a little. Not modeled: clouds within the hour; files of half or quarter hours of their own.
    """
    parts = len(timeline) // HOURS
    if parts == 1:
        return hourly
    note = f"hourly weather was laid onto steps of {60 // parts} minutes: the sun moves in them, clouds do not change"
    return replace(_laid(hourly, timeline.utc_start, parts), notes=(*hourly.notes, note))


def on_finer_steps(hourly: Weather, parts: int) -> Weather:
    """Lay hours onto equal parts of an hour in the file's own clock; see ``on_steps``."""
    if parts == 1:
        return hourly
    step_s = 3600 // parts
    first = np.datetime64("2001-01-01T00:00:00") - np.timedelta64(round(hourly.utc_offset_h * 3600), "s")
    return _laid(hourly, first + np.arange(HOURS * parts) * np.timedelta64(step_s, "s"), parts)


def _laid(hourly: Weather, utc_start: NDArray[np.datetime64], parts: int) -> Weather:
    """Lay hours onto the steps that begin at these instants, so many in each hour."""
    sun = sun_up(hourly, utc_start, 1.0 / parts)
    clear_ghi, clear_dni, clear_dhi, cos_zenith = (_by_hour(each, sun, parts) for each in _clear_sky(hourly, sun))
    covered = np.divide(hourly.dhi_w_m2, hourly.ghi_w_m2, out=np.ones(HOURS), where=hourly.ghi_w_m2 > 0)
    covered = np.minimum(covered, 1.0)[:, None]
    dni = _spread(hourly.dni_w_m2, clear_dni, PLAUSIBLE["dni_w_m2"][1])
    dhi = _spread(hourly.dhi_w_m2, covered * clear_ghi + (1.0 - covered) * clear_dhi, PLAUSIBLE["dhi_w_m2"][1])
    ghi = _spread(hourly.ghi_w_m2, dhi + dni * cos_zenith, PLAUSIBLE["ghi_w_m2"][1])
    hour = np.arange(HOURS) + 0.5
    middle = (np.arange(HOURS * parts) + 0.5) / parts
    return replace(
        hourly,
        ghi_w_m2=ghi.ravel(),
        dni_w_m2=dni.ravel(),
        dhi_w_m2=dhi.ravel(),
        temp_air_c=np.interp(middle, hour, hourly.temp_air_c, period=HOURS),
        wind_speed_m_s=np.interp(middle, hour, hourly.wind_speed_m_s, period=HOURS),
    )


def _clear_sky(weather: Weather, sun: SunUp) -> tuple[Floats, Floats, Floats, Floats]:
    """Return GHI, DNI and DHI of a clear sky as means of the steps with the sun up, and the zenith's cosine."""
    from pvlib import atmosphere, clearsky, irradiance

    zenith_deg = np.minimum(sun.apparent_zenith_deg, _LOWEST_SUN_DEG)
    mass = atmosphere.get_absolute_airmass(
        atmosphere.get_relative_airmass(zenith_deg), atmosphere.alt2pres(weather.elevation_m)
    )
    above = irradiance.get_extra_radiation(sun.instant).to_numpy()
    sky = clearsky.ineichen(zenith_deg, mass, _TURBIDITY, altitude=weather.elevation_m, dni_extra=above)
    return *(sky[name] * sun.share for name in ("ghi", "dni", "dhi")), np.cos(np.radians(zenith_deg))


def _by_hour(values: Floats, sun: SunUp, parts: int) -> Floats:
    """Lay values of the steps with the sun up onto the year, a row for each hour; the rest is 0."""
    whole = np.zeros(sun.up.size)
    whole[sun.up] = values
    return whole.reshape(HOURS, parts)


def _spread(mean: Floats, weight: Floats, most: float) -> Floats:
    """Share each hour's mean among its steps by weight; evenly where that has no shape, or a step passes the most."""
    weight = np.where(weight.sum(axis=1, keepdims=True) < _LEAST_W_M2, 1.0, weight)
    laid = weight * (mean / weight.mean(axis=1))[:, None]
    return np.asarray(np.where((laid > most).any(axis=1, keepdims=True), mean[:, None], laid), np.float64)
