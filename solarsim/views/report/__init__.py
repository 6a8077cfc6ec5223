"""A report for a person: results in; one HTML file, and a few lines for the screen, out."""

from typing import TYPE_CHECKING

from solarsim.studies.report._missing import Missing
from solarsim.studies.report.report import Report
from solarsim.views.texts import CAUTION, heading

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_CHOSEN = {"npv": "highest NPV", "energy_cost": "lowest energy cost", "user": "as asked for"}


def page(result: Report) -> list[object]:
    """Return what a person sees on the screen: what the report is of, and what it could not have.

    Parameters
    ----------
    result : Report
        Of one scenario or several.

    Returns
    -------
    list
        Text.
    """
    told: list[object] = []
    for each in result.homes:
        told.append(heading(each.home))
        told.append(f"Strategy in the report: {each.strategy!r} ({_CHOSEN[each.chosen_by]}).")
        told += [_gap(gap) for gap in each.missing]
    if result.no_offers is not None:
        told.append(_gap(result.no_offers))
    if result.without:
        told.append(f"Left out: {', '.join(result.without)}.")
    return [*told, CAUTION]


def _gap(missing: Missing) -> str:
    """Return what was not computed, and what to add."""
    return f"Not computed: {missing.what}. The scenario {'; it '.join(missing.lacks)}."


def text(result: Report) -> str:
    """Return the report as one HTML file.

    Parameters
    ----------
    result : Report
        Of one scenario or several.

    Returns
    -------
    str
        HTML 5 that needs nothing beside itself.
    """
    from solarsim.views.report._document import html

    return html(result)


def figure(result: Report, home: int = 0, picture: str = "money") -> "Figure":
    """Draw a picture of the household's page.

    Parameters
    ----------
    result : Report
        Of one scenario or several.
    home : int
        Which scenario, from 0.
    picture : str
        ``money``, ``energy``, ``sunny_day`` or ``cloudy_day``.

    Returns
    -------
    matplotlib.figure.Figure
        4.4 inches wide.

    Raises
    ------
    ValueError
        There is no such picture.
    """
    from solarsim.views.report._pictures import household_figures

    found = household_figures(result.homes[home])
    if picture not in found:
        raise ValueError(f"picture {picture!r} must be one of {', '.join(found)}")
    return found[picture]
