"""A calendar year of hours in UTC: what each service's answer becomes, and what is kept of it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    import pandas as pd

Floats = NDArray[np.float64]
#: Names of pvlib's, and ours; the humidity is read for typical years alone.
COLUMNS = {
    "ghi": "ghi_w_m2",
    "dni": "dni_w_m2",
    "dhi": "dhi_w_m2",
    "temp_air": "temp_air_c",
    "wind_speed": "wind_speed_m_s",
    "relative_humidity": "relative_humidity",
}


class AnswerError(Exception):
    """An answer that came whole as far as the network knows, but is not the year that was asked for."""


@dataclass(frozen=True, eq=False)
class UtcYear:
    """The hours of one calendar year of UTC.

    Attributes
    ----------
    year : int
        The calendar year.
    latitude_deg, longitude_deg : float
        Of the service's own cell or point [deg].
    elevation_m : float
        Of the same, above sea level [m].
    columns : dict of str to array of float
        Under the names of ``COLUMNS``: means of the hours, 8,760 or 8,784 of them; NaN where there is none. Relative
        humidity is 0 to 1.
    retrieved : str
        Day on which the service answered, ISO 8601.
    """

    year: int
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    columns: dict[str, Floats]
    retrieved: str


def hours_of(year: int) -> NDArray[np.datetime64]:
    """Return the start of each hour of a calendar year."""
    return np.arange(f"{year}-01-01T00", f"{year + 1}-01-01T00", dtype="datetime64[h]")


def columns_at(table: "pd.DataFrame", times: NDArray[np.datetime64]) -> dict[str, Floats]:
    """Return columns of an answer at times in UTC, of which it may have more, under its own names."""
    import pandas as pd

    wanted = pd.DatetimeIndex(times.astype("datetime64[s]"), tz="UTC")
    if table.index.has_duplicates:
        raise AnswerError("has the same hour twice")
    places = table.index.get_indexer(wanted)
    there = int((places >= 0).sum())
    if there < wanted.size:
        raise AnswerError(f"has {there:,} of {wanted.size:,} hours")
    return {str(name): table[name].to_numpy(np.float64)[places] for name in table.columns}
