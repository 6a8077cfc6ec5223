"""A typical year from twelve monthly means: irradiation and temperature in, 8,760 hours of weather out.

A month's irradiation, over what arrives above the air, is its clearness; from it follow days and the hours
of each day (``_clearness``); each hour's global irradiance is split into direct and diffuse. What was drawn is scaled
so that each month keeps its mean.
"""

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import MOST_APART_H, Timeline
from solarsim.errors import WeatherError, ordinal
from solarsim.scenario.model import WeatherScenario
from solarsim.scenario.site import MONTH_DAYS, MonthlyMeans
from solarsim.weather._clearness import CLEAREST, day_clearness, hour_clearness, keep_means
from solarsim.weather._diffuse_split import sin_elevation_of, split
from solarsim.weather.sun import SunUp, sun_up
from solarsim.weather.typical_year import Weather

_MONTH = np.repeat(np.arange(12), MONTH_DAYS)
_HOUR = np.arange(8760.0)
_HOUR_MONTH, _DAY = np.repeat(_MONTH, 24), np.repeat(np.arange(365), 24)
_NO_SUN_KWH_M2 = 1e-3
# Size, times a day and phase of the four waves of a mean day: see ``day_of_warmth``.
_WAVES = ((0.4632, 1, 3.805), (0.0984, 2, 0.360), (0.0168, 3, 0.822), (0.0138, 4, 3.513))


def year_from_means(scenario: WeatherScenario, means: MonthlyMeans, timeline: Timeline) -> Weather:
    """Build a typical year from the monthly means of a place; the same seed makes the same year.

    Each month's irradiation and mean temperature are the given ones; another seed gives another order of days and
    clouds. Global irradiance is split by DISC (Maxwell, SERI/TR-215-3087, 1987) through pvlib. Not modeled: spells of
    cold and heat (temperature follows season, hour and clearness only), gusts (wind is the month's mean).
    """
    from pvlib import irradiance

    place, seed = means.place, means.seed
    ahead_h = timeline.utc_offset_h - place.longitude_deg / 15
    apart_h = timeline.sun_apart_h(place.longitude_deg)
    if apart_h > MOST_APART_H:
        raise WeatherError(
            scenario.problem(
                f"weather.place: at longitude {place.longitude_deg:g} the sun is {apart_h:.1f} h away from the standard"
                f" time of {timeline.zone} (UTC{timeline.utc_offset_h:+g} h); west is negative"
            )
        )
    sun = sun_up(place, timeline.utc_start, timeline.step_h)
    sin_elevation = sin_elevation_of(sun)
    above = np.zeros(8760)
    above[sun.up] = irradiance.get_extra_radiation(sun.instant).to_numpy() * sin_elevation * sun.share
    ghi, daily = _global(above, _monthly_clearness(scenario, means, above), sun, sin_elevation, seed)
    dni, dhi = split(ghi, sun)
    wind = np.zeros(12) if means.wind_speed_m_s is None else np.array(means.wind_speed_m_s)
    calm = "" if means.wind_speed_m_s is not None else "; without wind_speed_m_s there is no wind, so modules run hot"
    return Weather(
        place=f"{scenario.site.name}, from monthly means, seed {seed}",
        latitude_deg=place.latitude_deg,
        longitude_deg=place.longitude_deg,
        elevation_m=place.elevation_m,
        utc_offset_h=timeline.utc_offset_h,
        ghi_w_m2=ghi,
        dni_w_m2=dni,
        dhi_w_m2=dhi,
        temp_air_c=month_to_hour(np.array(means.temp_air_c)) + day_of_warmth(daily, _HOUR % 24 + 0.5 - ahead_h),
        wind_speed_m_s=wind[_HOUR_MONTH],
        notes=(f"the weather is made from monthly means (seed {seed}) and has no spells of cold or heat{calm}",),
    )


def _global(
    above: NDArray[np.float64],
    monthly: NDArray[np.float64],
    sun: SunUp,
    sin_elevation: NDArray[np.float64],
    seed: int,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the global irradiance of every hour, and the clearness of every day."""
    rng = np.random.default_rng(seed)
    day_draws, hour_draws = rng.standard_normal(365), rng.standard_normal(8760)
    above_daily = above.reshape(365, 24).sum(axis=1)
    daily = keep_means(day_clearness(monthly, day_draws), above_daily, _MONTH, monthly)
    hours = np.zeros(8760)
    hours[sun.up] = hour_clearness(daily[_DAY][sun.up], np.maximum(sin_elevation, 0.01), hour_draws[sun.up])
    return keep_means(hours, above, _DAY, daily) * above, daily


def _monthly_clearness(
    scenario: WeatherScenario, means: MonthlyMeans, above: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return irradiation over what the sun sends; refuse a month with more than the clearest sky lets through."""
    by_day = means.ghi_kwh_m2 is None
    key = "ghi_kwh_m2_day" if by_day else "ghi_kwh_m2"
    given, sent = np.array(means.monthly_ghi_kwh_m2), np.bincount(_HOUR_MONTH, above) / 1000
    problems = []
    for month in np.flatnonzero(given > np.maximum(CLEAREST * sent, _NO_SUN_KWH_M2)).tolist():
        days = MONTH_DAYS[month] if by_day else 1
        problems.append(
            f"weather.{key}.{ordinal(month + 1)}: {given[month] / days:g} is more than the sun can send there in that"
            f" month, must be at most {CLEAREST * sent[month] / days:.2f}"
        )
    if problems:
        hint = "; are these months of the other hemisphere, or another unit?" if len(problems) > 2 else ""
        raise WeatherError(*(scenario.problem(problem + hint) for problem in problems))
    return np.asarray(np.divide(given, sent, out=np.zeros(12), where=sent > _NO_SUN_KWH_M2))


def month_to_hour(monthly: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return 8,760 values of twelve monthly means: straight lines between the middles of the months.

    The levels at the middles are solved so that each month keeps its mean.
    """
    middle = (np.cumsum(MONTH_DAYS) - np.array(MONTH_DAYS) / 2) * 24
    hour = _HOUR + 0.5
    # The share of each middle in each hour, and so in each month.
    parts = np.array([np.interp(hour, middle, unit, period=8760) for unit in np.eye(12)])
    means = np.array([np.bincount(_HOUR_MONTH, part) for part in parts]) / (np.array(MONTH_DAYS) * 24)
    return np.asarray(np.linalg.solve(means.T, monthly) @ parts)


def day_of_warmth(daily: NDArray[np.float64], solar_h: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how far each hour's temperature is from its day's mean [C], from the days' clearness and solar time [h].

    Erbs, Klein & Beckman (ASHRAE Journal, June 1983; the coefficients from memory): a mean day has four waves of fixed
    shape and a swing of 25.8 clearness - 5.21 C. It was fitted to months; here each day swings by its own clearness.
    """
    angle = 2 * np.pi * (solar_h - 1) / 24
    shape = sum(size * np.cos(times * angle - phase) for size, times, phase in _WAVES)
    return np.asarray(np.repeat(np.maximum(25.8 * daily - 5.21, 0.0), 24) * shape)
