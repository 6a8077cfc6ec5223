"""What lies on the glass: losses, rain and snow in, the share of light that passes in each step out."""

import warnings
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pvlib import snow, soiling

from solarsim.clock.timeline import Timeline
from solarsim.errors import WeatherError, file_bytes
from solarsim.production.sun import Sun
from solarsim.scenario.csv_columns import numbers_from_csv
from solarsim.scenario.model import Scenario
from solarsim.scenario.roof.losses import ArrayLosses, SnowByMonth, SnowCover, SoilingByRain
from solarsim.weather.typical_year import HOURS, Weather

Floats = NDArray[np.float64]
_MOST = {"rain_mm": 400.0, "snowfall_cm": 50.0}  # an hour's; above it stands a wrong unit


def precipitation_of(scenario: Scenario, timeline: Timeline) -> dict[str, Floats]:
    """Read what the scenario's losses need of rain and snow.

    Parameters
    ----------
    scenario : Scenario
        Losses, and the file of rain and snow.
    timeline : Timeline
        The year.

    Returns
    -------
    dict of str to array of float
        ``rain_mm`` and ``snowfall_cm`` of each step, as far as they are used.

    Raises
    ------
    WeatherError
        The file cannot be read, has another number of rows, or holds what no sky can do.
    """
    losses = scenario.losses.array
    used = {"rain_mm": losses.soiling_by_rain, "snowfall_cm": losses.snow_cover}
    columns = tuple(name for name, model in used.items() if model is not None)
    if scenario.precipitation is None or not columns:
        return {}
    return read_precipitation(scenario.file(scenario.precipitation.file), columns, timeline)


def read_precipitation(path: Path, columns: tuple[str, ...], timeline: Timeline) -> dict[str, Floats]:
    """Read columns of rain and snow.

    Parameters
    ----------
    path : pathlib.Path
        CSV with a row for each step, or for each hour: what falls in an hour then falls evenly over it.
    columns : tuple of str
        ``rain_mm``, ``snowfall_cm`` or both.
    timeline : Timeline
        The year.

    Returns
    -------
    dict of str to array of float
        One entry for each step.

    Raises
    ------
    WeatherError
        See ``precipitation_of``.
    """
    try:
        text = file_bytes(path, WeatherError).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise WeatherError(f"{path}: is not UTF-8 text (byte {error.start})") from None
    read = numbers_from_csv(text, path, columns, WeatherError)
    for name, values in read.items():
        if values.size not in (HOURS, len(timeline)):
            raise WeatherError(f"{path}: has {values.size} rows, the year has {len(timeline)} steps")
        most = _MOST[name] * HOURS / values.size
        wrong = np.flatnonzero((values < 0) | (values > most))
        if wrong.size:
            raise WeatherError(
                f"{path}: {name} is {values[wrong[0]]:g} in row {wrong[0] + 1}, must lie between 0 and {most:g}"
            )
    return {
        name: np.repeat(values, len(timeline) // values.size) * values.size / len(timeline)
        for name, values in read.items()
    }


def through_dirt(losses: ArrayLosses, precipitation: dict[str, Floats], timeline: Timeline) -> Floats | float:
    """Give the share of light that dirt lets pass.

    Parameters
    ----------
    losses : ArrayLosses
        A share of the year, twelve of the months, or dirt that rain washes off.
    precipitation : dict of str to array of float
        Rain, where the last is chosen.
    timeline : Timeline
        The year.

    Returns
    -------
    array of float or float
        For each step, or one for all.
    """
    if losses.soiling_by_rain is not None:
        return 1.0 - washed(losses.soiling_by_rain, precipitation["rain_mm"], timeline)
    if losses.soiling_by_month is not None:
        return np.asarray(1.0 - np.array(losses.soiling_by_month)[timeline.standard_month - 1])
    return 1.0 - losses.soiling


def washed(dirt: SoilingByRain, rain_mm: Floats, timeline: Timeline) -> Floats:
    """Let dirt gather and rain wash it off (Kimber et al., IEEE WCPEC 2006, through pvlib).

    Parameters
    ----------
    dirt : SoilingByRain
        Rates.
    rain_mm : array of float
        Of each step [mm].
    timeline : Timeline
        The year.

    Returns
    -------
    array of float
        Share lost in each step. The year is a circle: January begins with December's dirt.
    """
    days = pd.date_range("2001-01-01", periods=2 * rain_mm.size, freq=pd.Timedelta(hours=timeline.step_h))
    lost = soiling.kimber(
        pd.Series(np.tile(rain_mm, 2), index=days),
        cleaning_threshold=dirt.cleaning_rain_mm,
        soiling_loss_rate=dirt.loss_per_day,
        grace_period=dirt.grace_days,
        max_soiling=dirt.most,
    )
    return np.asarray(lost.to_numpy()[rain_mm.size :], np.float64)


def through_snow(
    losses: ArrayLosses,
    precipitation: dict[str, Floats],
    incident_w_m2: Floats,
    tilt_deg: float,
    weather: Weather,
    sun: Sun,
    timeline: Timeline,
) -> Floats | float:
    """Give the share of light that snow lets pass.

    Parameters
    ----------
    losses : ArrayLosses
        A share of the year, snow that slides, or snow by the month.
    precipitation : dict of str to array of float
        Snowfall, where the second is chosen.
    incident_w_m2 : array of float
        On the plane, in steps with the sun up [W/m2].
    tilt_deg : float
        Of the plane [deg].
    weather : Weather
        Air temperature.
    sun : Sun
        Tells in which steps it is up.
    timeline : Timeline
        The year.

    Returns
    -------
    array of float or float
        For each step, or one for all.
    """
    light = np.zeros(len(timeline))
    light[sun.up] = incident_w_m2
    if losses.snow_cover is not None:
        fallen = precipitation["snowfall_cm"]
        return 1.0 - covered(losses.snow_cover, fallen, light, tilt_deg, weather.temp_air_c, timeline)
    if losses.snow_by_month is not None:
        month = timeline.standard_month - 1
        lost = lost_by_month(losses.snow_by_month, light, tilt_deg, weather.temp_air_c, timeline)
        return np.asarray(1.0 - lost[month])
    return 1.0 - losses.snow


def covered(
    cover: SnowCover, snowfall_cm: Floats, light_w_m2: Floats, tilt_deg: float, temp_air_c: Floats, timeline: Timeline
) -> Floats:
    """Let snow cover the modules and slide off (Marion et al., Solar Energy 97 (2013) 112, through pvlib).

    Parameters
    ----------
    cover : SnowCover
        Groups of cells along the slope: each is lost as soon as snow touches it.
    snowfall_cm : array of float
        Of each step [cm].
    light_w_m2 : array of float
        On the plane [W/m2].
    tilt_deg : float
        Of the plane [deg].
    temp_air_c : array of float
        Air [C].
    timeline : Timeline
        The year.

    Returns
    -------
    array of float
        Share lost in each step. The year is a circle: January begins with December's cover.
    """
    index = pd.date_range("2001-01-01", periods=2 * light_w_m2.size, freq=pd.Timedelta(hours=timeline.step_h))
    fallen, light, air = (pd.Series(np.tile(each, 2), index=index) for each in (snowfall_cm, light_w_m2, temp_air_c))
    with warnings.catch_warnings():  # pvlib has yet to follow pandas 3
        warnings.simplefilter("ignore", DeprecationWarning)
        share = snow.coverage_nrel(fallen, light, air, tilt_deg)
    lost = snow.dc_loss_nrel(share.to_numpy(), cover.blocks_up_slope)
    return np.asarray(lost[light_w_m2.size :], np.float64)


def lost_by_month(
    climate: SnowByMonth, light_w_m2: Floats, tilt_deg: float, temp_air_c: Floats, timeline: Timeline
) -> Floats:
    """Estimate each month's loss from climate figures (Townsend & Powers, IEEE PVSC 37, 2011, through pvlib).

    Parameters
    ----------
    climate : SnowByMonth
        Snowfall, days, humidity, and the height of the lower edge.
    light_w_m2 : array of float
        On the plane [W/m2].
    tilt_deg : float
        Of the plane [deg].
    temp_air_c : array of float
        Air [C].
    timeline : Timeline
        The year.

    Returns
    -------
    array of float
        Share lost in January to December.
    """
    month = timeline.standard_month - 1
    light_wh_m2 = np.bincount(month, light_w_m2, minlength=12) * timeline.step_h
    lost = snow.loss_townsend(
        np.array(climate.snowfall_cm),
        np.array(climate.snow_days),
        tilt_deg,
        np.array(climate.relative_humidity_percent),
        np.bincount(month, temp_air_c, minlength=12) / np.bincount(month, minlength=12),
        np.maximum(light_wh_m2, 1.0),  # polar night
        climate.slope_m,
        climate.lower_edge_m,
    )
    return np.where(np.array(climate.snowfall_cm) + np.roll(climate.snowfall_cm, 1) > 0, lost, 0.0)
