"""A year from monthly means against the year that the means were taken from."""

import json

import numpy as np
import pytest

from solarsim.production.dc_power import dc_power
from solarsim.scenario.model import Scenario
from solarsim.scenario.read import packaged_folder
from solarsim.scenario.site import MonthlyMeans, WeatherFile
from solarsim.studies.compare.compare import Comparison, compare
from solarsim.weather.read import read_weather
from solarsim.weather.source import weather_for
from tests.builders import scenario, timeline
from tests.weather.means import MONTH, means_of

pytestmark = pytest.mark.published


@pytest.mark.parametrize(
    ("name", "zone", "tilt"),
    [
        ("723170TYA.CSV", "America/New_York", 36.0),
        ("703165TY.csv", "America/Anchorage", 55.0),
        ("12839.tm2", "America/New_York", 26.0),
    ],
)
def test_year_made_from_monthly_means_is_close_to_the_real_year(name: str, zone: str, tilt: float) -> None:
    """Months of the US Department of Energy's typical years within 1 %, yield to the south within 5 %, for four seeds.

    Tilts are the place's latitude and, harder, upright. The daily and hourly models know nothing of these places.
    """
    kind = "tm2" if name.endswith("tm2") else "tmy3"
    real = read_weather(
        packaged_folder("weather_samples") / name, WeatherFile.model_validate({"file": name, "format": kind})
    )
    where = timeline(zone)
    months = np.bincount(MONTH, real.ghi_w_m2)
    for seed in range(4):
        home = scenario(weather=means_of(real, seed), site__time_zone=zone, inverter__inputs=[{"max_kw": 50.0}])
        year = weather_for(home, where)
        assert np.abs(np.bincount(MONTH, year.ghi_w_m2) / months - 1).max() < 0.01
        for angle in (tilt, 90.0):
            roof = home.arrays[0].model_copy(update={"tilt_deg": angle})
            tilted = home.model_copy(update={"arrays": (roof,)})
            ours, theirs = (dc_power(tilted, each, where).dc_kw.sum() for each in (year, real))
            assert ours == pytest.approx(theirs, rel=0.05)
        assert year.temp_air_c.mean() == pytest.approx(real.temp_air_c.mean(), abs=0.01)
        swing, real_swing = (np.ptp(each.temp_air_c.reshape(365, 24), axis=1).mean() for each in (year, real))
        assert swing == pytest.approx(real_swing, abs=3.5)  # Erbs et al. fitted nine US places; a coast swings less


def test_bills_under_a_year_from_monthly_means_are_close_to_those_of_the_real_year(
    demo: Scenario, demo_comparison: Comparison
) -> None:
    """US Department of Energy's typical year of Greensboro, and the year made from its months.

    A battery lives by the order and the mix of days, which monthly sums do not show: savings within 3 %.
    """
    table = means_of(demo_comparison.home.weather)
    there = demo.model_copy(update={"weather": MonthlyMeans.model_validate_json(json.dumps(table))})
    made = compare(there)
    for ours, real in zip(made.runs, demo_comparison.runs, strict=True):
        assert ours.annual_savings == pytest.approx(real.annual_savings, rel=0.03)
        assert ours.ledger.self_sufficiency == pytest.approx(real.ledger.self_sufficiency, abs=0.02)
