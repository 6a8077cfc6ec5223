"""Logs that are broken, or of something else: each is refused or told by one line that says what to do."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from solarsim.errors import InputError
from solarsim.studies.calibrate.calibrate import calibrate
from tests.cli.test_bad_scenarios import assert_refused, write_home
from tests.logs import LOG, Floats, logged, model, months_of, write_days, write_hours

Write = Callable[[Path, Floats], None]
DAYS = {"file": "log.csv", "column": "kWh", "every": "day", "side": "ac"}


@pytest.fixture(scope="module")
def hours() -> Floats:
    return model(Path()).kwh(0.9)


def times(factor: float) -> Write:
    return lambda path, kwh: write_hours(path, factor * kwh)


def edited(old: str, new: str, write: Write = write_hours) -> Write:
    def edit(path: Path, kwh: Floats) -> None:
        write(path, kwh)
        text = path.read_text()
        assert old in text
        path.write_text(text.replace(old, new, 1))

    return edit


def text(content: str) -> Write:
    def write(path: Path, _: Floats) -> None:
        path.write_text(content)

    return write


def negative(path: Path, kwh: Floats) -> None:
    write_hours(path, np.where(np.arange(8760) == 5000, -0.5, kwh))


def twice(path: Path, kwh: Floats) -> None:
    write_days(path, kwh)
    path.write_text(path.read_text() + "2025-12-31,4.0\n")


#: What stands in the log, its keys, and what the refusal says.
REFUSED: dict[str, tuple[Write, dict[str, Any], list[str]]] = {
    "empty": (text(""), LOG, ["log.csv: is empty"]),
    "names only": (text("time,kWh\n"), LOG, ["log.csv: no line has a date and a number"]),
    "no file": (lambda *_: None, {**LOG, "file": "none.csv"}, ["none.csv: cannot be read"]),
    "column misspelled": (write_hours, {**LOG, "column": "kwhh"}, ["no column 'kwhh', which column names", "'kWh'?"]),
    "negative": (negative, LOG, ["'kWh' is -0.5, must not be negative"]),
    "counter": (
        lambda path, kwh: write_hours(path, np.cumsum(kwh) + 5000.0),
        LOG,
        ["'kWh' never falls, as a register does", 'kind = "register"'],
    ),
    "counter of days": (
        lambda path, kwh: write_days(path, np.cumsum(kwh)),
        DAYS,
        ["'kWh' never falls, as a counter does"],
    ),
    "all zero": (times(0.0), LOG, ["log.csv: every value is 0"]),
    "Wh for kWh": (times(1000.0), LOG, ["897.19 times the expected energy", "the log's unit"]),
    "kWh of quarter hours taken for kW": (times(0.25), LOG, ["0.22 times the expected energy"]),
    "three times the size": (times(3.0), LOG, ["2.69 times the expected energy", "the arrays' size"]),
    "a third of the size": (times(1 / 3), LOG, ["0.30 times the expected energy", "strategy"]),
    "no clock": (
        lambda path, kwh: write_hours(path, np.where(np.arange(8760) < 1000, kwh, np.nan), stamp=""),
        LOG,
        ["it is unclear whether times are local (wall-clock) time or UTC", 'clock = "wall" or "utc"'],
    ),
    "no unit": (edited("kWh", "made"), {**LOG, "column": "made"}, ["'made' has no unit"]),
    "no label": (write_hours, {k: v for k, v in LOG.items() if k != "labels"}, ['labels = "start" or "end"']),
    "text in it": (edited(",0.000000", ",off"), LOG, ["line 2"]),
    "days without the key": (write_days, LOG, ["no time of day"]),
    "hours with the key of days": (write_hours, DAYS, ['rows have a time of day, but every = "day"']),
    "day twice": (twice, DAYS, ["2025-12-31 appears twice"]),
    "days of power": (edited("kWh", "kW", write_days), {**DAYS, "column": "kW"}, ["is a power, but each row is a day"]),
    "half an interval off": (
        write_hours,
        {**LOG, "clock_ahead_min": 30},
        ["must be a multiple of the log's interval of 60 min"],
    ),
    "fit of another year": (
        write_hours,
        {**LOG, "fit": {"first": "2023-01", "last": "2023-12"}},
        ["log and weather share no sunny month of the fit from 2023-01 to 2023-12"],
    ),
    "season that is not there": (
        lambda path, kwh: write_hours(path, np.where(np.arange(8760) < 1000, kwh, np.nan)),
        {**LOG, "by_season": True},
        ["share no sunny month of mar_may"],
    ),
}


@pytest.mark.parametrize("case", REFUSED.values(), ids=list(REFUSED))
def test_a_broken_log_is_refused_in_one_line(tmp_path: Path, hours: Floats, case: Any) -> None:
    write, log, says = case
    write(tmp_path / "log.csv", hours)
    with pytest.raises(InputError) as refused:
        calibrate(logged(tmp_path, log))
    (line,) = refused.value.problems
    assert [piece for piece in says if piece not in line] == [], line
    assert line.startswith(f"{tmp_path}")


#: Keys that cannot be, and what the refusal says.
KEYS: dict[str, tuple[dict[str, Any], str]] = {
    "two sources": ({**LOG, "monthly_kwh": {"2025-01": 5.0}}, "needs either a file or monthly_kwh"),
    "no source": ({"side": "ac"}, "needs either a file or monthly_kwh"),
    "no side": ({"monthly_kwh": {"2025-01": 5.0}}, "production_log.side: is missing"),
    "no column": ({"file": "log.csv", "side": "ac"}, "column is missing"),
    "month that is none": ({"monthly_kwh": {"2025-13": 5.0}, "side": "ac"}, "is no month, must be like '2024-07'"),
    "month of power": ({"monthly_kwh": {"2025-01": -5.0}, "side": "ac"}, "must be at least 0"),
    "unit of months": ({"monthly_kwh": {"2025-01": 5.0}, "side": "ac", "unit": "wh"}, "unit belongs to a file"),
    "clock of days": ({**DAYS, "clock": "wall"}, "clock belongs to intervals"),
    "power of days": ({**DAYS, "unit": "kw"}, "unit 'kw' is a power"),
    "clock by minutes": ({**LOG, "clock_ahead_min": 7}, "must be whole quarters of an hour"),
    "fit upside down": (
        {**LOG, "fit": {"first": "2025-05", "last": "2025-01"}},
        "last 2025-01 is before first 2025-05",
    ),
    "strategy misspelled": (
        {**LOG, "strategy": "hom first"},
        "is not one of the strategies; did you mean 'home first'?",
    ),
    "weather of several": (
        {**LOG, "weather": [{"file": "a.epw", "format": "epw", "other_files": ["b.epw"]}]},
        "one table for each year",
    ),
}


@pytest.mark.parametrize("case", KEYS.values(), ids=list(KEYS))
def test_keys_that_cannot_be_are_refused_in_one_line(tmp_path: Path, case: Any) -> None:
    log, says = case
    with pytest.raises(InputError) as refused:
        logged(tmp_path, log)
    (line,) = refused.value.problems
    assert says in line
    assert line.startswith(f"{tmp_path / 'plain.toml'}: production_log")


def test_a_counter_that_is_called_one_is_read(tmp_path: Path, hours: Floats) -> None:
    write_hours(tmp_path / "log.csv", np.concatenate([[0.0], np.cumsum(hours)[:-1]]) + 5000.0)
    found = calibrate(logged(tmp_path, {**LOG, "labels": "start", "kind": "register"}))
    assert found.factors[0] == pytest.approx(0.9, abs=1e-3)


def test_what_can_be_read_but_is_odd_is_told(tmp_path: Path, hours: Floats) -> None:
    stuck = np.where((np.arange(8760) >= 3000) & (np.arange(8760) < 3100), 0.2, hours)
    write_hours(tmp_path / "log.csv", stuck)
    notes = calibrate(logged(tmp_path)).notes
    assert any("for 100 hours from" in note and "a stuck logger" in note for note in notes)


def test_one_month_is_compared_alone(tmp_path: Path, hours: Floats) -> None:
    found = calibrate(logged(tmp_path, {"monthly_kwh": {"2025-06": months_of(hours)["2025-06"]}, "side": "ac"}))
    assert [(month.year, month.month) for month in found.logged_months] == [(2025, 6)]
    assert found.factors[0] == pytest.approx(0.9, abs=1e-3)


def test_a_log_without_arrays_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"plain.toml: has a \[production_log\] but no \[\[arrays\]\]"):
        calibrate(logged(tmp_path, {"monthly_kwh": {"2025-06": 100.0}, "side": "ac"}, arrays=[]))


def test_a_broken_log_ends_the_command(tmp_path: Path, hours: Floats) -> None:
    write_hours(tmp_path / "log.csv", 3.0 * hours)
    write_home(tmp_path / "home.toml", production_log=LOG)
    assert_refused(tmp_path, "calibrate home.toml", "2.69 times the expected energy")
