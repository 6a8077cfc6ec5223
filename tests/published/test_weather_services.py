"""What the services' labels and units are: answers that pvlib's own tests record of them, against the sun.

The series are those of ``tests/iotools/test_nasa_power.py`` and ``test_era5.py`` in pvlib 0.16.1 (BSD-3-Clause),
fetched with its source at test time: live answers of both services, which no test of ours can ask.
"""

import ast
from datetime import datetime

import numpy as np
import pandas as pd
import pytest
from numpy.typing import NDArray
from pvlib import solarposition

from solarsim.weather.services._era5 import Cell, direct_and_diffuse
from tests.open_data import PVLIB_SOURCE, open_data

pytestmark = pytest.mark.published

Floats = NDArray[np.float64]


def recorded(file: str, name: str) -> Floats:
    """Return a list of numbers that a test of pvlib's assigns to a name."""
    tree = ast.parse(open_data(PVLIB_SOURCE, f"tests/iotools/{file}").read_text())
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == name and isinstance(node.value, ast.List):
            return np.array(ast.literal_eval(node.value), np.float64)
    raise LookupError(name)


def noon_h(latitude_deg: float, longitude_deg: float, day: str) -> float:
    """Return when the sun is highest [h, UTC]."""
    sun = solarposition.sun_rise_set_transit_spa(pd.DatetimeIndex([day], tz="UTC"), latitude_deg, longitude_deg)
    highest: datetime = sun["transit"].iloc[0]
    return highest.hour + highest.minute / 60


def center_h(values: Floats, middle_h: float) -> float:
    """Return the center of a day's irradiation, each value ``middle_h`` after its label [h]."""
    return float((values * (np.arange(values.size) + middle_h)).sum() / values.sum())


def test_nasa_power_s_hours_begin_at_their_label() -> None:
    """44.76 N, 7.64 E, 2 February 2025: the center of the day's light is within a quarter hour of the sun's highest.

    With labels at the end of the hour it would be an hour earlier.
    """
    ghi = recorded("test_nasa_power.py", "ghi")
    assert center_h(ghi, 0.5) == pytest.approx(noon_h(44.76, 7.64, "2025-02-02"), abs=0.25)


def test_era5_s_hours_end_at_their_label() -> None:
    """40 N, 80 W, 1 June 2020: the day's light has its center at the sun's highest, to a quarter hour.

    Direct light normal to the sun is strongest when the sun is highest, and only with the sun of the hour before each
    label. With that of the hour after, it would grow until sunset; with that of the hour before that, from sunrise on
    it would fall.
    """
    ghi, horizontal = (recorded("test_era5.py", name) for name in ("ghi", "bhi"))
    noon = noon_h(40.0, -80.0, "2020-06-01")
    day = np.concatenate([ghi[11:], ghi[:3]])  # the sun sets at 00:50 UTC: the last hours are the list's first
    assert center_h(day, 11 - 0.5) == pytest.approx(noon, abs=0.25)
    ends = np.arange("2020-06-01T00", "2020-06-02T00", dtype="datetime64[h]")
    strongest = {}
    for hours in (1, 0, 2):
        dni, dhi = direct_and_diffuse(ghi, horizontal, Cell(40.0, -80.0, 300.0), ends - np.timedelta64(hours, "h"))
        strongest[hours] = int(dni[11:].argmax()) + 11 - 0.5
        assert (dhi <= ghi).all()
        if hours == 1:
            assert 900 < dni.max() < 1000  # a clear day near sea level (common practice)
    assert strongest[1] == pytest.approx(noon, abs=1.5)
    assert abs(strongest[0] - noon) > 4
    assert abs(strongest[2] - noon) > 4


def test_units_of_both_are_watts_and_degrees() -> None:
    """June noon of a clear day at 40 N has 900 to 1,050 W/m2 (common practice); a June day there 5 to 25 C."""
    assert 900 < recorded("test_era5.py", "ghi").max() < 1050
    temperature = recorded("test_era5.py", "temp_air")
    assert 5 < temperature.min() < temperature.max() < 25
