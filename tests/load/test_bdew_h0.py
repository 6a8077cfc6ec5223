"""The German standard household profile: read from its file, laid onto seasons and days, smoothed over the year."""

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from solarsim.clock.holidays import Holidays
from solarsim.errors import LoadError
from solarsim.home import Home
from solarsim.load._bdew_h0 import h0_year_factor, read_h0, static_h0
from solarsim.load.household import household_load
from solarsim.scenario.site import Site
from tests.builders import scenario, timeline
from tests.open_data import DEMANDLIB, open_data

BERLIN = timeline("Europe/Berlin", 2014)


def profile_file() -> Path:
    return open_data(DEMANDLIB, "demandlib/bdew/bdew_data/selp_series.csv")


@pytest.mark.published
def test_peak_of_a_thousand_kwh_is_that_of_the_data_file() -> None:
    """VDEW profile H0 in demandlib's ``selp_series.csv``: 0.2141 kW of a quarter hour for 1,000 kWh a year."""
    quarters = Site(name="here", time_zone="Europe/Berlin", calendar_year=2014, albedo=0.2).timeline(step_h=0.25)
    power = static_h0(read_h0(profile_file()), quarters)
    day = quarters.wall.astype("datetime64[D]")
    for special in ("2014-12-24", "2014-12-31"):  # the published figure leaves these two the Wednesdays they are
        power[day == np.datetime64(special)] = power[day == np.datetime64("2014-12-17")]
    assert power.max() * 1000 / (power.sum() * 0.25) == pytest.approx(0.2141, abs=5e-5)


@pytest.mark.published
def test_year_factor_is_the_standard_s_polynomial() -> None:
    """VDEW (1999), M-28/99: -3.92e-10 t^4 + 3.2e-7 t^3 - 7.02e-5 t^2 + 2.1e-3 t + 1.24, t the day (secondary copy)."""
    factor = h0_year_factor(BERLIN)
    first, summer = factor[0], factor[(182 - 1) * 24 + 5]  # day 182 is 1 July
    assert first == pytest.approx(1.24 + 2.1e-3 - 7.02e-5 + 3.2e-7 - 3.92e-10)
    assert summer == pytest.approx(1.24 + 2.1e-3 * 182 - 7.02e-5 * 182**2 + 3.2e-7 * 182**3 - 3.92e-10 * 182**4)
    assert summer < 0.9
    assert first > 1.2
    assert np.unique(factor).size <= 365


def test_holidays_are_sundays_and_the_last_day_of_the_year_a_saturday() -> None:
    profile = np.zeros((3, 3, 96))
    profile[:] = np.arange(9).reshape(3, 3, 1)  # 3 x season + day kind
    where = timeline("Europe/Berlin", 2014, holidays=Holidays(dates=(date(2014, 5, 1),)))
    kind = static_h0(profile, where).astype(int)

    def on(day: str) -> set[int]:
        return set(kind[where.wall.astype("datetime64[D]") == np.datetime64(day)].tolist())

    assert on("2014-05-01") == {3 + 2}  # a Thursday, but a holiday: Sunday of the transition
    assert on("2014-12-31") == {0 + 1}  # a Wednesday: Saturday of winter
    assert on("2014-07-05") == {6 + 1}
    assert on("2014-03-20") == {0}
    assert on("2014-03-21") == {3}
    assert on("2014-09-15") == {3}
    assert on("2014-11-01") == {0 + 1}


def test_bills_keep_their_sum_by_month_and_by_year(demo_home: Home) -> None:
    path = str(profile_file())
    bills = [300.0 + 10 * month for month in range(12)]
    monthly = household_load(
        scenario(load={"monthly_kwh": bills, "shape": "bdew_h0", "shape_file": path}), BERLIN, demo_home.weather
    ).load_kw
    assert np.bincount(BERLIN.month - 1, monthly).tolist() == pytest.approx(bills)
    annual = household_load(
        scenario(load={"annual_kwh": 3500.0, "shape": "bdew_h0", "shape_file": path}), BERLIN, demo_home.weather
    ).load_kw
    assert annual.sum() == pytest.approx(3500.0)
    by_month = np.bincount(BERLIN.month - 1, annual)
    assert by_month[0] > 1.3 * by_month[6], "a German home uses more in winter"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("period,weekday\nwinter,1\n", "has no column 'h0'"),
        ("", "has no column 'period'"),
        ("period,weekday,h0\n" + "winter,1,0.1\n" * 95, "has 95 rows of period 'winter' and weekday 1, must have 96"),
        ("period,weekday,h0\n" + "winter,1,-1\n" * 96, "h0 is '-1', must be a power of 0 or more"),
        ("period,weekday,h0\n" + "winter,1,much\n" * 96, "h0 is 'much'"),
        (
            "period,weekday,h0\n"
            + "".join(f"{period},{day},0\n" * 96 for period in ("winter", "transition", "summer") for day in "167"),
            "every value of h0 is 0",
        ),
    ],
)
def test_other_files_are_refused(tmp_path: Path, text: str, told: str) -> None:
    path = tmp_path / "h0.csv"
    path.write_text(text)
    with pytest.raises(LoadError, match=told):
        read_h0(path)


def test_foreign_bytes_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "h0.csv"
    path.write_bytes(b"period,weekday,h0\n\xff")
    with pytest.raises(LoadError, match="not UTF-8"):
        read_h0(path)
