"""A log that the model itself has made gives back the factor and the clock that went into it."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from solarsim.errors import LoadError, WeatherError
from solarsim.studies.calibrate._clock_check import ClockCheck
from solarsim.studies.calibrate._expected import ExpectedYear
from solarsim.studies.calibrate.calibrate import (
    DARK_MONTH,
    KNOWN_WEATHER,
    Calibration,
    LoggedMonth,
    _winter_to_summer,
    calibrate,
)
from solarsim.views.calibrate import factor_lines, page
from tests.builders import PLAIN
from tests.logs import LOG, Floats, logged, model, months_of, write_days, write_hours
from tests.weather.test_read import plain_csv

ZERO = [{**PLAIN["strategies"][0], "name": "zero export", "export_limit_kw": 0.0}]


@pytest.fixture(scope="module")
def plain() -> ExpectedYear:
    return model(Path())


@pytest.fixture(scope="module")
def hours(plain: ExpectedYear) -> Floats:
    return plain.kwh(0.87)


def clock_of(found: Calibration) -> ClockCheck:
    assert found.clock is not None
    return found.clock


def lines(found: Calibration) -> str:
    return "\n".join(map(str, page(found)))


@pytest.mark.by_hand
def test_factor_of_hours_days_and_months_is_the_one_that_made_them(tmp_path: Path, hours: Floats) -> None:
    write_hours(tmp_path / "log.csv", hours)
    write_days(tmp_path / "days.csv", hours)
    by_day = {"file": "days.csv", "column": "kWh", "every": "day", "side": "ac"}
    by_month = {"monthly_kwh": months_of(hours), "side": "ac"}
    for log in (LOG, by_day, by_month):
        found = calibrate(logged(tmp_path, log))
        assert list(found.factors) == pytest.approx([0.87], abs=2e-5)
        assert [month.month for month in found.logged_months] == list(range(1, 13))
        assert sum(month.logged_kwh for month in found.logged_months) == pytest.approx(hours.sum(), rel=1e-5)
        assert [month.ratio_to_calibrated for month in found.logged_months] == pytest.approx([1.0] * 12, abs=1e-4)
        assert not any(month.below for month in found.logged_months)
        assert (found.clock is None) == (log is not LOG)
        assert found.winter_to_summer is None


@pytest.mark.by_hand
@pytest.mark.parametrize("present", [1.0, 0.5])
def test_expected_is_the_model_without_any_factor_and_the_headline_is_the_factor(
    tmp_path: Path, plain: ExpectedYear, present: float
) -> None:
    """A system that produces 0.59 of the model reads 59%, month by month and in all, whatever factor was there."""
    made = plain.home.production.dc_kw
    log = {"monthly_kwh": months_of(0.59 * made), "side": "dc"}
    found = calibrate(logged(tmp_path, log, production__system_factor=present))
    assert [month.ratio for month in found.logged_months] == pytest.approx([0.59] * 12, abs=1e-4)
    assert found.fitted_sum.expected_kwh == pytest.approx(made.sum(), rel=1e-6)
    assert found.fitted_sum.calibrated_kwh == pytest.approx(0.59 * made.sum(), rel=1e-5)
    assert "The system produces 59% of the model: system factor 0.590." in lines(found)


@pytest.mark.by_hand
def test_a_factor_that_is_there_already_is_taken_out_and_found_again(tmp_path: Path, hours: Floats) -> None:
    log = {"monthly_kwh": months_of(hours), "side": "ac"}
    found = calibrate(logged(tmp_path, log, production__system_factor=0.5))
    assert factor_lines(found) == "[production]\nsystem_factor = 0.870"


@pytest.mark.by_hand
def test_each_season_gets_its_own_factor(tmp_path: Path, plain: ExpectedYear) -> None:
    wanted = np.array([0.7, 0.9, 1.0, 0.8])
    season = np.array([0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 3, 0])
    made = plain.kwh(wanted[season][plain.month - 1])
    log = {"monthly_kwh": months_of(made), "side": "ac", "by_season": True}
    found = calibrate(logged(tmp_path, log))
    assert found.factors == pytest.approx(wanted.tolist(), abs=1e-4)
    assert "system factor Dec-Feb 0.700, Mar-May 0.900, Jun-Aug 1.000, Sep-Nov 0.800." in lines(found)
    assert "{ dec_feb = 0.700, mar_may = 0.900, jun_aug = 1.000, sep_nov = 0.800 }" in factor_lines(found)


@pytest.mark.by_hand
def test_power_above_the_inverter_s_limit_makes_the_factor_a_search(tmp_path: Path) -> None:
    """At 2 kW of AC, 0.9 of the DC power is more than 0.9 of the AC energy: the factor is still 0.9."""
    small: dict[str, Any] = {"inverter__ac_kw": 2.0}
    cut = model(tmp_path, **small)
    made = cut.kwh(0.9)
    assert made.sum() > 0.93 * cut.kwh(1.0).sum()
    found = calibrate(logged(tmp_path, {"monthly_kwh": months_of(made), "side": "ac"}, **small))
    assert found.factors[0] == pytest.approx(0.9, abs=1e-3)


@pytest.mark.by_hand
def test_dc_log_is_compared_before_the_inverter(tmp_path: Path, plain: ExpectedYear) -> None:
    offered = plain.home.production.dc_kw
    found = calibrate(logged(tmp_path, {"monthly_kwh": months_of(0.8 * offered), "side": "dc"}))
    assert found.factors[0] == pytest.approx(0.8, abs=1e-4)
    assert plain.kwh(1.0).sum() < 0.98 * offered.sum()


@pytest.mark.by_hand
@pytest.mark.parametrize("side", ["ac", "dc"])
def test_zero_export_log_is_compared_with_what_its_program_used(tmp_path: Path, side: str) -> None:
    """A full battery cuts a quarter and more; against the sky that would be taken for a fault of the arrays."""
    log = {"monthly_kwh": {"2025-01": 1.0}, "side": side, "strategy": "zero export"}
    changes = {"strategies": ZERO, "load__monthly_kwh": [250.0] * 12}
    made = model(tmp_path, log, **changes).kwh(0.9)
    told = {**log, "monthly_kwh": months_of(made)}
    found = calibrate(logged(tmp_path, told, **changes))
    assert found.factors[0] == pytest.approx(0.9, abs=0.01)
    assert found.fitted_sum.ratio_to_calibrated == pytest.approx(1.0, rel=1e-5)
    assert found.fitted_sum.ratio == pytest.approx(
        made.sum() / model(tmp_path, log, **changes).kwh(1.0).sum(), rel=1e-4
    )
    assert found.sensitivity < 0.8
    assert "was often limited" in lines(found)
    del told["strategy"]
    against_the_sky = calibrate(logged(tmp_path, told, **changes))
    assert against_the_sky.factors[0] < 0.75


@pytest.mark.by_hand
def test_months_outside_the_fit_are_predicted(tmp_path: Path, hours: Floats) -> None:
    """The second year makes 10% less than the first, on which the factor is fitted."""
    months = months_of(hours) | {key: 0.9 * value for key, value in months_of(hours, 2026).items()}
    log = {"monthly_kwh": months, "side": "ac", "fit": {"first": "2025-01", "last": "2025-12"}}
    found = calibrate(logged(tmp_path, log))
    assert found.factors[0] == pytest.approx(0.87, abs=1e-4)
    assert found.predicted_sum.ratio_to_calibrated == pytest.approx(0.9, abs=1e-3)


@pytest.mark.by_hand
def test_a_29_february_that_the_year_has_not_is_taken_out(tmp_path: Path, hours: Floats) -> None:
    """29 days of February, a 28th of its energy more; the model has 28."""
    months = months_of(hours, 2024)
    months["2024-02"] *= 29 / 28
    found = calibrate(logged(tmp_path, {"monthly_kwh": months, "side": "ac"}))
    assert found.logged_months[1].ratio_to_calibrated == pytest.approx(1.0, abs=1e-4)


@pytest.mark.trade
def test_a_month_that_no_weather_explains_is_flagged(tmp_path: Path, hours: Floats) -> None:
    """Of 0.13 spread, 19 of 20 months lie above 0.786."""
    months = months_of(hours)
    months["2025-01"] *= 0.60
    found = calibrate(logged(tmp_path, {"monthly_kwh": months, "side": "ac"}))
    assert [month.month for month in found.logged_months if month.below] == [1]
    assert found.factors[0] < 0.86
    assert "Jan 2025 lowers the factor" in lines(found)
    fit = {"first": "2025-01", "last": "2025-12", "without": ["2025-01"]}
    without = calibrate(logged(tmp_path, {"monthly_kwh": months, "side": "ac", "fit": fit}))
    assert without.factors[0] == pytest.approx(0.87, abs=1e-4)
    assert [month.month for month in without.logged_months if not month.fitted] == [1]
    assert found.logged_months[0].spread == DARK_MONTH
    assert "Jan 2025: low, and neither log nor weather explains it" in lines(found)
    assert "8% in the brighter half" in lines(found)


def test_several_years_of_weather_give_the_spread(tmp_path: Path, hours: Floats) -> None:
    other = Path(PLAIN["weather"]["file"]).with_name("12839.tm2")
    years = []
    for number, share in enumerate((0.6, 0.9)):
        years.append(f"{number}.csv")
        (tmp_path / years[-1]).write_text(plain_csv(share))
    (tmp_path / "first.csv").write_text((tmp_path / "0.csv").read_text())
    assert other.exists()
    place = {"latitude_deg": 36.1, "longitude_deg": -79.95, "elevation_m": 270.0, "utc_offset_h": -5.0}
    weather = {"file": "first.csv", "format": "csv", "place": place, "other_files": years}
    made = {month: 0.5 * kwh for month, kwh in months_of(hours).items()}
    found = calibrate(logged(tmp_path, {"monthly_kwh": made, "side": "ac"}, weather=weather))
    assert found.years_of_spread == 3
    # Light of 0.6, 0.6 and 0.9: mean 0.7, standard deviation 0.173, a share of 0.247; with the model's 0.05: 0.252.
    assert found.logged_months[5].spread == pytest.approx(0.252, abs=0.01)
    assert "spread of 3 years of weather" in lines(found)


@pytest.mark.by_hand
@pytest.mark.parametrize("ahead_min", [-120, -60, 120])
def test_clock_that_is_off_all_year_is_found_and_its_key_named(tmp_path: Path, hours: Floats, ahead_min: int) -> None:
    write_hours(tmp_path / "log.csv", hours, ahead_min)
    found = calibrate(logged(tmp_path))
    clock = clock_of(found)
    assert (clock.moved_min, clock.other_daylight_saving, clock.reason) == (ahead_min, False, "clock")
    assert clock.settings == (f"clock_ahead_min = {ahead_min}",)
    assert f"Setting for the clock: clock_ahead_min = {ahead_min}." in lines(found)
    settled = clock_of(calibrate(logged(tmp_path, {**LOG, "clock_ahead_min": ahead_min})))
    assert settled.moved_min == 0
    assert settled.as_read.misfit < 1e-3


@pytest.mark.by_hand
@pytest.mark.parametrize(("read_as", "ahead_min", "right"), [("start", 60, "end"), ("end", 0, "start")])
def test_days_one_interval_off_point_to_the_labels(
    tmp_path: Path, hours: Floats, read_as: str, ahead_min: int, right: str
) -> None:
    """Times that are the end of each hour, read as its start, and the reverse: neither the clock nor the azimuth."""
    write_hours(tmp_path / "log.csv", hours, ahead_min)
    found = calibrate(logged(tmp_path, {**LOG, "labels": read_as}))
    clock = clock_of(found)
    assert (abs(clock.moved_min), clock.reason) == (60, "labels")
    assert clock.settings == (f'labels = "{right}" in [production_log]',)
    assert f'its times seem to be the {right} of each interval. Setting: labels = "{right}"' in lines(found)
    assert "azimuth" not in lines(found)
    assert clock_of(calibrate(logged(tmp_path, {**LOG, "labels": right}))).moved_min == 0


@pytest.mark.by_hand
def test_daylight_saving_is_told_either_way(tmp_path: Path, hours: Floats, plain: ExpectedYear) -> None:
    """A log in standard time read as wall clock, and one in wall-clock time stamped as if it were standard time."""
    write_hours(tmp_path / "log.csv", hours, stamp="")
    found = calibrate(logged(tmp_path, {**LOG, "clock": "wall"}))
    assert clock_of(found).other_daylight_saving
    assert "Clock: the log does not follow daylight saving" in lines(found)
    assert "clock_ahead_min = -300" in clock_of(found).settings[0]
    standard = calibrate(logged(tmp_path, {**LOG, "clock": "utc", "clock_ahead_min": -300}))
    assert not clock_of(standard).other_daylight_saving
    assert clock_of(standard).as_read.misfit < 1e-3

    saves = plain.home.timeline.wall_offset_h > plain.home.timeline.utc_offset_h
    shifted = np.where(saves, np.roll(hours, 1), hours)
    write_hours(tmp_path / "log.csv", shifted)
    follows = calibrate(logged(tmp_path))
    assert clock_of(follows).best_clock.daylight_saving
    assert not clock_of(follows).as_read.daylight_saving
    assert clock_of(follows).settings == ('clock = "wall" in [production_log]',)


def test_a_right_clock_is_left_alone(tmp_path: Path, hours: Floats) -> None:
    write_hours(tmp_path / "log.csv", hours)
    found = calibrate(logged(tmp_path))
    assert clock_of(found).moved_min == 0
    assert "Clock: correct" in lines(found)


def test_arrays_that_face_elsewhere_are_not_taken_for_a_clock(tmp_path: Path) -> None:
    """A log of an east roof beside a scenario that says south: its days come early, its nights are dark."""
    write_hours(tmp_path / "log.csv", model(tmp_path, arrays__0__azimuth_deg=100.0).kwh(1.0))
    found = calibrate(logged(tmp_path))
    assert clock_of(found).moved_min < 0
    assert clock_of(found).reason == "azimuth"
    assert "the arrays face further east" in lines(found)


def test_summer_alone_cannot_tell_daylight_saving_from_an_hour(tmp_path: Path, hours: Floats) -> None:
    summer = np.full(8760, np.nan)
    summer[24 * 120 : 24 * 240] = hours[24 * 120 : 24 * 240]
    write_hours(tmp_path / "log.csv", summer, 60)
    found = calibrate(logged(tmp_path))
    assert not clock_of(found).both_kinds
    assert "may also be daylight saving" in lines(found)


@pytest.mark.by_hand
def test_missing_hours_and_dead_days_are_remarks(tmp_path: Path, hours: Floats) -> None:
    made = hours.copy()
    made[24 * 181 : 24 * 191] = np.nan
    made[24 * 220 : 24 * 223] = 0.0
    write_hours(tmp_path / "log.csv", made)
    found = calibrate(logged(tmp_path))
    july, august = found.logged_months[6], found.logged_months[7]
    assert july.covered == pytest.approx(
        1 - hours[24 * 181 : 24 * 191].sum() / hours[24 * 181 : 24 * 212].sum(), abs=1e-3
    )
    assert july.ratio_to_calibrated == pytest.approx(august.ratio_to_calibrated or 0.0, rel=0.15)
    assert "hours of daylight not logged" in july.remarks[0]
    assert "3 days with almost no output, a standstill?" in august.remarks[0]


def months(*ratios: float) -> tuple[LoggedMonth, ...]:
    return tuple(
        LoggedMonth(2025, month, 100.0 * ratio, 125.0, 100.0, 1.0, KNOWN_WEATHER, True, ())
        for month, ratio in enumerate(ratios, start=1)
    )


@pytest.mark.by_hand
def test_low_sun_against_high_sun_hints_at_the_tilt() -> None:
    """1.2 in November to January, 1.0 in May to July: 1.2; six months of 5% differ by 1.645 x 0.041 for no reason."""
    steep = months(1.2, 1.1, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.2, 1.2)
    assert _winter_to_summer(steep, north=True) == pytest.approx(1.2)
    assert _winter_to_summer(steep, north=False) == pytest.approx(1 / 1.2)
    assert _winter_to_summer(months(*[1.05] + [1.0] * 11), north=True) is None
    assert _winter_to_summer(steep[2:4], north=True) is None


@contextmanager
def refused(kind: type[Exception], words: str) -> Iterator[None]:
    with pytest.raises(kind, match=words):
        yield


def test_weather_of_another_year_or_of_no_year_is_refused(tmp_path: Path, hours: Floats) -> None:
    rows = plain_csv().splitlines()
    (tmp_path / "sky.csv").write_text("\n".join(rows) + "\n")
    times = np.datetime_as_string(np.arange("2023-01-01", "2024-01-01", dtype="datetime64[h]"), unit="m").tolist()
    dated = [f"time,{rows[0]}"] + [f"{time},{row}" for time, row in zip(times, rows[1:], strict=True)]
    (tmp_path / "2023.csv").write_text("\n".join(dated) + "\n")
    place = {"latitude_deg": 36.1, "longitude_deg": -79.95, "elevation_m": 270.0, "utc_offset_h": -5.0}
    log = {"monthly_kwh": months_of(hours), "side": "ac"}
    for files, kind, words in (
        (["sky.csv"], WeatherError, "it states no year"),
        (["2023.csv"], LoadError, "the log is of 2025, its weather of 2023"),
        (["2023.csv", "2023.csv"], WeatherError, "is of 2023, as 2023.csv is"),
    ):
        weather = [{"file": file, "format": "csv", "place": place} for file in files]
        with refused(kind, words):
            calibrate(logged(tmp_path, {**log, "weather": weather}))
    with refused(WeatherError, "its months are of 19[0-9]* to"):
        calibrate(logged(tmp_path, {**log, "weather": [PLAIN["weather"]]}))
