"""Words that many pages share: the caution, the heading, the names of months."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from solarsim.home import Home

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
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


def month_span(months: Sequence[int]) -> str:
    """Return months as spans, ``Jun-Sep`` or ``Mar-May, Oct``; a span may cross the turn of the year.

    Parameters
    ----------
    months : sequence of int
        1 to 12, in order.

    Returns
    -------
    str
        The year, if all are there.

    Examples
    --------
    >>> month_span((1, 2, 12)), month_span((3, 4, 5, 10, 11)), month_span((7,))
    ('Dec-Feb', 'Mar-May, Oct-Nov', 'Jul')
    """
    there = set(months)
    if len(there) == len(MONTHS):
        return "Jan-Dec"
    spans = []
    for first in (month for month in months if (month - 2) % 12 + 1 not in there):
        last = first
        while last % 12 + 1 in there:
            last = last % 12 + 1
        names = MONTHS[first - 1], MONTHS[last - 1]
        spans.append(names[0] if first == last else "-".join(names))
    return ", ".join(spans)
