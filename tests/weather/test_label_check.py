"""When hour labels are called doubtful."""

from dataclasses import replace

import numpy as np
import pytest

from solarsim.home import Home
from solarsim.weather.label_check import label_notes, label_offset_min


@pytest.mark.parametrize(("degrees", "offset"), [(0.0, 0), (5.0, -20), (7.5, -30), (-7.5, 30)])
def test_sun_is_found_where_the_longitude_was_shifted(demo_home: Home, degrees: float, offset: int) -> None:
    """A degree of longitude is four minutes of sun (by hand); more than 20 minutes off is told."""
    moved = replace(demo_home.weather, longitude_deg=demo_home.weather.longitude_deg + degrees)
    assert label_offset_min(moved) == offset
    assert len(label_notes(moved, offset, "f")) == (abs(offset) > 20)


def test_too_little_sun_to_tell_says_nothing(demo_home: Home) -> None:
    dim = replace(demo_home.weather, dni_w_m2=np.minimum(demo_home.weather.dni_w_m2, 150.0))
    assert label_offset_min(dim) is None
    assert label_notes(dim, None, "f") == ()
