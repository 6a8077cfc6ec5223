"""Whether a file's hour labels are right: irradiance in, the offset at which its three columns agree out.

GHI = DHI + DNI cos(zenith) holds for the mean of an hour when the zenith is taken at the middle of
that hour. The offset that closes it best unmasks hour labels at the wrong end, a wrong time zone in
the header, and solar columns that belong elsewhere.
"""

import numpy as np
from numpy.typing import NDArray

from solarsim.weather.typical_year import Weather

OFFSETS_MIN: NDArray[np.int64] = np.arange(-90, 91, 10)
WARN_ABOVE_MIN = 20
_BRIGHT_W_M2 = 200.0


def label_gaps_w_m2(weather: Weather) -> NDArray[np.float64] | None:
    """Return how far the irradiance columns are apart for each shift of the sun in ``OFFSETS_MIN``.

    Parameters
    ----------
    weather : Weather
        One year, rows labeled by the start of the hour.

    Returns
    -------
    array of float or None
        Mean of |GHI - DHI - DNI cos(zenith)| over hours with direct sun [W/m2]; None when there are fewer than 200.
    """
    import pandas as pd
    from pvlib import solarposition

    bright = np.flatnonzero((weather.dni_w_m2 > _BRIGHT_W_M2) & (weather.ghi_w_m2 > _BRIGHT_W_M2))
    if bright.size < 200:
        return None
    # Every tenth of them is plenty, and keeps this in a few milliseconds.
    bright = bright[:: max(1, bright.size // 400)]
    start = np.datetime64("2001-01-01T00:00:00") - np.timedelta64(round(weather.utc_offset_h * 3600), "s")
    middle = start + bright * np.timedelta64(3600, "s") + np.timedelta64(1800, "s")
    shifted = (middle[None, :] + OFFSETS_MIN[:, None] * np.timedelta64(60, "s")).ravel()
    sun = solarposition.ephemeris(pd.DatetimeIndex(shifted, tz="UTC"), weather.latitude_deg, weather.longitude_deg)
    cos_zenith = np.cos(np.radians(sun["zenith"].to_numpy())).reshape(OFFSETS_MIN.size, bright.size)
    gap = weather.ghi_w_m2[bright] - weather.dhi_w_m2[bright] - weather.dni_w_m2[bright] * cos_zenith
    return np.asarray(np.abs(gap).mean(axis=1), np.float64)


def label_offset_min(weather: Weather) -> int | None:
    """Return the shift of the sun that makes the irradiance columns agree best.

    Parameters
    ----------
    weather : Weather
        One year, rows labeled by the start of the hour.

    Returns
    -------
    int or None
        From the middle of the labeled hour, in steps of 10 [min]: 0 when the labels are right, -60
        when rows labeled by their end were taken as labeled by their start. None when fewer than
        200 hours have direct sun.
    """
    gaps = label_gaps_w_m2(weather)
    return None if gaps is None else int(OFFSETS_MIN[gaps.argmin()])


def label_notes(weather: Weather, offset_min: int | None, file: str) -> tuple[str, ...]:
    """Return a warning where the hour labels are more than 20 minutes off.

    Parameters
    ----------
    weather : Weather
        One year.
    offset_min : int or None
        From ``label_offset_min`` [min].
    file : str
        The file's name.

    Returns
    -------
    tuple of str
        One warning, or none.
    """
    if offset_min is None or abs(offset_min) <= WARN_ABOVE_MIN:
        return ()
    return (
        f"{file}: the sun is {offset_min:+d} min off the file's clock: check the time zone"
        f" (UTC{weather.utc_offset_h:+g}) and whether rows are labeled by the start or the end of the hour",
    )
