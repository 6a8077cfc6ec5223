"""What is found in a meter CSV without being told."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.load.meter.files import ALL, hours, lines, plain, read, starts, table, told, values, wall


def test_plain_file_is_taken_as_it_is(tmp_path: Path) -> None:
    readings = read(tmp_path, plain(), clock="utc")
    assert starts(readings)[:2] == ["2024-01-20 00:00", "2024-01-20 01:00"]
    assert readings.import_kwh.tolist() == pytest.approx(values(30))
    assert readings.export_kwh.tolist() == [0.0] * 30
    assert readings.duration_s.tolist() == [3600] * 30
    assert not readings.estimated.any()
    assert readings.clock == "utc"


def test_notes_are_sentences_about_the_file(tmp_path: Path) -> None:
    readings = read(tmp_path, plain(), clock="utc")
    assert [note.removeprefix(f"{tmp_path / 'meter.csv'}: ") for note in readings.notes] == [
        "columns are separated by commas",
        "times are UTC",
        "dates are read in the order ymd",
        "readings are 60 min apart, each labeled by its start",
        "import is read from 'kWh' in kWh, whose name states no direction",
    ]


@pytest.mark.parametrize("decimal", [".", ","])
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_delimiter_and_decimals_are_found(tmp_path: Path, delimiter: str, decimal: str) -> None:
    quote = '"' if delimiter == decimal else ""
    cells = [f"{quote}{value:.3f}{quote}".replace(".", decimal) for value in values(30)]
    readings = read(tmp_path, table(f"Start{delimiter}kWh", hours(), cells, delimiter=delimiter), clock="utc")
    assert readings.import_kwh.tolist() == pytest.approx(values(30))
    assert told(readings, "the decimal separator is a comma") == (decimal == ",")


@pytest.mark.parametrize(
    ("cells", "kwh"),
    [
        (["1.234,5", "12,0"], [1234.5, 12.0]),
        (["1,234.5", "12.0"], [1234.5, 12.0]),
        (["1 234,5", "12"], [1234.5, 12.0]),
        (["1'234.5", "12"], [1234.5, 12.0]),
        (["1.234.567", "12"], [1234567.0, 12.0]),
        (["1,234", "0,500"], [1.234, 0.5]),
        (["1234", "12"], [1234.0, 12.0]),
        (["8e-05", ".5"], [8e-05, 0.5]),
    ],
)
def test_numbers_as_people_and_programs_write_them(tmp_path: Path, cells: list[str], kwh: list[float]) -> None:
    readings = read(tmp_path, table("Start;kWh", hours(2), cells, delimiter=";"), clock="utc", kind="interval")
    assert readings.import_kwh.tolist() == kwh


def test_lines_around_the_table_are_left_out(tmp_path: Path) -> None:
    above = "Smart meter data;;\nName;Max Muster;\nMeter;0815;\nFrom;01.01.2024;\n;;\n"
    body = table("Von;kWh;", hours(), values(30), delimiter=";")
    readings = read(tmp_path, above + body + "Total;12,5\n\n", clock="utc")
    assert readings.import_kwh.size == 30
    assert told(readings, "4 lines above the table were skipped")
    assert told(readings, "1 line below the table was skipped, from line 37")


def test_names_that_stand_again_are_left_out(tmp_path: Path) -> None:
    first, second = (
        table("Start,kWh", hours(30), values(30)),
        table("Start,kWh", hours(30, "2024-01-21T06:00"), values(30)),
    )
    readings = read(tmp_path, first + second, clock="utc")
    assert readings.import_kwh.size == 60
    assert told(readings, "1 line that repeats the column names was skipped")


@pytest.mark.parametrize(
    ("head", "write"),
    [
        ("Start", "%Y-%m-%d %H:%M"),
        ("Start", "%Y-%m-%dT%H:%M:%S"),
        ("Start", "%Y/%m/%d %H:%M"),
        ("Start", "%d.%m.%Y %H:%M"),
        ("Start", "%m/%d/%Y %I:%M %p"),
        ("Start", "%m/%d/%y %I:%M:%S %p"),
        ("Start", "%d-%b-%Y %H:%M"),
        ("Start", "%b %d, %Y %I:%M %p"),
        ("Start", "%Y-%b-%d %H:%M"),
        ("Start", "%Y%m%d%H%M"),
        ("Start", "%Y%m%dT%H%M%S"),
        ("Start", "%Y-%m-%d %H:%M:%S.000"),
        ("Date|Start time", "%d.%m.%y|%H:%M"),
        ("Date|Start time", "%m/%d/%Y|%I:%M %p"),
        ("Date|Start time", "%m/%d/%Y 0:00|%H:%M"),
        ("Date|Start time", "%Y%m%d|%H%M"),
        ("Date|Start hour", "%Y-%m-%d|%-H"),
    ],
)
def test_times_in_any_dress(tmp_path: Path, head: str, write: str) -> None:
    stamps = hours(30, write=lambda stamp: stamp.strftime(write))
    order = "dmy" if write.startswith("%d.%m.%y") else None  # 20.01.24 may begin with its year
    readings = read(tmp_path, table(f"{head}|kWh", stamps, values(30), delimiter="|"), clock="utc", date_order=order)
    assert starts(readings) == [stamp[:16] for stamp in hours(30)]


@pytest.mark.parametrize(
    ("month", "names"), [("Mär", "Mrz März mars"), ("Dez", "Dec déc décembre"), ("Mai", "May"), ("Okt", "oct. Oct")]
)
def test_months_have_names_in_three_languages(tmp_path: Path, month: str, names: str) -> None:
    for name in (month, *names.split()):
        text = lines("Start;kWh", f"15 {name} 2024 00:00;1", f"15 {name} 2024 01:00;2")
        number = {"Mär": "03", "Dez": "12", "Mai": "05", "Okt": "10"}[month]
        assert starts(read(tmp_path, text, clock="utc", kind="interval"))[0] == f"2024-{number}-15 00:00"


def test_24_00_ends_the_day(tmp_path: Path) -> None:
    stamps = [f"{20 + hour // 24}.01.2024 {hour % 24 + 1:02d}:00" for hour in range(48)]
    readings = read(tmp_path, table("Zeit;Verbrauch kWh", stamps, values(48), delimiter=";"), clock="utc")
    assert starts(readings)[:2] == ["2024-01-20 00:00", "2024-01-20 01:00"]
    assert starts(readings)[-1] == "2024-01-21 23:00"
    assert told(readings, "labeled by its end")


def test_hours_counted_from_1_to_24_are_ends(tmp_path: Path) -> None:
    stamps = [f"2024-01-{20 + hour // 24};{hour % 24 + 1}" for hour in range(48)]
    readings = read(tmp_path, table("Date;Hour;kWh", stamps, values(48), delimiter=";"), clock="utc")
    assert starts(readings)[0] == "2024-01-20 00:00"


@pytest.mark.parametrize(
    ("head", "stamp"),
    [
        ("Start,End,Usage kWh", "{0:%Y-%m-%d %H:%M},{1:%Y-%m-%d %H:%M}"),
        ("Von,Bis,Bezug kWh", "{0:%Y-%m-%d %H:%M},{1:%Y-%m-%d %H:%M}"),
        ("DATE,START TIME,END TIME,USAGE (kWh)", "{0:%Y-%m-%d},{0:%H:%M},{1:%H:%M}"),
        ("Start date,Start time,End date,End time,kWh", "{0:%m/%d/%Y},{0:%H:%M},{1:%m/%d/%Y},{1:%H:%M}"),
        ("End date,Start date,End time,Start time,kWh", "{1:%m/%d/%Y},{0:%m/%d/%Y},{1:%H:%M},{0:%H:%M}"),
    ],
)
@pytest.mark.parametrize("short_s", [0, 60])
def test_columns_of_start_and_end(tmp_path: Path, head: str, stamp: str, short_s: int) -> None:
    """Ends such as 00:59 belong to the hour too."""
    first = pd.date_range("2024-01-20", periods=30, freq="h")
    stamps = [stamp.format(each, each + pd.Timedelta(hours=1, seconds=-short_s)) for each in first]
    for labels in (None, "end"):  # a start that stands there is the start
        readings = read(tmp_path, table(head, stamps, values(30)), clock="utc", labels=labels)
        assert starts(readings)[:2] == ["2024-01-20 00:00", "2024-01-20 01:00"]
        assert told(readings, "labeled by its start")


@pytest.mark.parametrize(
    ("head", "label"),
    [
        ("Interval start", "start"),
        ("Hour ending", "end"),
        ("usageEndTime", "end"),
        ("Zeit von", "start"),
        ("bis", "end"),
    ],
)
def test_words_tell_what_a_label_is(tmp_path: Path, head: str, label: str) -> None:
    readings = read(tmp_path, plain(head=f"{head},kWh"), clock="utc")
    assert starts(readings)[0] == {"start": "2024-01-20 00:00", "end": "2024-01-19 23:00"}[label]


@pytest.mark.parametrize("offset", ["Z", "+00:00", "+0000", " UTC", " GMT"])
def test_offset_of_zero_is_utc(tmp_path: Path, offset: str) -> None:
    readings = read(tmp_path, table("Start,kWh", [stamp + offset for stamp in hours()], values(30)))
    assert readings.clock == "utc"
    assert starts(readings)[0] == "2024-01-20 00:00"


def test_offsets_across_a_clock_change_become_utc(tmp_path: Path) -> None:
    """02:00 in New York is skipped on 10 March 2024 and 01:00 on 3 November stands twice: in UTC, nothing is."""
    stamps = pd.date_range("2024-01-01", "2025-01-01", freq="h", tz="America/New_York", inclusive="left")
    readings = read(tmp_path, table("Start,kWh", [each.isoformat() for each in stamps], values(8784)))
    assert readings.clock == "utc"
    assert starts(readings)[0] == "2024-01-01 05:00"
    assert set(np.diff(readings.start).astype(int).tolist()) == {3600}


def test_offsets_may_be_left_out_of_account(tmp_path: Path) -> None:
    """Some loggers follow daylight saving and print the same offset all year."""
    text = table("Start,kWh", [f"{stamp}-07:00" for stamp in hours()], values(30))
    readings = read(tmp_path, text, clock="wall")
    assert (readings.clock, starts(readings)[0]) == ("wall", "2024-01-20 00:00")
    assert told(readings, "their UTC offsets are ignored")


def test_words_tell_the_clock(tmp_path: Path) -> None:
    assert read(tmp_path, plain(head="start_utc,kWh")).clock == "utc"
    assert read(tmp_path, plain(head="Start (local time),kWh")).clock == "wall"


def test_two_letters_of_a_zone_are_a_wall_clock(tmp_path: Path) -> None:
    stamps = wall("America/New_York", "2024-11-03", 1)
    zones = ["EDT"] * 2 + ["EST"] * 23
    text = table("Start,kWh", [f"{stamp} {zone}" for stamp, zone in zip(stamps, zones, strict=True)], values(25))
    assert read(tmp_path, text).clock == "wall"


@pytest.mark.parametrize("step", [15, 30, 60])
@pytest.mark.parametrize("unit", ["kWh", "Wh", "kW", "W", "kilowatt-hours", "KWH", "Watt"])
@pytest.mark.by_hand
def test_units_become_kwh(tmp_path: Path, unit: str, step: int) -> None:
    """2 kW over a quarter of an hour are 0.5 kWh; 2 Wh are 0.002 kWh whatever the interval."""
    kwh = {"kWh": 2.0, "kilowatt-hours": 2.0, "KWH": 2.0, "Wh": 0.002, "kW": 2.0 * step / 60}.get(
        unit, 0.002 * step / 60
    )
    readings = read(tmp_path, table(f"Start,Usage ({unit})", hours(30, step=step), [2] * 30), clock="utc")
    assert readings.import_kwh.tolist() == pytest.approx([kwh] * 30)
    assert set(readings.duration_s.tolist()) == {step * 60}


def test_unit_in_a_row_or_a_column_of_its_own(tmp_path: Path) -> None:
    row = lines("Start;Import;Export", "[yyyy-mm-dd hh:mm];[Wh];[kWh]", *(f"{each};2;2" for each in hours()))
    readings = read(tmp_path, row, clock="utc")
    assert (readings.import_kwh[0], readings.export_kwh[0]) == (0.002, 2.0)
    column = table("Start,Usage,Units", hours(), [2] * 30, ["Wh"] * 30)
    assert read(tmp_path, column, clock="utc").import_kwh[0] == 0.002


@pytest.mark.parametrize(
    ("imported", "exported"),
    [
        ("Import kWh", "Export kWh"),
        ("Energy delivered (kWh)", "Energy received (kWh)"),
        ("Consumption kWh", "Generation kWh"),
        ("From grid [kWh]", "To grid [kWh]"),
        ("Usage kWh", "Feed-in kWh"),
        ("kWh", "Surplus kWh"),
        ("Netzbezug_kWh", "Einspeisung_kWh"),
        ("Verbrauch (kWh)", "Rücklieferung (kWh)"),
        ("Soutirage kWh", "Injection kWh"),
        ("Energy received from grid kWh", "Energy delivered to grid kWh"),
    ],
)
def test_import_and_export_by_their_words(tmp_path: Path, imported: str, exported: str) -> None:
    text = table(f"Start,Cost USD,{exported},{imported},Temp", hours(), [9] * 30, [2] * 30, values(30), [20] * 30)
    readings = read(tmp_path, text, clock="utc")
    assert readings.import_kwh.tolist() == pytest.approx(values(30))
    assert readings.export_kwh.tolist() == [2.0] * 30


def test_what_panels_produce_is_neither_import_nor_export(tmp_path: Path) -> None:
    text = table("Start,Usage kWh,Solar production kWh", hours(), values(30), [2] * 30)
    readings = read(tmp_path, text, clock="utc")
    assert readings.export_kwh.sum() == 0
    assert told(readings, "columns not read: 'Solar production kWh'")


def test_energy_is_taken_before_power_and_money(tmp_path: Path) -> None:
    text = table("Start,Usage kW,Usage kWh,Usage cost $", hours(step=30), [9] * 30, values(30), [5] * 30)
    assert read(tmp_path, text, clock="utc").import_kwh.tolist() == pytest.approx(values(30))


def test_a_column_named_meter_may_hold_its_readings(tmp_path: Path) -> None:
    cells = [f"{value:.2f}" for value in values(30)]
    readings = read(tmp_path, table("Start,Meter", hours(), cells), clock="utc", unit="kwh", import_column="Meter")
    assert readings.import_kwh.tolist() == pytest.approx(values(30))


def test_settled_columns_win(tmp_path: Path) -> None:
    text = table("Start,Day kWh,Night kWh,Sold kWh", hours(), values(30), [7] * 30, [3] * 30)
    readings = read(tmp_path, text, clock="utc", import_column="Night kWh", export_column="Sold kWh")
    assert (readings.import_kwh[0], readings.export_kwh[0]) == (7.0, 3.0)


def test_settled_time_columns(tmp_path: Path) -> None:
    stamps = [f"{stamp},{stamp[:10]},{stamp[11:16]}" for stamp in hours()]
    text = table("Read at,Day,Clock,kWh", ["2024-06-01 00:00," + each[20:] for each in stamps], values(30))
    readings = read(tmp_path, text, **ALL, time_columns=("Day", "Clock"))
    assert starts(readings)[1] == "2024-01-20 01:00"
    ends = table("A,B,kWh", [f"{a},{b}" for a, b in zip(hours(30), hours(31)[1:], strict=True)], values(30))
    assert starts(read(tmp_path, ends, clock="utc", time_columns=("A", "B")))[0] == "2024-01-20 00:00"


def test_rows_without_a_value_are_counted_and_left_out(tmp_path: Path) -> None:
    cells: list[object] = [*values(30)]
    cells[3], cells[4], cells[9] = "", "NaN", "n/a"
    readings = read(tmp_path, table("Start,kWh", hours(), cells), clock="utc")
    assert readings.import_kwh.size == 27
    assert told(readings, "3 rows without a value in 'kWh' were skipped")


def test_estimated_values_are_marked(tmp_path: Path) -> None:
    text = table("Start,kWh,Quality", hours(), values(30), ["A", "E", "Estimated"] * 10)
    readings = read(tmp_path, text, clock="utc")
    assert readings.estimated.tolist() == [False, True, True] * 10
    assert told(readings, "the utility estimated 20 of 30 values")
    assert read(tmp_path, text.replace("Quality", "Note"), clock="utc").estimated.sum() == 0
    yes = table("Start,kWh,Estimated", hours(), values(30), ["no", "Yes", "no"] * 10)
    assert read(tmp_path, yes, clock="utc").estimated.sum() == 10


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
def test_encodings(tmp_path: Path, encoding: str) -> None:
    readings = read(
        tmp_path,
        plain(head="Start,Rücklieferung von Müller kWh,Bezug kWh").replace(",0.", ",0,0."),
        encoding,
        clock="utc",
    )
    assert readings.import_kwh[1] == pytest.approx(0.15)
    assert told(readings, "read as") == (encoding in ("utf-16", "latin-1"))


def test_line_ends_of_any_system(tmp_path: Path) -> None:
    for end in ("\r\n", "\r"):
        assert read(tmp_path, plain().replace("\n", end), clock="utc").import_kwh.size == 30
