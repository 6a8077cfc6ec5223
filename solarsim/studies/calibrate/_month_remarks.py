"""Possible reasons for a month's deviation: a logged year and its expected hours in; remarks for each month out.

Remarkable is a day with less than a quarter of the energy that its own weather allows, unless that is little: after
frost there may be snow, else a standstill (common practice, no source). With a typical year, only days without any
output are remarkable.
"""

import numpy as np
from numpy.typing import NDArray

from solarsim.scenario.site import MONTH_DAYS
from solarsim.studies.calibrate._expected import ExpectedYear
from solarsim.studies.calibrate._logged_year import MONTH_OF_HOUR, LoggedYear

Floats = NDArray[np.float64]
_MISSING = 0.01
_ALMOST_NOTHING = 0.25
_WORTH_LOOKING = 0.4
_FROST_C = 1.0
_MONTH_OF_DAY = np.repeat(np.arange(12), MONTH_DAYS)


def remarks_of(logged: LoggedYear, expected: Floats, model: ExpectedYear, real_weather: bool) -> list[tuple[str, ...]]:
    """Return for each of twelve months its missing hours and its days with almost no output."""
    remarks: list[list[str]] = [[] for _ in range(12)]
    lit = expected > 0
    for place in logged.months.tolist():
        here = lit & (place == MONTH_OF_HOUR)
        due, lost = expected[here].sum(), expected[here & ~logged.covered].sum()
        if due > 0 and lost > _MISSING * due:
            hours = int((here & ~logged.covered).sum())
            remarks[place].append(f"{hours} hours of daylight not logged ({lost / due:.0%} of its energy)")
    if logged.daily_kwh is None:
        return [tuple(each) for each in remarks]
    due_daily = expected.reshape(365, 24).sum(axis=1)
    usual = np.bincount(_MONTH_OF_DAY, due_daily) / np.array(MONTH_DAYS)
    known = ~np.isnan(logged.daily_kwh)
    made = np.nan_to_num(logged.daily_kwh)
    if real_weather:
        poor = known & (made < _ALMOST_NOTHING * due_daily) & (due_daily > _WORTH_LOOKING * usual[_MONTH_OF_DAY])
    else:
        poor = known & (made < 0.01 * usual[_MONTH_OF_DAY])
    frost = _frost(model.home.weather.temp_air_c) if real_weather else np.zeros(365, np.bool_)
    for place in logged.months.tolist():
        for cold, what in ((True, "after frost: snow?"), (False, "a standstill?")):
            days = int((poor & (frost == cold) & (place == _MONTH_OF_DAY)).sum())
            lost = float((due_daily - made)[poor & (frost == cold) & (place == _MONTH_OF_DAY)].sum())
            if days:
                remarks[place].append(
                    f"{days} {'day' if days == 1 else 'days'} with almost no output, {what} ({lost:.0f} kWh)"
                )
    return [tuple(each) for each in remarks]


def _frost(temp_air_c: Floats) -> NDArray[np.bool_]:
    """Return for each day whether there was frost on it or on the two days before."""
    cold = temp_air_c.reshape(365, 24).min(axis=1) < _FROST_C
    return np.asarray(cold | np.roll(cold, 1) | np.roll(cold, 2))
