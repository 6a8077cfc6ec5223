"""Words that many pages share: the caution, the heading, the names of months; and what a terminal may be sent."""

import unicodedata
from collections.abc import Sequence
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from solarsim.home import Home
    from solarsim.scenario.model import WeatherScenario


class Place(Protocol):
    """Where a year of weather is from."""

    @property
    def place(self) -> str:
        """Its name."""

    @property
    def latitude_deg(self) -> float:
        """North positive [deg]."""

    @property
    def longitude_deg(self) -> float:
        """East positive [deg]."""


MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
CAUTION = (
    "These are estimates for a typical year, not a design. Utility and battery voltages can kill: follow local code"
    " and have licensed professionals do the work."
)


def printable(text: str) -> str:
    r"""Return text without what could move or recolor a terminal: control characters are written as escapes.

    Parameters
    ----------
    text : str
        From anywhere: names in files may hold anything.

    Returns
    -------
    str
        Line breaks are kept.

    Examples
    --------
    >>> print(printable("Greensboro\x1b[2J"))
    Greensboro\x1b[2J
    """
    if text.isprintable():
        return text
    return "".join(each if _harmless(each) else repr(each)[1:-1] for each in text)


def _harmless(each: str) -> bool:
    """Return whether a character is visible, a space or a line break."""
    return each.isprintable() or each == "\n" or unicodedata.category(each) == "Zs"


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
    return heading_of(home.scenario, home.weather, home.rate_plan.name)


def heading_of(scenario: "WeatherScenario", weather: "Place", rate_plan: str | None = None) -> str:
    """Return the same of a part of a scenario."""
    place = f"{weather.place} ({weather.latitude_deg:.2f}, {weather.longitude_deg:.2f})"
    priced = "" if rate_plan is None else f", rate plan {rate_plan!r}"
    return f"{scenario.name}, {scenario.site.calendar_year}{priced}\nWeather: {place}"


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
