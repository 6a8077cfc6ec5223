"""The house's load from what stands in it: parts and weather in, kilowatts of each part out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.clock.windows import governing
from solarsim.errors import ScenarioError
from solarsim.load.car import car_load
from solarsim.load.climate import air_conditioner_load, heat_pump_load
from solarsim.load.need import PartLoad
from solarsim.load.shapes import SHAPES, shape_weight, spread_months
from solarsim.load.water import water_heater_load, well_pump_load
from solarsim.load.when import day_of_step
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

_WORTH_TELLING_KWH = 0.05


@dataclass(frozen=True, eq=False)
class HouseLoad:
    """What the house uses, part by part.

    Attributes
    ----------
    parts : dict
        Each part's name and its year, in the order of the scenario.
    load_kw : array of float
        Sum of all parts, mean power of each step [kW].
    critical_kw : array of float
        Sum of those that stay on in an outage [kW].
    notes : tuple of str
        What could not be delivered: whole sentences for a person.
    """

    parts: dict[str, PartLoad]
    load_kw: NDArray[np.float64]
    critical_kw: NDArray[np.float64]
    notes: tuple[str, ...]

    @property
    def kw_by_part(self) -> dict[str, NDArray[np.float64]]:
        """Each part's load [kW]."""
        return {name: part.load_kw for name, part in self.parts.items()}


def house_load(parts: Sequence[HousePart], timeline: Timeline, weather: Weather) -> HouseLoad:
    """Add up what stands in the house.

    Parameters
    ----------
    parts : sequence of HousePart
        What stands in the house.
    timeline : Timeline
        The year.
    weather : Weather
        On the timeline.

    Returns
    -------
    HouseLoad
        Every part, their sum, and the sum of the critical ones.

    Raises
    ------
    ScenarioError
        Two parts have one name, or a part cannot be (see ``part_year``); one line for each problem.
    """
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
    notes = tuple(_note(name, year, day) for name, year in years.items() if year.unmet_year_kwh > _WORTH_TELLING_KWH)
    return HouseLoad(years, load_kw, critical_kw, notes)


def part_year(part: HousePart, timeline: Timeline, weather: Weather) -> PartLoad:
    """Give the load of one part with its books.

    Parameters
    ----------
    part : HousePart
        What stands in the house.
    timeline : Timeline
        The year.
    weather : Weather
        On the timeline.

    Returns
    -------
    PartLoad
        Load, need, and what was given up.

    Raises
    ------
    ScenarioError
        One of its windows never holds, or a car has no hours in which it is driven.
    """
    try:
        return _year(part, timeline, weather)
    except ScenarioError as error:
        raise ScenarioError(*(f"part {part.name!r}: {problem}" for problem in error.problems)) from None


def _year(part: HousePart, timeline: Timeline, weather: Weather) -> PartLoad:
    match part:
        case Appliance():
            return _all_met(appliance_kw(part, timeline), timeline)
        case Household():
            return _all_met(household_kw(part, timeline, weather.latitude_deg), timeline)
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


def appliance_kw(appliance: Appliance, timeline: Timeline) -> NDArray[np.float64]:
    """Run an appliance in its windows.

    Parameters
    ----------
    appliance : Appliance
        Power, and the share of each hour in which it draws it.
    timeline : Timeline
        The year.

    Returns
    -------
    array of float
        Mean power of each step [kW]; peaks within a step are not modeled.

    Raises
    ------
    ScenarioError
        A window never governs.
    """
    if appliance.always_duty is not None:
        return np.full(len(timeline), appliance.power_w * appliance.always_duty / 1000)
    duty = np.array([*(window.duty for window in appliance.windows), 0.0])
    return np.asarray(appliance.power_w / 1000 * duty[governing(appliance.windows, timeline, "windows")], np.float64)


def household_kw(household: Household, timeline: Timeline, latitude_deg: float) -> NDArray[np.float64]:
    """Spread the base household over the hours.

    Parameters
    ----------
    household : Household
        The year's or twelve months' kWh, and the shape of a day.
    timeline : Timeline
        The year.
    latitude_deg : float
        Tells when it is summer [deg].

    Returns
    -------
    array of float
        Mean power of each step [kW]. A year's sum is shared out among months by their hours.
    """
    months = np.bincount(timeline.month - 1, minlength=12) / len(timeline)
    monthly = household.monthly_kwh
    monthly_kwh = months * (household.annual_kwh or 0.0) if monthly is None else np.array(monthly)
    return spread_months(monthly_kwh, shape_weight(SHAPES[household.shape], timeline, latitude_deg), timeline)


def _all_met(load_kw: NDArray[np.float64], timeline: Timeline) -> PartLoad:
    year_kwh = float(load_kw.sum()) * timeline.step_h
    return PartLoad(load_kw, "electricity", year_kwh, year_kwh, np.zeros_like(load_kw))


def _note(name: str, year: PartLoad, day: NDArray[np.int64]) -> str:
    return (
        f"{name!r}: {year.unmet_year_kwh:,.1f} of {year.need_kwh:,.1f} kWh {year.counted_as} could not be delivered,"
        f" on {year.unmet_days(day)} days"
    )
