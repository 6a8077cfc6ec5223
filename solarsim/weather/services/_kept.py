"""Years that were fetched before: a service, a place and a year in; a file of the user's cache folder and back."""

import os
import tempfile
from contextlib import suppress
from pathlib import Path
from zipfile import BadZipFile

import numpy as np

from solarsim.folders import cache_folder
from solarsim.weather.services._utc_year import COLUMNS, UtcYear, hours_of

_FORM = 1  # another form of the file is another number
_FACTS = ("latitude_deg", "longitude_deg", "elevation_m")


def kept_year(service: str, latitude_deg: float, longitude_deg: float, year: int) -> UtcYear | None:
    """Return a year that was kept; None where there is none, or where its file is damaged."""
    path = _file(service, latitude_deg, longitude_deg, year)
    if path is None or not path.is_file():
        return None
    try:
        with path.open("rb") as raw, np.load(raw, allow_pickle=False) as file:
            facts = {name: float(file[name]) for name in _FACTS}
            columns = {name: np.asarray(file[name], np.float64) for name in COLUMNS.values()}
            retrieved = str(file["retrieved"])
    except (OSError, ValueError, KeyError, EOFError, BadZipFile):
        return None
    whole = all(values.shape == hours_of(year).shape for values in columns.values())
    return UtcYear(year=year, columns=columns, retrieved=retrieved, **facts) if whole else None


def keep_year(service: str, latitude_deg: float, longitude_deg: float, found: UtcYear) -> None:
    """Keep a year, whole or not at all; where no folder can be written, it is fetched again next time."""
    path = _file(service, latitude_deg, longitude_deg, found.year)
    if path is None:
        return
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, partial = tempfile.mkstemp(dir=path.parent, prefix=".partial.", suffix=".npz")
        try:
            with os.fdopen(handle, "wb") as file:
                facts = {name: np.float64(getattr(found, name)) for name in _FACTS}
                np.savez_compressed(
                    file, allow_pickle=False, retrieved=np.str_(found.retrieved), **facts, **found.columns
                )
            os.replace(partial, path)
        except BaseException:
            os.unlink(partial)
            raise


def _file(service: str, latitude_deg: float, longitude_deg: float, year: int) -> Path | None:
    folder = cache_folder()
    name = f"{service}_{latitude_deg:.4f}_{longitude_deg:.4f}_{year}_{_FORM}.npz"
    return None if folder is None else folder / "weather" / name
