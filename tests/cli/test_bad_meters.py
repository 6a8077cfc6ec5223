"""Broken meter files through the real command: exit code 2 with one line, or a result that says what was done.

Every file is a year of one home as a utility might give it, with one thing wrong. The command runs
in this process, from its words to its exit code.
"""

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.cli.command import run
from tests.cli.test_bad_scenarios import LIBRARY_WORDS, write_home
from tests.load.meter.feeds import block, feed, kind, meter, one_meter, point, reading
from tests.load.meter.series import on_the_wall

Out = tuple[int, str, str]
YEAR = 366 * 24
KWH = [0.2 + 0.05 * (hour % 24 // 6) + 0.01 * (hour % 7) for hour in range(YEAR)]
UTC = [str(each).replace("T", " ") for each in np.datetime64("2024-01-01T05:00") + np.arange(YEAR).astype("m8[h]")]
ASKED = {"clock": "utc", "labels": "start", "unit": "kwh"}


def load(folder: Path, **meter_keys: Any) -> Out:
    """Run ``solarsim load`` on a home with this meter."""
    write_home(folder / "home.toml", load={"meter": meter_keys})
    done = run("load", "home.toml", folder=folder)
    return done.returncode, done.stdout, done.stderr


def rows(stamps: list[str] = UTC, values: Any = KWH, head: str = "Start,kWh") -> str:
    """Write a CSV of a year."""
    return head + "\n" + "".join(f"{stamp},{value}\n" for stamp, value in zip(stamps, values, strict=True))


def line(number: int, text: str) -> str:
    """Write the good file with one line replaced."""
    lines = rows().splitlines(keepends=True)
    return "".join([*lines[: number - 1], text + "\n", *lines[number:]])


def without(first: int, count: int) -> str:
    """Write the good file without some rows."""
    return rows(UTC[:first] + UTC[first + count :], KWH[:first] + KWH[first + count :])


def hours(clock: Callable[[int, int], str]) -> list[str]:
    """Write the stamps of a year with another way to tell the hour."""
    return [f"{stamp[:11]}{clock(int(stamp[11:13]), int(stamp[14:16]))}" for stamp in UTC]


def year_feed(**codes: int) -> str:
    """Write a year as a Green Button feed."""
    return one_meter(*(reading(5 + hour, round(kwh * 1000)) for hour, kwh in enumerate(KWH)), **codes)


def two_homes() -> str:
    """Write a feed of two meters of electricity."""
    return feed(point(1), meter(), kind(), block(reading(0, 1)), point(2), meter(home=2), block(reading(0, 2), home=2))


BOMB = '<?xml version="1.0"?><!DOCTYPE feed [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]><feed>&b;</feed>'
WALL = [str(each).replace("T", " ") for each in on_the_wall(np.array(UTC, "datetime64[s]"), "America/New_York")]
TWELVE = hours(lambda hour, minute: f"{(hour + 11) % 12 + 1}:{minute:02d} {'AM' if hour < 12 else 'PM'}")

REFUSED: dict[str, tuple[str | bytes, dict[str, Any], str]] = {
    # A CSV that is none, or not a whole one
    "empty": ("", {}, "is empty"),
    "not there": (b"", {"file": "none.csv"}, "none.csv: cannot be read"),
    "a web page": ("<html><body>Log in</body></html>", {}, "is XML or HTML, not CSV"),
    "a spreadsheet": (b"PK\x03\x04" + bytes(200), {}, "meter.csv: is "),
    "utf-16 cut in half": (rows().encode("utf-16")[:-1], ASKED, "meter.csv: "),
    "zero bytes": (rows().replace("0.2", "\0", 1), {}, "is not text (zero byte"),
    "header alone": ("Start,kWh\n", {}, "no line has a date and a number"),
    "cut in the last row": (rows()[:-6], ASKED, "line 8785"),
    "half a year": (rows(UTC[: YEAR // 2], KWH[: YEAR // 2]), ASKED, "a year needs at least 350"),
    "one reading": (rows(UTC[:1], KWH[:1]), ASKED, "has the only time"),
    "a tenth is missing": (
        rows([at for hour, at in enumerate(UTC) if hour % 8], [kwh for hour, kwh in enumerate(KWH) if hour % 8]),
        ASKED,
        "at most a tenth can be filled",
    ),
    "daily sums": (rows(UTC[::24], KWH[::24]), ASKED, "is 24 h after the reading before"),
    "odd steps": (line(1000, f"{UTC[998][:14]}07:00,0.3"), ASKED, "line 1000"),
    # Numbers
    "text for a number": (line(50, f"{UTC[48]},much"), ASKED, "line 50: 'kWh' is 'much', must be a number"),
    "endless number": (line(50, f"{UTC[48]},1e999"), ASKED, "line 50: 'kWh' is '1e999', must be a finite number"),
    "negative reading": (line(50, f"{UTC[48]},-0.4"), ASKED, "line 50: 'kWh' is -0.4, must not be negative"),
    "import and export in one column": (rows(values=[-1, 2] * (YEAR // 2)), ASKED, "give each its own"),
    "watt-hours taken for kWh": (rows(values=[1000 * kwh for kwh in KWH]), ASKED, "check that the readings are kWh"),
    "decimal commas between commas": (
        rows(values=[str(kwh).replace(".", ",") for kwh in KWH]),
        ASKED,
        "decimal commas in a file separated by commas?",
    ),
    "thousands or decimals": (
        rows(values=["1,234", "2,345"] * (YEAR // 2)).replace(",", ";", 1).replace(":00,", ":00;"),
        ASKED,
        'set decimal = "." or ","',
    ),
    "no unit": (rows(head="Start,Usage"), {"clock": "utc"}, 'unit = "kwh" or "wh" or "kw" or "w"'),
    "a register for intervals": (
        rows(values=np.cumsum(KWH).round(3)),
        {**ASKED, "kind": None},
        'kind = "register" or "interval"',
    ),
    "a register that falls": (
        rows(values=[*np.cumsum(KWH[:-1]).round(3), 1.0], head="Time,kWh"),
        {"clock": "utc", "kind": "register"},
        "line 8785: the register 'kWh' falls",
    ),
    "a register in kW": (rows(head="Time,kW"), {"clock": "utc", "kind": "register"}, "a register counts energy"),
    # Times
    "no clock told": (rows(), {}, 'clock = "wall" or "utc"'),
    "no label told": (rows(head="Time,kWh"), {"clock": "utc"}, 'labels = "start" or "end"'),
    "day or month first": (
        rows([f"{stamp[8:10]}/{stamp[5:7]}/2024 {stamp[11:16]}" for stamp in UTC[:264]], KWH[:264]),
        ASKED,
        "date_order",
    ),
    "the wrong order told": (
        rows([f"{stamp[8:10]}/{stamp[5:7]}/2024 {stamp[11:16]}" for stamp in UTC]),
        {**ASKED, "date_order": "mdy"},
        "13/01/2024",
    ),
    "no such day": (line(50, "2024-02-30 01:00:00,0.3"), ASKED, "line 50: the date is '2024-02-30'"),
    "no such time": (line(50, "2024-01-03 25:00:00,0.3"), ASKED, "line 50"),
    "twelve hours without AM": (
        rows(hours(lambda hour, minute: f"{(hour + 11) % 12 + 1:02d}:{minute:02d}")),
        ASKED,
        "have different values",
    ),
    "AM in some rows": (rows([*TWELVE[:4000], *UTC[4000:]]), ASKED, "AM"),
    "no time of day": (rows([stamp[:10] for stamp in UTC]), ASKED, "no time of day"),
    "two values for one time": (line(50, f"{UTC[47]},9.9"), ASKED, "lines 49 and 50 have different values"),
    "UTC told of a wall clock": (rows(WALL), ASKED, 'set clock = "wall"'),
    # Columns
    "two meters": (
        "Meter,Start,kWh\n" + "".join(f"{n % 2},{stamp},0.3\n" for n, stamp in enumerate(UTC)),
        ASKED,
        "has 2 meters",
    ),
    "two ways in rows": (
        "Start,Flow,kWh\n" + "".join(f"{stamp},{('import', 'export')[n % 2]},0.3\n" for n, stamp in enumerate(UTC)),
        ASKED,
        "give each its own column",
    ),
    "two imports": (rows(values=[f"{kwh},0.1" for kwh in KWH], head="Start,Day kWh,Night kWh"), ASKED, "import_column"),
    "no such column": (rows(), {**ASKED, "import_column": "KWH"}, "has no column 'KWH'"),
    "an hour in each column": (
        "Date,"
        + ",".join(f"{hour}:00" for hour in range(24))
        + "\n"
        + "".join(f"2024-01-{day:02d}" + ",0.3" * 24 + "\n" for day in range(1, 31)),
        ASKED,
        "has one column for each hour",
    ),
    "names missing": (rows().partition("\n")[2], ASKED, "should be the column names"),
    "a home with solar": (
        rows(values=[f"{kwh},1.0" for kwh in KWH], head="Start,Import kWh,Export kWh"),
        ASKED,
        "a home with solar of its own",
    ),
    # Green Button
    "XML cut short": (year_feed()[:-2000], {"format": "green_button"}, "meter.csv: "),
    "an entity bomb": (BOMB, {"format": "green_button"}, "entit"),
    "gas only": (
        feed(point(service=1), meter(), kind(), block(reading(0, 1))),
        {"format": "green_button"},
        "has no readings of electricity, only 1 readings of gas",
    ),
    "two meters in XML": (two_homes(), {"format": "green_button"}, "has two electricity meters"),
    "no feed at all": ("<html/>", {"format": "green_button"}, "meter.csv: "),
    "CSV called XML": (rows(), {"format": "green_button"}, "meter.csv: "),
    "volts": (year_feed(uom=29), {"format": "green_button"}, "counts neither Wh"),
    "negative in XML": (one_meter(reading(0, -5)), {"format": "green_button"}, "value -5 is negative"),
    "days in XML": (one_meter(reading(0, 5, 86400)), {"format": "green_button"}, "must be at most an hour"),
    "both ways in one": (year_feed(flowDirection=4), {"format": "green_button"}, "flowDirection is 4"),
    "keys of a csv": (year_feed(), {"format": "green_button", "unit": "wh"}, "unit settles what a csv leaves open"),
}


@pytest.mark.parametrize(("content", "keys", "told"), REFUSED.values(), ids=list(REFUSED))
def test_a_broken_meter_file_is_refused_in_one_line(
    tmp_path: Path, content: str | bytes, keys: dict[str, Any], told: str
) -> None:
    (tmp_path / "meter.csv").write_bytes(content.encode() if isinstance(content, str) else content)
    given = {key: value for key, value in {"file": "meter.csv", "format": "csv", **keys}.items() if value is not None}
    code, out, err = load(tmp_path, **given)
    assert (code, out) == (2, ""), err
    assert told in err
    assert len(err.splitlines()) == 1, err
    assert not LIBRARY_WORDS.search(err)
    assert len(err) < 600


TOLD: dict[str, tuple[str | bytes, dict[str, Any], str]] = {
    "a day is missing": (without(1000, 24), ASKED, "Without a reading: 2024-02-11 16:00 EST (24 h)."),
    "a day stands twice": (
        rows(UTC + UTC[24:48], KWH + KWH[24:48]),
        ASKED,
        "24 of 8808 rows repeat the time and values",
    ),
    "the newest first": (rows(UTC[::-1], KWH[::-1]), ASKED, "the newest reading comes first"),
    "shuffled": (rows(UTC[4000:] + UTC[:4000], KWH[4000:] + KWH[:4000]), ASKED, "they were sorted"),
    "empty cells": (line(50, f"{UTC[48]},"), ASKED, "1 row without a value in 'kWh' was skipped"),
    "latin-1": (rows(head="Start,Zähler kWh").encode("latin-1"), ASKED, "Read: 2024-01-01 to 2024-12-31"),
    "12-hour clock": (rows(TWELVE), ASKED, "Read: 2024-01-01 to 2024-12-31, 8,784 of 8,784 hours"),
    "kW taken for kWh": (rows(values=[25 * kwh for kwh in KWH]), ASKED, "is high for a home: check that the readings"),
    "in MWh": (rows(values=[kwh / 100 for kwh in KWH]), ASKED, "is low for a home"),
    "stood still": (rows(values=[*KWH[:4000], *[0.4] * 100, *KWH[4100:]]), ASKED, "in each of 101 hours in a row"),
    "a register": (
        rows(values=np.cumsum(KWH).round(3), head="Time,kWh"),
        {"clock": "utc", "kind": "register"},
        "Read: 2024-01-01 to 2024-12-30, 8,760 of 8,760",
    ),
    "the file's own offsets": (
        rows([f"{stamp}+00:00" for stamp in UTC]),
        {},
        "times were converted to UTC by their offsets",
    ),
    "gas beside electricity": (
        year_feed().replace("</feed>", point(2, service=1) + "</feed>"),
        {"format": "green_button"},
        "Read: 2024-01-01",
    ),
    "estimated": (
        rows(values=[f"{kwh},estimated" for kwh in KWH], head="Start,kWh,Quality"),
        ASKED,
        "are estimates of the utility",
    ),
}


@pytest.mark.parametrize(("content", "keys", "told"), TOLD.values(), ids=list(TOLD))
def test_what_was_done_with_a_doubtful_meter_file_is_told(
    tmp_path: Path, content: str | bytes, keys: dict[str, Any], told: str
) -> None:
    (tmp_path / "meter.csv").write_bytes(content.encode() if isinstance(content, str) else content)
    code, out, err = load(tmp_path, **{"file": "meter.csv", "format": "csv", **keys})
    assert code == 0, err
    assert told in " ".join(out.split()) + err


def test_the_command_as_a_process_ends_with_2_as_well(tmp_path: Path) -> None:
    (tmp_path / "meter.csv").write_text(rows())
    write_home(tmp_path / "home.toml", load={"meter": {"file": "meter.csv", "format": "csv"}})
    command = [sys.executable, "-m", "solarsim", "load", "home.toml"]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (2, "")
    assert 'clock = "wall" or "utc"' in done.stderr
