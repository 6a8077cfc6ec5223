"""Lines that stand on many pages: the caution, and what an answer is for."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from solarsim.home import Home

CAUTION = (
    "These are estimates for a typical year, not a design. Utility and battery voltages can kill: follow local code"
    " and have licensed professionals do the work."
)


def heading(home: "Home") -> str:
    """Return in two lines which home, year, rate plan and weather an answer is for.

    Parameters
    ----------
    home : Home
        That was simulated.

    Returns
    -------
    str
        For the top of a page.
    """
    scenario, weather = home.scenario, home.weather
    place = f"{weather.place} ({weather.latitude_deg:.2f}, {weather.longitude_deg:.2f})"
    return f"{scenario.name}, {home.timeline.year}, rate plan {scenario.rate_plan.name!r}\nWeather: {place}"
