"""Filters of the templates: a traced value in; HTML that shows it and carries its path and exact value out."""

from collections.abc import Callable
from datetime import date
from typing import Any

from markupsafe import Markup

from solarsim.views.bill import MONTH_NAMES
from solarsim.views.money import percent
from solarsim.views.report._traced import Traced, machine_text, path_of, value_of
from solarsim.views.tables import whole
from solarsim.views.texts import MONTHS, printable

NOT_KNOWN = "-"


def marked(traced: Traced, shown: str) -> Markup:
    """Return a shown number as a ``data`` element."""
    return Markup('<data value="{}" data-from="{}">{}</data>').format(
        machine_text(value_of(traced)), path_of(traced), shown
    )


def _number(write: Callable[..., str]) -> Callable[..., Markup]:
    """Return a filter that writes a number, or a dash where there is none."""

    def shown(traced: Traced, *options: Any) -> Markup:
        value = value_of(traced)
        return marked(traced, NOT_KNOWN if value is None else write(value, *options))

    return shown


def _rounded(value: float, digits: int = 0) -> str:
    return f"{round(float(value), digits) + 0.0:,.{digits}f}"


def _share(value: float, digits: int = 0) -> str:
    return f"{round(100 * float(value), digits) + 0.0:.{digits}f}%"


def _up_to_72(value: float) -> str:
    """Write a backup duration, which is simulated up to 72 hours."""
    return "72 h or more" if value >= 72.0 else f"{value:.1f} h"


def _day(value: str) -> str:
    when = date.fromisoformat(value)
    return f"{MONTHS[when.month - 1]} {when.day}"


def _month(value: int | None) -> str:
    return "year" if value is None else MONTHS[value - 1]


def _as_written(value: object) -> str:
    """Write a value of a scenario as its file may have it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def text(traced: Traced) -> Markup:
    """Return a text, whatever it holds, apart from the direction of what is around it."""
    return Markup('<bdi data-from="{}">{}</bdi>').format(path_of(traced), printable(str(value_of(traced))))


def plain(traced: Traced) -> str:
    """Return a text for an attribute or a list to choose from."""
    return printable(str(value_of(traced)))


def table_text(traced: Traced) -> Markup:
    """Return a number or a text of a scenario."""
    value = value_of(traced)
    return text(traced) if isinstance(value, str) else marked(traced, _as_written(value))


FILTERS: dict[str, Callable[..., Any]] = {
    "money": _number(lambda value: whole(float(value))),
    "cents": _number(lambda value: _rounded(value, 2)),
    "number": _number(_rounded),
    "number_plain": _number(str),
    "short": _number(lambda value: f"{float(value):,.5g}"),
    "share": _number(_share),
    "percent": _number(percent),
    "years": _number(lambda value: f"{value:.1f}"),
    "backup": _number(_up_to_72),
    "day": _number(_day),
    "month": _number(_month),
    "month_name": _number(lambda value: MONTH_NAMES[value - 1]),
    "text": text,
    "plain": plain,
    "as_written": table_text,
}
TESTS: dict[str, Callable[..., bool]] = {
    "known": lambda traced: traced is not None and value_of(traced) is not None,
    "same": lambda traced, other: bool(value_of(traced) == other),
    "felt": lambda traced: bool(abs(value_of(traced)) >= 0.5),
    "below_years": lambda traced, life: bool(value_of(traced) < value_of(life.assumed.life.years)),
    "above": lambda traced, limit: bool(value_of(traced) is not None and value_of(traced) > limit),
}
