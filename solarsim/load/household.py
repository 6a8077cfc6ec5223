"""The household's load on the timeline: the scenario in, kilowatts for each step out."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.errors import ScenarioError
from solarsim.load._bdew_h0 import h0_year_factor, read_h0, static_h0
from solarsim.load._in_bills import left_of_bills, moved_kwh
from solarsim.load._load_file import read_load
from solarsim.load._parts import HouseLoad, house_load
from solarsim.load.shapes import SHAPES, shape_weight, spread_months, spread_year
from solarsim.scenario.model import LoadScenario
from solarsim.weather.typical_year import Weather

if TYPE_CHECKING:
    from solarsim.load.meter import MeterReport


@dataclass(frozen=True, eq=False)
class Household:
    """The home's load, and what a person should know of where it comes from.

    Attributes
    ----------
    load_kw : array of float
        Mean power of each step [kW].
    critical_kw : array of float
        Critical load [kW]: critical parts, and the stated share of the rest.
    kw_by_part : dict of str to array of float
        The load of each part of the house by its name [kW], after the rest, which is no part.
    meter : MeterReport or None
        What was read from a meter's file.
    notes : tuple of str
        What was found, filled or is doubtful in a file; what could not be delivered to a part of the house.
    """

    load_kw: NDArray[np.float64]
    critical_kw: NDArray[np.float64]
    kw_by_part: dict[str, NDArray[np.float64]]
    meter: "MeterReport | None"
    notes: tuple[str, ...]


def household_load(scenario: LoadScenario, timeline: Timeline, weather: Weather) -> Household:
    """Return the home's load in each step.

    Parameters
    ----------
    scenario : LoadScenario
        A load file, a meter's file, or monthly kWh and a shape; parts of the house are added.
    timeline : Timeline
        The year.
    weather : Weather
        On the timeline: temperature drives heating and cooling, the latitude decides when summer is.

    Returns
    -------
    Household
        Source and parts added up.

    Raises
    ------
    LoadError
        A file is wrong.
    ScenarioError
        A part of the house is impossible, such as a window that never holds.
    """
    load = scenario.load
    load_kw = np.zeros(len(timeline))
    kw_by_part: dict[str, NDArray[np.float64]] = {}
    meter: MeterReport | None = None
    notes: tuple[str, ...] = ()
    if load.file is not None:
        load_kw, notes = read_load(scenario.file(load.file), timeline)
    elif load.meter is not None:
        from solarsim.load.meter import meter_load  # the readers of meter files

        read = meter_load(scenario, load.meter, timeline)
        load_kw, meter, notes = read.load_kw, read.report, (*read.report.warnings, *read.report.notes)
    elif load.shape is not None:
        load_kw = _from_bills(scenario, timeline, weather.latitude_deg)
    house = None if load.parts is None else house_load(load.parts, timeline, weather)
    if house is not None:
        load_kw, told = _without_parts(scenario, load_kw, house, timeline)
        notes = (*notes, *told)
    critical_kw = load_kw * (load.critical_share or 0.0)
    if house is not None:
        if load_kw.any():
            kw_by_part["all else"] = load_kw
        kw_by_part |= house.kw_by_part
        load_kw, critical_kw = load_kw + house.load_kw, critical_kw + house.critical_kw
        notes = (*notes, *house.notes)
    return Household(load_kw, critical_kw, kw_by_part, meter, notes)


def _without_parts(
    scenario: LoadScenario, load_kw: NDArray[np.float64], house: HouseLoad, timeline: Timeline
) -> tuple[NDArray[np.float64], tuple[str, ...]]:
    """Return the load of bills or meter without the parts that they hold, and a note of what was taken out."""
    load = scenario.load
    inside = [part.name for part in load.parts or () if part.in_bills]
    if not inside:
        return load_kw, ()
    parts_kw = np.sum([house.kw_by_part[name] for name in inside], axis=0)
    hours_known = load.file is not None or load.meter is not None
    try:
        left_kw = left_of_bills(
            load_kw, parts_kw, timeline, hours_known=hours_known, of_year=load.annual_kwh is not None
        )
    except ScenarioError as error:
        raise ScenarioError(*map(scenario.problem, error.problems)) from None
    taken_kwh, left_kwh = (float(each.sum()) * timeline.step_h for each in (parts_kw, left_kw))
    elsewhere_kwh = moved_kwh(load_kw, parts_kw, timeline) if hours_known else 0.0
    names = ", ".join(map(repr, inside))
    return left_kw, (
        f"{names}: {taken_kwh:,.0f} kWh a year of load.{load.source}; all other loads: {left_kwh:,.0f} kWh"
        + (f" ({elsewhere_kwh:,.0f} kWh taken out of other hours of the month)" if elsewhere_kwh >= 0.5 else ""),
    )


def _from_bills(scenario: LoadScenario, timeline: Timeline, latitude_deg: float) -> NDArray[np.float64]:
    """Spread months or a year by the shape that the scenario names."""
    load = scenario.load
    if load.shape_file is not None:
        weight = static_h0(read_h0(scenario.file(load.shape_file)), timeline) * h0_year_factor(timeline)
    else:
        weight = shape_weight(SHAPES[str(load.shape)], timeline, latitude_deg)
    if load.monthly_kwh is not None:
        return spread_months(np.array(load.monthly_kwh, np.float64), weight, timeline)
    if load.shape_file is None:
        return spread_year(load.annual_kwh or 0.0, weight, timeline)
    return np.asarray(weight * ((load.annual_kwh or 0.0) / (weight.sum() * timeline.step_h)), np.float64)
