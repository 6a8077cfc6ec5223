"""What all roofs under one sky share: weather, timeline and site in; sun, horizon, rain and snow, and planes out."""

from collections import OrderedDict

from solarsim.clock.timeline import Timeline
from solarsim.production._dirt_and_snow import precipitation_of
from solarsim.production._plane import PlaneIrradiance, plane_irradiance
from solarsim.production._shade import Shade, behind_horizon, behind_things
from solarsim.production._sun import sun_over, sun_within
from solarsim.scenario.model import RoofScenario
from solarsim.scenario.roof.roof import Array
from solarsim.weather.typical_year import Weather

# Driesse, Jensen & Perez (2024); Hay & Davies (1980).
TRANSPOSITION = {"perez_driesse": "perez-driesse", "hay_davies": "haydavies"}
_MOST_PLANES = 6  # a plane of a year of hours is about 0.1 MB


class Sky:
    """The sun over a site for a year; roofs of many homes may share it.

    Parameters
    ----------
    scenario : RoofScenario
        Site, transposition, and the file of rain and snow where losses need it.
    weather : Weather
        On the timeline.
    timeline : Timeline
        The year.

    Raises
    ------
    WeatherError
        The file of rain and snow is wrong.
    """

    def __init__(self, scenario: RoofScenario, weather: Weather, timeline: Timeline) -> None:
        self.precipitation = precipitation_of(scenario, timeline)
        self.sun = sun_over(weather, timeline)
        self._site, self._model = scenario.site, TRANSPOSITION[scenario.production.transposition]
        self._weather, self._timeline = weather, timeline
        self._within = None if scenario.site.horizon is None else sun_within(weather, self.sun, timeline.step_h)
        self._planes: OrderedDict[str, PlaneIrradiance] = OrderedDict()

    def plane(self, array: Array) -> PlaneIrradiance:
        """Return the irradiance on an array's plane, behind its horizon and shade; the last planes are kept.

        Parameters
        ----------
        array : Array
            Its tilt, azimuth and near shade count.

        Returns
        -------
        PlaneIrradiance
            In the steps with the sun up.
        """
        key = array.model_dump_json(include={"tilt_deg", "azimuth_deg", "near_shade"})
        found = self._planes.get(key)
        if found is None:
            found = self._planes[key] = self._computed(array)
        self._planes.move_to_end(key)
        if len(self._planes) > _MOST_PLANES:
            self._planes.popitem(last=False)
        return found

    def _computed(self, array: Array) -> PlaneIrradiance:
        shades: dict[str, Shade] = {}
        if self._site.horizon is not None and self._within is not None:
            shades["horizon"] = behind_horizon(self._site.horizon, self._within, array.tilt_deg, array.azimuth_deg)
        if array.near_shade is not None:
            shades["near_shade"] = behind_things(array.near_shade, self.sun, self._timeline)
        return plane_irradiance(array, self._weather, self.sun, self._model, self._site.albedo, shades)
