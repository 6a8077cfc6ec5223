"""Dirt and snow on the glass: losses, rain and snow in, the share of light that passes in each step out."""

import warnings
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pvlib import snow, soiling

from solarsim.clock.timeline import Timeline
from solarsim.errors import WeatherError, file_bytes
from solarsim.production._sun import Sun
from solarsim.scenario.csv_columns import numbers_from_csv
from solarsim.scenario.model import RoofScenario
from solarsim.scenario.roof.losses import ArrayLosses, SnowByMonth, SnowCover, SoilingByRain
from solarsim.weather.typical_year import HOURS, Weather

Floats = NDArray[np.float64]
_MOST = {"rain_mm": 400.0, "snowfall_cm": 50.0}  # in an hour; more is a wrong unit


def precipitation_of(scenario: RoofScenario, timeline: Timeline) -> dict[str, Floats]:
    """Read the rain and snow that a scenario's losses need, one entry for each step."""
    losses = scenario.losses.array
    used = {"rain_mm": losses.soiling_by_rain, "snowfall_cm": losses.snow_cover}
    columns = tuple(name for name, model in used.items() if model is not None)
    if scenario.precipitation is None or not columns:
        return {}
    return read_precipitation(scenario.file(scenario.precipitation.file), columns, timeline)


def read_precipitation(path: Path, columns: tuple[str, ...], timeline: Timeline) -> dict[str, Floats]:
    """Read columns of rain [mm] and snow [cm]; hourly values are spread evenly over finer steps."""
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
                f"{path}: {name} is {values[wrong[0]]:g} in row {wrong[0] + 1}, must be from 0 to {most:g}"
            )
    return {
        name: np.repeat(values, len(timeline) // values.size) * values.size / len(timeline)
        for name, values in read.items()
    }


def through_dirt(losses: ArrayLosses, precipitation: dict[str, Floats], timeline: Timeline) -> Floats | float:
    """Return the share of light that dirt lets pass, for each step or for all."""
    if losses.soiling_by_rain is not None:
        return 1.0 - washed(losses.soiling_by_rain, precipitation["rain_mm"], timeline)
    if losses.soiling_by_month is not None:
        return np.asarray(1.0 - np.array(losses.soiling_by_month)[timeline.standard_month - 1])
    return 1.0 - losses.soiling


def washed(dirt: SoilingByRain, rain_mm: Floats, timeline: Timeline) -> Floats:
    """Return the share lost to dirt that rain washes off (Kimber et al., IEEE WCPEC 2006); the year is a circle."""
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
    """Return the share of light that snow lets pass, for each step or for all."""
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
    """Return the share lost to snow that slides off (Marion et al., Solar Energy 97 (2013) 112)."""
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
    """Return each month's share lost to snow (Townsend & Powers, IEEE PVSC 37, 2011)."""
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
