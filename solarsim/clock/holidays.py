"""Holidays: a country's calendar or a list of dates in, the dates of a year out."""

from datetime import date, timedelta
from functools import cache
from typing import Annotated, Self

from pydantic import AfterValidator, model_validator

from solarsim.errors import nearest
from solarsim.fields import Frozen, field, no_repeats


class Holidays(Frozen):
    """Which days count as holidays: a country's calendar, or dates."""

    country: str | None = field("ISO 3166 code", "text", default=None)
    subdivision: str | None = field("ISO 3166 code of a state or province", "text", default=None)
    observed: bool | None = field(
        "whether a holiday on a weekend is also observed on a weekday; many rate plans do not do that",
        "true or false",
        default=None,
    )
    sundays_only: bool | None = field(
        "with observed: only a holiday on a Sunday is observed, on the Monday", "true or false", default=None
    )
    names: Annotated[tuple[str, ...], AfterValidator(no_repeats)] | None = field(
        "only these holidays of the country's calendar", "text", default=None
    )
    dates: tuple[date, ...] = field("exactly these days, in place of a country", "date", default=())

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        if (self.country is None) == (not self.dates):
            raise ValueError("needs either a country or a list of dates, and not both")
        alone = [key for key in ("subdivision", "observed", "sundays_only", "names") if getattr(self, key) is not None]
        if self.country is None and alone:
            raise ValueError(f"{', '.join(alone)} belong to a country, not to a list of dates")
        if self.country is not None and self.observed is None:
            raise ValueError("'observed' must say whether weekend holidays move to a weekday (true or false)")
        if self.sundays_only is not None and not self.observed:
            raise ValueError("'sundays_only' belongs to observed = true")
        return self


def holidays_in(rule: Holidays, year: int) -> list[date]:
    """Return the days of a year that count as holidays.

    Parameters
    ----------
    rule : Holidays
        Dates; or which country's calendar to read (library ``holidays``), whether a holiday on a
        weekend is also observed on a weekday, and which names to keep.
    year : int
        Calendar year.

    Returns
    -------
    list of datetime.date
        In order.

    Raises
    ------
    ValueError
        The country, its subdivision or a holiday's name is not known, or a date is not in the year.
    """
    return list(_days_in(rule, year))


@cache
def _days_in(rule: Holidays, year: int) -> tuple[date, ...]:
    """Return the same, read once: a calendar takes a quarter of the time in which a scenario is checked."""
    import holidays

    if rule.country is None:
        for day in rule.dates:
            if day.year != year:
                raise ValueError(f"holiday {day} is not in the calendar_year {year}")
        return tuple(sorted(rule.dates))
    library_moves = bool(rule.observed) and not rule.sundays_only
    try:
        found = holidays.country_holidays(
            rule.country, subdiv=rule.subdivision, years=year, observed=library_moves, language="en_US"
        )
    except NotImplementedError:
        part = "" if rule.subdivision is None else f" with subdivision {rule.subdivision!r}"
        raise ValueError(f"no holidays are known of country {rule.country!r}{part}; both are ISO 3166 codes") from None
    chosen: set[date] = set(found) if rule.names is None else set()
    for name in rule.names or ():
        titles = {name, f"{name} (observed)"}
        days = [day for day, title in found.items() if titles & set(title.split("; "))]
        if not days:
            raise ValueError(
                f"holiday {name!r} is not in the calendar of {rule.country}"
                + nearest(name, sorted(set(found.values())))
            )
        chosen.update(days)
    if rule.sundays_only:
        chosen |= {day + timedelta(days=1) for day in chosen if day.weekday() == 6}
    return tuple(sorted(day for day in chosen if day.year == year))
