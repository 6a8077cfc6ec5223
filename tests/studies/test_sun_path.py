"""The sun's path on three days: against the arithmetic of noon and the length of days."""

import numpy as np
import pytest

from solarsim.clock.timeline import timeline_for
from solarsim.scenario.site import Place
from solarsim.studies._sun_path import sun_days

GREENSBORO = Place(latitude_deg=36.1, longitude_deg=-79.95, elevation_m=270.0)
TROMSO = Place(latitude_deg=69.65, longitude_deg=18.96, elevation_m=10.0)


@pytest.mark.by_hand
def test_noon_is_as_high_as_latitude_and_declination_make_it() -> None:
    """90 - 36.1 + 23.44, + 0 and - 23.44 degrees: at noon by the sun, to a quarter degree."""
    days = sun_days(GREENSBORO, timeline_for("America/New_York", 2026))
    highest = [float(day.elevation_deg.max()) for day in days]
    assert highest == pytest.approx([77.34, 53.9, 30.46], abs=0.25)
    assert [day.azimuth_deg[day.elevation_deg.argmax()] for day in days] == pytest.approx([180.0] * 3, abs=4.0)


@pytest.mark.by_hand
def test_hours_are_those_of_the_wall_clock() -> None:
    """Solar noon is 12 h + (79.95 / 15 - 5) h = 12:20, an hour later by daylight saving, to the equation of time."""
    summer, _, winter = sun_days(GREENSBORO, timeline_for("America/New_York", 2026))
    noon = [day.clock_h[day.elevation_deg.argmax()] for day in (summer, winter)]
    assert noon == pytest.approx([13.0 + 20 / 60, 12.0 + 20 / 60], abs=0.2)
    assert np.abs(summer.clock_h * 6 - np.round(summer.clock_h * 6))[1:-1].max() < 1e-6, "every ten minutes"


def test_beyond_the_polar_circle_a_day_may_have_no_sun_or_no_night() -> None:
    summer, _, winter = sun_days(TROMSO, timeline_for("Europe/Oslo", 2026))
    assert summer.azimuth_deg.size == 144
    assert winter.azimuth_deg.size == 0
