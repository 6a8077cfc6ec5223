"""The weather of a scenario: its file, its other years or its monthly means in, years on the timeline out."""

from solarsim.clock.timeline import Timeline
from solarsim.errors import WeatherError
from solarsim.scenario.model import WeatherScenario
from solarsim.scenario.site import MonthlyMeans
from solarsim.weather._monthly_means import year_from_means
from solarsim.weather._repairs import on_timeline
from solarsim.weather._steps import on_steps
from solarsim.weather.read import read_weather
from solarsim.weather.typical_year import Weather

_SAME_PLACE_DEG = 0.5


def weather_for(scenario: WeatherScenario, timeline: Timeline) -> Weather:
    """Return the year of weather that runs of a scenario use.

    Parameters
    ----------
    scenario : WeatherScenario
        Names a file and its format, or has monthly means.
    timeline : Timeline
        The site's year.

    Returns
    -------
    Weather
        On the timeline, with notes.

    Raises
    ------
    WeatherError
        See ``read_weather``; the clocks of file and site do not fit, or a month has more irradiation than its sun.
    """
    return _years(scenario, timeline, 1)[0]


def years_of_weather(scenario: WeatherScenario, timeline: Timeline) -> tuple[Weather, ...]:
    """Return every year of weather that a scenario names.

    Parameters
    ----------
    scenario : WeatherScenario
        Its weather may name ``other_files``.
    timeline : Timeline
        The site's year: each year of weather is laid onto it.

    Returns
    -------
    tuple of Weather
        The one that runs use first, then the others in the order of the file.

    Raises
    ------
    WeatherError
        See ``weather_for``; or two years are of places
        more than half a degree apart.
    """
    first, *others = _years(scenario, timeline, None)
    for name, other in zip(scenario.weather.files[1:], others, strict=True):
        north, east = other.latitude_deg - first.latitude_deg, other.longitude_deg - first.longitude_deg
        if max(abs(north), abs(east)) > _SAME_PLACE_DEG:
            raise WeatherError(
                f"{scenario.file(name)}: is of {other.latitude_deg:g}, {other.longitude_deg:g}, another place than"
                f" {scenario.weather.files[0]} at {first.latitude_deg:g}, {first.longitude_deg:g}"
            )
    return (first, *others)


def _years(scenario: WeatherScenario, timeline: Timeline, count: int | None) -> tuple[Weather, ...]:
    source = scenario.weather
    hours = timeline if timeline.step_h == 1.0 else scenario.site.timeline(1.0)
    if isinstance(source, MonthlyMeans):
        return (on_steps(year_from_means(scenario, source, hours), timeline),)
    paths = [scenario.file(name) for name in source.files[:count]]
    years = (on_timeline(read_weather(path, source), hours, str(path)) for path in paths)
    return tuple(on_steps(year, timeline) for year in years)
