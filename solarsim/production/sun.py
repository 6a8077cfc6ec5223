"""Where the sun stands in each step of the year: weather and timeline in, angles for the sun-up part out."""

from solarsim.clock.timeline import Timeline
from solarsim.weather.sun import SunUp, sun_up
from solarsim.weather.typical_year import Weather

Sun = SunUp


def sun_over(weather: Weather, timeline: Timeline) -> SunUp:
    """Compute the sun's position over the place of the weather.

    Parameters
    ----------
    weather : Weather
        Gives the place.
    timeline : Timeline
        The year.

    Returns
    -------
    SunUp
        See ``sun_up``.
    """
    return sun_up(weather, timeline.utc_start, timeline.step_h)
