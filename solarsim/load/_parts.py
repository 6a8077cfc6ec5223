"""The load of the parts of a house: parts and weather in, kilowatts of each part out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.clock.windows import governing
from solarsim.errors import ScenarioError
from solarsim.load._days import day_of_step
from solarsim.load._electric_car import car_load
from solarsim.load._heating_cooling import air_conditioner_load, heat_pump_load
from solarsim.load._part_load import PartLoad
from solarsim.load._water import water_heater_load, well_pump_load
from solarsim.load.shapes import SHAPES, shape_weight, spread_months, spread_year
from solarsim.scenario.load.appliances import (
    AirConditioner,
    Appliance,
    ElectricCar,
    HeatPump,
    Household,
    HousePart,
    WaterHeater,
    WellPump,
    repeated_names,
)
from solarsim.weather.typical_year import Weather

_NOTED_KWH = 0.05


@dataclass(frozen=True, eq=False)
class HouseLoad:
    """The load of each part by name, of all parts [kW], of the critical ones [kW], and notes."""

    parts: dict[str, PartLoad]
    load_kw: NDArray[np.float64]
    critical_kw: NDArray[np.float64]
    notes: tuple[str, ...]

    @property
    def kw_by_part(self) -> dict[str, NDArray[np.float64]]:
        """Each part's load [kW]."""
        return {name: part.load_kw for name, part in self.parts.items()}


def house_load(parts: Sequence[HousePart], timeline: Timeline, weather: Weather) -> HouseLoad:
    """Add up the parts of a house; refuse two of one name, and list all problems at once."""
    problems = repeated_names(parts)
    years: dict[str, PartLoad] = {}
    for part in parts:
        try:
            years[part.name] = part_year(part, timeline, weather)
        except ScenarioError as error:
            problems += error.problems
    if problems:
        raise ScenarioError(*problems)
    load_kw, critical_kw = np.zeros(len(timeline)), np.zeros(len(timeline))
    for part in parts:
        load_kw += years[part.name].load_kw
        if part.critical:
            critical_kw += years[part.name].load_kw
    day = day_of_step(timeline)
    notes = tuple(
        f"{name!r}: {year.unmet_year_kwh:,.1f} of {year.need_kwh:,.1f} kWh of {year.counted_as} could not be delivered,"
        f" on {year.unmet_days(day)} days"
        for name, year in years.items()
        if year.unmet_year_kwh > _NOTED_KWH
    )
    return HouseLoad(years, load_kw, critical_kw, notes)


def part_year(part: HousePart, timeline: Timeline, weather: Weather) -> PartLoad:
    """Return the year of one part; refuse windows that never hold, naming the part."""
    try:
        return _year(part, timeline, weather)
    except ScenarioError as error:
        raise ScenarioError(*(f"part {part.name!r}: {problem}" for problem in error.problems)) from None


def _year(part: HousePart, timeline: Timeline, weather: Weather) -> PartLoad:
    match part:
        case Appliance():
            return _all_met(_appliance_kw(part, timeline), timeline)
        case Household():
            return _all_met(_household_kw(part, timeline, weather.latitude_deg), timeline)
        case ElectricCar():
            return car_load(part, timeline)
        case HeatPump():
            return heat_pump_load(part, timeline, weather)
        case AirConditioner():
            return air_conditioner_load(part, timeline, weather)
        case WaterHeater():
            return water_heater_load(part, timeline)
        case WellPump():
            return well_pump_load(part, timeline)


def _appliance_kw(appliance: Appliance, timeline: Timeline) -> NDArray[np.float64]:
    """Return the mean power of each step [kW]; peaks within a step are not modeled."""
    if appliance.always_duty is not None:
        return np.full(len(timeline), appliance.power_w * appliance.always_duty / 1000)
    duty = np.array([*(window.duty for window in appliance.windows), 0.0])
    return np.asarray(appliance.power_w / 1000 * duty[governing(appliance.windows, timeline, "windows")], np.float64)


def _household_kw(household: Household, timeline: Timeline, latitude_deg: float) -> NDArray[np.float64]:
    """Return the base household's load [kW]; a year's sum is shared among months by their hours."""
    weight = shape_weight(SHAPES[household.shape], timeline, latitude_deg)
    if household.monthly_kwh is None:
        return spread_year(household.annual_kwh or 0.0, weight, timeline)
    return spread_months(np.array(household.monthly_kwh), weight, timeline)


def _all_met(load_kw: NDArray[np.float64], timeline: Timeline) -> PartLoad:
    year_kwh = float(load_kw.sum()) * timeline.step_h
    return PartLoad(load_kw, "electricity", year_kwh, year_kwh, np.zeros_like(load_kw))
