"""Meter CSVs that are refused: one line that names the place, the value, and what settles it."""

import re
from pathlib import Path
from typing import Any

import pytest

from solarsim.errors import LoadError
from solarsim.load.meter import read_meter_csv
from solarsim.scenario.load.meter import MeterCsv
from tests.load.meter.files import ALL, H, V, dotted, hours, lines, plain, read, table, values, wall, written


def with_line(number: int, line: str, text: str | None = None) -> str:
    """Write a good file whose line of that number is another."""
    rows = (text or plain()).splitlines()
    rows[number - 1] = line
    return lines(*rows)


BAD_FILES: dict[str, tuple[str, str, dict[str, Any]]] = {
    "empty": ("  \n", "is empty", {}),
    "no table": ("Dear customer,\nyour data will follow.\n", "no line has a date and a number separated by commas", {}),
    "other delimiter": (plain(), "no line has a date and a number separated by semicolons", {"delimiter": ";"}),
    "no names": (table("", H, V)[1:], "line 1 should be the column names, but is '2024-01-20 00:00:00, 0.1'", {}),
    "a title alone": ("My meter\n" + table("", H, V)[1:], "line 1 should be the column names, but is 'My meter'", {}),
    "a day in each row": (
        table(",".join(["Date", *(f"{hour}:00" for hour in range(24))]), ["2024-01-20"], *[[0.5]] * 24),
        "line 1 has one column for each hour; rearrange the file to one row for each reading",
        {},
    ),
    "markup": ("<feed>\n</feed>\n", "is XML or HTML, not CSV", {}),
    "zero bytes": (plain().replace("0.1", "\0", 1), "is not text (zero byte at 30)", {}),
    "open quote": (with_line(9, '2024-01-20 07:00:00,"0.1'), "cannot be read as CSV: unexpected end of data", {}),
    "endless cell": (with_line(9, "x" * 140_000), "line 9: cannot be read as CSV: field larger than field limit", {}),
    "missing cell": (with_line(9, "2024-01-20 07:00:00"), "line 9 has 1 of 2 columns", {}),
    "cut short": (plain().rpartition(",")[0], "line 31 has 1 of 2 columns", {}),
    "decimal commas between commas": (
        table("Start,kWh", H, [f"{value:.2f}".replace(".", ",") for value in V]),
        "line 2 has 3 values for 2 columns (decimal commas in a file separated by commas?)",
        {},
    ),
    "more names than readings": (
        plain(head="Start,kWh,Note"),
        "line 1 has 3 column names, but the readings have 2 columns",
        {},
    ),
    "text for a number": (with_line(9, "2024-01-20 07:00:00,much"), "line 9: 'kWh' is 'much', must be a number", {}),
    "a unit in the cell": (with_line(9, "2024-01-20 07:00:00,0.1 kWh"), "line 9: 'kWh' is '0.1 kWh'", {}),
    "a comma among points": (
        with_line(9, '2024-01-20 07:00:00,"0,15"'),
        "line 9: 'kWh' is '0,15', must be a number with '.' as the decimal separator",
        {},
    ),
    "infinite": (with_line(9, "2024-01-20 07:00:00,1e999"), "line 9: 'kWh' is '1e999', must be a finite number", {}),
    "no values": (table("Start,kWh,x", H, [""] * 30, V), "no row has a value", {"import_column": "kWh"}),
    "negative": (with_line(9, "2024-01-20 07:00:00,-0.1"), "line 9: 'kWh' is -0.1, must not be negative", {}),
    "signed in one column": (
        table("Start,Net kWh", H, [-1, 2, 1] * 10),
        "line 2: 'Net kWh' is -1, must not be negative (10 of 30 rows); if import and export share this"
        " column by their signs, give each its own column",
        {},
    ),
    "negative export": (table("Start,Import kWh,Export kWh", H, V, [-1] * 30), "line 2: 'Export kWh' is -1", {}),
    "two meters": (
        table("Meter number,Start,kWh", ["4711", "4712"] * 15, H, V),
        "has 2 meters in column 'Meter number': '4711', '4712'; keep the rows of one",
        {},
    ),
    "two ways in turn": (
        table("Start,kWh,Flow", H, V, ["Consumption", "Surplus Generation"] * 15),
        "column 'Flow' marks rows as import or export: 'Consumption', 'Surplus Generation'; give each its own column",
        {},
    ),
    "changing unit": (
        table("Start,Usage,Unit", H, V, ["kWh", "Wh"] * 15),
        "column 'Unit' has several units: 'Wh', 'kWh'",
        {},
    ),
    "no such day": (
        with_line(9, "2024-02-30 07:00:00,0.1"),
        "line 9: the date is '2024-02-30', which does not exist",
        {},
    ),
    "no such month": (
        table("Start,kWh", dotted("13/01/2024", "32/01/2024"), values(48)),
        "line 26: the date is '32/01/2024', which does not exist (read as dmy)",
        {},
    ),
    "no such month's name": (
        table("Start,kWh", dotted("1 Foo 2024"), values(24)),
        "line 2: the date is '1 Foo 2024'",
        {},
    ),
    "order against the dates": (
        plain(),
        "line 2: the date is '2024-01-20', but date_order is 'dmy'",
        {"date_order": "dmy"},
    ),
    "dates in two ways": (
        with_line(9, "20.01.2024 07:00:00,0.1"),
        "line 9: the date is '20.01.2024', written in another way than '2024-01-20'",
        {},
    ),
    "text for a time": (with_line(9, "later,0.1"), "line 9: the date is 'later', must be a date such as", {}),
    "no time of day": (with_line(9, "2024-01-20,0.1"), "line 9: the time of day is '', must be a time such as", {}),
    "25 o'clock": (with_line(9, "2024-01-20 25:00,0.1"), "line 9: the time of day is '25:00'", {}),
    "past 24:00": (with_line(9, "2024-01-20 24:15,0.1"), "line 9: the time of day is '24:15'", {}),
    "13 in the afternoon": (
        table("Start,kWh", [f"2024-01-20 {hour}:00 PM" for hour in (1, 2, 13)], [1, 2, 1]),
        "line 4: the time of day is '13:00 PM'",
        {},
    ),
    "half with AM": (
        table("Start,kWh", [f"2024-01-20 {hour}" for hour in ("1:00 AM", "2:00 AM", "3:00")], [1, 2, 1]),
        "line 4: the time of day is '3:00', but only some times have AM or PM",
        {},
    ),
    "half with an offset": (
        with_line(9, "2024-01-20 07:00:00Z,0.1"),
        "line 9: the time of day is '07:00:00Z', but only some times have a UTC offset",
        {},
    ),
    "one reading": (table("Start,kWh", H[:1], V[:1]), "line 2 has the only time", {}),
    "every day at noon": (
        table("Start,kWh", hours(30, step=1440), V),
        "line 3 is 24 h after the reading before, as most are; the interval must be an hour or a whole part of it",
        {},
    ),
    "every 25 minutes": (table("Start,kWh", hours(30, step=25), V), "line 3 is 25 min after", {}),
    "a step between": (
        with_line(9, "2024-01-20 07:07:00,0.1"),
        "line 9 is 67 min after the reading before, most are 60 min",
        {},
    ),
    "hours, then quarters": (
        table("Start,kWh", hours(24) + hours(48, "2024-01-21T00:00", 15), values(72)),
        "line 3 is 60 min after the reading before, most are 15 min; ask the utility for a file with one interval",
        {},
    ),
    "quarters, then hours": (
        table("Start,kWh", hours(24, step=15) + hours(48, "2024-01-20T06:00"), values(72)),
        "line 3 is 15 min after the reading before, most are 60 min",
        {},
    ),
    "two values for one time": (
        with_line(9, "2024-01-20 06:00:00,0.7"),
        "lines 8 and 9 have different values for 2024-01-20 06:00",
        {},
    ),
    "different days": (
        table("Start,kWh", H + H[:24], [*V, *[9] * 24]),
        "lines 2 and 32 have different values for 2024-01-20 00:00",
        {},
    ),
    "a doubled hour in UTC": (
        table("Start,kWh", wall("Europe/Berlin", "2024-10-27", 1), values(25)),
        'lines 4 and 5 have different values for 2024-10-27 02:00; set clock = "wall"',
        {"clock": "utc"},
    ),
    "two hours doubled": (
        table("Start,kWh", [*H[:4], *H[2:30]], values(32)),
        "lines 4 and 6 have different values for 2024-01-20 02:00",
        {"clock": "wall"},
    ),
    "ends that do not fit": (
        table("Start,End,kWh", H, [each.replace(":00:00", ":30:00") for each in H], V),
        "line 2: the interval is from 2024-01-20 00:00 to 2024-01-20 00:30, but readings are 60 min apart;"
        " set time_columns",
        {},
    ),
    "falling register": (
        with_line(9, "2024-01-20 07:00:00,5", table("Time,kWh", H, range(100, 130))),
        "line 9: the register 'kWh' falls from 106 to 5, but a register only rises",
        {"kind": "register"},
    ),
    "register of power": (
        table("Time,kW", H, range(100, 130)),
        '\'kW\' is in kW, but a register counts energy; set unit = "kwh" or "wh"',
        {"kind": "register"},
    ),
    "register between two times": (
        table("Start,End,kWh", H, hours(31)[1:], range(100, 130)),
        "has start and end, and it is unclear at which the register was read",
        {"kind": "register"},
    ),
    "no such column": (
        plain(),
        "has no column 'KWH', which import_column names; did you mean 'kWh'?",
        {"import_column": "KWH"},
    ),
    "no such time": (plain(), "has no column 'Zeit', which time_columns names", {"time_columns": ("Zeit",)}),
    "the same name twice": (table("Start,kWh,kWh", H, V, V), "has 2 columns 'kWh'", {"import_column": "kWh"}),
    "import as export": (
        plain(),
        "column 'kWh' cannot be both import and export",
        {"import_column": "kWh", "export_column": "kWh"},
    ),
    "times before dates": (
        table("Date,Start,kWh", [each.replace(" ", ",") for each in H], V),
        "time_columns: 'Start' has no dates; name the date first, or the start",
        {"time_columns": ("Start", "Date")},
    ),
}


@pytest.mark.parametrize("name", BAD_FILES)
def test_bad_files_are_refused_in_one_line(tmp_path: Path, name: str) -> None:
    text, message, settled = BAD_FILES[name]
    with pytest.raises(LoadError, match=re.escape(message)) as caught:
        read(tmp_path, text, **({"clock": "utc"} | settled))
    assert str(caught.value).startswith(f"{tmp_path / 'meter.csv'}: ")
    assert len(str(caught.value).splitlines()) == 1


def test_missing_files_and_workbooks_are_refused(tmp_path: Path) -> None:
    with pytest.raises(LoadError, match="cannot be read: No such file"):
        read_meter_csv(tmp_path / "none.csv", MeterCsv())
    path = written(tmp_path, "")
    path.write_bytes(b"PK\x03\x04 and more")
    with pytest.raises(LoadError, match="is a workbook or zip archive, not CSV; save the sheet as CSV"):
        read_meter_csv(path, MeterCsv(**ALL))


def test_no_column_of_dates(tmp_path: Path) -> None:
    """A stray date in a column of text makes a table, but no column of dates."""
    text = lines(
        "Note,kWh,Start",
        *(f"x,{value},{each if row < 9 else 'x'}" for row, (value, each) in enumerate(zip(V, H, strict=True))),
    )
    with pytest.raises(LoadError, match=r"has no column of dates; set time_columns"):
        read(tmp_path, text)


def test_a_day_in_each_row_is_told_where_no_line_names_the_columns(tmp_path: Path) -> None:
    """As the Australian market's interchange format has it: a date and 48 half hours behind a record number."""
    days = [f"300,2024{month:02d}{day:02d}," + "0.25," * 48 + "A,,," for month in (1, 2) for day in range(1, 29)]
    with pytest.raises(LoadError, match=r"each row is a whole day: write one row for each reading$"):
        read(tmp_path, lines("100,NEM12,202403010000,MDP1,RETL", "200,6001234567,E1,1,E1,,110,KWH,30,", *days))
