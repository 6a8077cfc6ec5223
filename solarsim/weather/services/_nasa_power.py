"""NASA POWER: a place and a year in, hours of UTC out. No key; the whole Earth from 2001.

Values are means of the hour that begins at the label (pvlib's documentation). Never tried against the live service.
"""

from typing import Any

from solarsim.weather.services._utc_year import COLUMNS, columns_at, hours_of
from solarsim.weather.services._utc_year import Floats as _Floats


def hours_from_nasa_power(
    latitude_deg: float, longitude_deg: float, year: int, **how: Any
) -> tuple[dict[str, _Floats], tuple[float, float, float]]:
    """Return a year's columns and the answer's latitude, longitude [deg] and elevation [m], the mean of its cell."""
    from pvlib import iotools

    names = [name for name in COLUMNS if name != "relative_humidity"]
    table, facts = iotools.get_nasa_power(
        latitude_deg, longitude_deg, f"{year}-01-01", f"{year}-12-31", [*names, "relative_humidity"], **how
    )
    found = columns_at(table, hours_of(year))
    found["relative_humidity"] = found["relative_humidity"] / 100
    columns = {ours: found[theirs] for theirs, ours in COLUMNS.items()}
    return columns, (float(facts["latitude"]), float(facts["longitude"]), float(facts["altitude"]))
