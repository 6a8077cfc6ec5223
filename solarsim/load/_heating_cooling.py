"""Heating and cooling by degree-hours: outdoor temperature in, electricity of each step out.

The house needs heat in proportion to how far the outdoor temperature is below a base temperature, and cooling to how
far it is above (the degree-hour method; common practice, no source). Heat or cooling per kilowatt-hour is on the line
through two points of the datasheet, but at least 1.
"""

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.clock.windows import governing
from solarsim.load._part_load import PartLoad
from solarsim.scenario.load.heating_cooling import AirConditioner, HeatPump
from solarsim.weather.typical_year import Weather


def heat_pump_load(pump: HeatPump, timeline: Timeline, weather: Weather) -> PartLoad:
    """Heat the house; the need is counted as heat, and backup heat has all the power it needs.

    Not modeled: what walls and floors store (a setback saves its degree-hours and needs nothing back in the morning),
    wind, sun, defrosting beyond the datasheet's points, cycling at part load.
    """
    temp_c = _by_step(weather.temp_air_c, timeline)
    need_kw = pump.ua_kw_per_k * np.maximum(0.0, _base_c(pump, timeline, -np.inf) - temp_c)
    cold, warm = pump.points
    cop = _on_line(temp_c, (cold.at_c, cold.cop), (warm.at_c, warm.cop))
    own_kw, missing_kw = _up_to(pump.electric_kw, need_kw, cop)
    backup_kw = missing_kw if pump.backup else np.zeros_like(missing_kw)
    return _part(own_kw + backup_kw, "heat", need_kw, missing_kw - backup_kw, backup_kw, timeline)


def air_conditioner_load(cooler: AirConditioner, timeline: Timeline, weather: Weather) -> PartLoad:
    """Cool the house; the need is counted as cooling, and what is beyond the limit is given up.

    The sun's heat is the global horizontal irradiance on ``sun_m2``; below the base temperature the house loses that
    heat again before it needs cooling. Not modeled: drying the air, what walls store, where windows face, cycling at
    part load.
    """
    temp_c = _by_step(weather.temp_air_c, timeline)
    sun_kw = cooler.sun_m2 * _by_step(weather.ghi_w_m2, timeline) / 1000
    above_k = temp_c - _base_c(cooler, timeline, np.inf)
    need_kw = np.maximum(0.0, cooler.ua_kw_per_k * above_k + sun_kw)
    one, other = cooler.points
    ratio = _on_line(temp_c, (one.at_c, one.ratio), (other.at_c, other.ratio))
    own_kw, missing_kw = _up_to(cooler.electric_kw, need_kw, ratio)
    return _part(own_kw, "cooling", need_kw, missing_kw, np.zeros_like(own_kw), timeline)


def _part(
    load_kw: NDArray[np.float64],
    counted_as: Literal["heat", "cooling"],
    need_kw: NDArray[np.float64],
    unmet_kw: NDArray[np.float64],
    backup_kw: NDArray[np.float64],
    timeline: Timeline,
) -> PartLoad:
    return PartLoad(
        load_kw=load_kw,
        counted_as=counted_as,
        need_kwh=float(need_kw.sum()) * timeline.step_h,
        delivered_kwh=float((need_kw - unmet_kw).sum()) * timeline.step_h,
        unmet_kwh=unmet_kw * timeline.step_h,
        backup_kwh=float(backup_kw.sum()) * timeline.step_h,
    )


def _by_step(hourly: NDArray[np.float64], timeline: Timeline) -> NDArray[np.float64]:
    return np.repeat(hourly, len(timeline) // hourly.size)


def _base_c(part: HeatPump | AirConditioner, timeline: Timeline, off_c: float) -> NDArray[np.float64]:
    """Return the base temperature with its setbacks; ``off_c`` is where nothing is ever needed."""
    in_force = [off_c if setback.base_c is None else setback.base_c for setback in part.setbacks]
    return np.array([*in_force, part.base_c])[governing(part.setbacks, timeline, "setbacks")]


def _on_line(temp_c: NDArray[np.float64], one: tuple[float, float], other: tuple[float, float]) -> NDArray[np.float64]:
    slope = (other[1] - one[1]) / (other[0] - one[0])
    return np.maximum(1.0, one[1] + slope * (temp_c - one[0]))


def _up_to(
    max_kw: float, need_kw: NDArray[np.float64], ratio: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the electricity for a need within a limit, and the need beyond it."""
    wanted_kw = need_kw / ratio
    return np.minimum(wanted_kw, max_kw), np.where(wanted_kw > max_kw, need_kw - max_kw * ratio, 0.0)
