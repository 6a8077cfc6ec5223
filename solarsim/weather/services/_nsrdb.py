"""The US National Solar Radiation Database, version 4: a place and a year in, hours of UTC out.

The Americas from 1998; a free key and an email address. Rows are instants of every hour, at the full or the half hour.
Never tried against the live service.
"""

from typing import Any

import numpy as np

from solarsim.weather._formats.common import at_middle
from solarsim.weather.services._utc_year import COLUMNS, AnswerError, columns_at, hours_of
from solarsim.weather.services._utc_year import Floats as _Floats

_MINUTES = (0, 30)


def hours_from_nsrdb(
    latitude_deg: float, longitude_deg: float, year: int, *, key: str, email: str, **how: Any
) -> tuple[dict[str, _Floats], tuple[float, float, float]]:
    """Return a year's columns and the answer's latitude, longitude [deg] and elevation [m]."""
    from pvlib import iotools

    table, facts = iotools.get_nsrdb_psm4_aggregated(
        latitude_deg, longitude_deg, key, email, year,
        parameters=list(COLUMNS), leap_day=True, utc=True, full_name="solarsim", affiliation="solarsim", **how,
    )  # fmt: skip
    minutes = sorted(set(table.index.minute.tolist()))
    if len(minutes) != 1 or minutes[0] not in _MINUTES:
        raise AnswerError(f"has rows at minutes {minutes[:6]}, must be at 0 or at 30 of each hour")
    found = columns_at(table[list(COLUMNS)], hours_of(year) + np.timedelta64(minutes[0], "m"))
    found["relative_humidity"] = found["relative_humidity"] / 100
    columns = {ours: at_middle(found[theirs], minutes[0] / 60) for theirs, ours in COLUMNS.items()}
    return columns, (float(facts["latitude"]), float(facts["longitude"]), float(facts["altitude"]))
