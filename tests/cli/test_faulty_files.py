"""Faulty files through the real command: each made from a good one, refused with a reason or told in a note.

A refusal is exit code 2, one line for each problem and nothing written; what can be used runs, and says what is wrong.
"""

import gzip
import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.builders import PLAIN
from tests.cli.command import Done, run
from tests.cli.test_bad_meters import ASKED, KWH, UTC, rows
from tests.cli.test_bad_scenarios import LIBRARY_WORDS, TM2, TMY3, changed, column, write_home
from tests.load.meter.feeds import one_meter, reading
from tests.logs import LOG, model, write_days, write_hours
from tests.weather.skies import (
    COLUMNS,
    FEBRUARY,
    GOOD,
    JUNE,
    MARCH,
    OCTOBER,
    PLACE,
    SEPTEMBER,
    SKY,
    SUN,
    Floats,
    Sky,
    as_csv,
    at,
    epw,
    exchanged,
    good_csv,
    leap_psm,
    made,
    psm,
    pvgis,
    pvgis_json,
    scaled,
)


def assert_refused(done: Done, folder: Path, file: str, *says: str) -> None:
    """Hold a command that was run in a folder to how all bad files end: no result, and a reason that names the file."""
    lines = done.stderr.splitlines()
    assert (done.returncode, done.stdout) == (2, ""), done.stderr
    assert all(line.startswith("solarsim: ") and f"{file}: " in line for line in lines), done.stderr
    assert [piece for piece in says if piece not in done.stderr] == [], done.stderr
    assert max(map(len, lines)) < 600
    assert not LIBRARY_WORDS.search(done.stderr)
    assert {each.name for each in folder.iterdir()} == {file, "home.toml"}, "something was written"


def cases(table: dict[str, Any], *slow: str) -> list[Any]:
    """Return a table's cases by name; those that are much like another only run with the slow ones."""
    assert set(slow) <= set(table)
    return [pytest.param(case, id=name, marks=[pytest.mark.slow] * (name in slow)) for name, case in table.items()]


@pytest.fixture(scope="module")
def good(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Write a good year once: four times as fast to read as the packaged one."""
    path = tmp_path_factory.mktemp("good") / "good.csv"
    path.write_text(good_csv())
    return {**GOOD, "file": str(path)}


TOO_MUCH = "more or less sun than is likely at a latitude of"
#: The year; keys of its place; what is said; whether it can be used.
NUMBERS: dict[str, tuple[Callable[[], Sky], dict[str, float], list[str], bool]] = {
    "sun of one night": (
        lambda: at(MARCH, MARCH + 2, *SUN, value=300.0),
        {},
        ["has sun at night, up to 300 W/m2 in 2 hours", "from 1 March 00:00 to 1 March 02:00"],
        True,
    ),
    "clock half a day off": (
        lambda: made(lambda _, values: np.roll(values, 12)),
        {},
        ["has sun at night", "check its clock (UTC-5 h), its longitude (-79.95)"],
        False,
    ),
    "clock six hours off": (lambda: made(lambda _, values: np.roll(values, 6)), {}, ["has sun at night"], False),
    "clock an hour off": (
        lambda: made(lambda _, values: np.roll(values, 1)), {}, ["the sun is -60 min off the file's clock"], True,
    ),
    "two dark days": (
        lambda: at(MARCH, MARCH + 48 + 24, *SUN),
        {},
        ["ghi_w_m2 has no sun in", "hours of daylight, from 1 March 07:00 to 3 March 18:00"],
        True,
    ),
    "three dead months": (
        lambda: at(OCTOBER, 8760, *COLUMNS),
        {},
        ["ghi_w_m2 has no sun in", "from 1 October 07:00 to 31 December 17:00", "temp_air_c does not change"],
        False,
    ),
    "a dark year": (lambda: at(0, 8760, *SUN), {}, ["ghi_w_m2 has no sun in", "from 1 January 08:00"], False),
    "irradiance stuck for 8 hours": (
        lambda: at(MARCH + 8, MARCH + 16, "ghi_w_m2", "dhi_w_m2", value=180.0),
        {},
        ["ghi_w_m2 does not change in 8 hours (180 W/m2), from 1 March 08:00 to 1 March 16:00"],
        True,
    ),
    "irradiance stuck day and night": (
        lambda: at(MARCH, MARCH + 480, *SUN, value=250.0),
        {},
        ["dni_w_m2 does not change in 480 hours (250 W/m2), from 1 March 00:00 to 20 March 24:00"],
        False,
    ),
    "temperature stuck for three days": (
        lambda: at(MARCH, MARCH + 72, "temp_air_c", value=7.0),
        {},
        ["temp_air_c does not change for up to 72 hours (7 C), from 1 March 00:00 to 3 March 24:00"],
        True,
    ),
    "20 C all year": (
        lambda: at(0, 8760, "temp_air_c", value=20.0),
        {},
        ["temp_air_c does not change for up to 8,760 hours (20 C)"],
        False,
    ),
    "wind stuck for 14 days": (
        lambda: at(MARCH, MARCH + 336, "wind_speed_m_s", value=3.0),
        {},
        ["wind_speed_m_s does not change for 14 days and more (3 m/s), from 1 March 00:00 to 14 March 24:00"],
        True,
    ),
    "no wind": (lambda: at(0, 8760, "wind_speed_m_s"), {}, ["(0 m/s), from 1 January 00:00 to 31 Dec"], True),
    "global and direct exchanged": (
        lambda: exchanged("ghi_w_m2", "dni_w_m2"), {}, ["ghi_w_m2 and dni_w_m2 seem to be exchanged"], False,
    ),
    "global and diffuse exchanged": (
        lambda: exchanged("ghi_w_m2", "dhi_w_m2"), {}, ["dhi_w_m2 is 1013", "is it exchanged with ghi_w_m2"], False,
    ),
    "direct and diffuse exchanged": (
        lambda: exchanged("dni_w_m2", "dhi_w_m2"), {}, ["dni_w_m2 and dhi_w_m2 seem to be exchanged"], False,
    ),
    "no direct sun in summer": (
        lambda: at(JUNE, SEPTEMBER, "dni_w_m2"),
        {},
        ["ghi_w_m2 is not dhi_w_m2 + dni_w_m2 x cos(zenith)", "from 1 June 00:00 to 31 August 24:00"],
        True,
    ),
    "no direct sun": (lambda: at(0, 8760, "dni_w_m2"), {}, ["a column of irradiance is wrong"], False),
    "an instrument's offset at night": (
        lambda: made(lambda name, values: np.where(values <= 0, -3.2, values) if name == "ghi_w_m2" else values),
        {},
        ["ghi_w_m2 is below 0 in ", "down to -3.2 W/m2, as instruments read at night; counted as 0"],
        True,
    ),
    "negative irradiance": (
        lambda: at(MARCH, MARCH + 1, "ghi_w_m2", value=-50.0), {}, ["ghi_w_m2 is -50 in hour 1417"], False,
    ),
    "kilowatts": (lambda: scaled(1e-3), {}, ["ghi_w_m2 has no sun in"], False),
    "kilojoules": (lambda: scaled(3.6), {}, ["ghi_w_m2 is ", "must be from 0 to 1500"], False),
    "a third": (lambda: scaled(0.28), {}, [TOO_MUCH, "check the unit (mean W/m2 of each hour)"], True),
    "a February too bright": (
        lambda: made(lambda name, v: np.where(FEBRUARY, 1.7 * v, v) if name in ("ghi_w_m2", "dhi_w_m2") else v),
        {},
        ["1 month has " + TOO_MUCH, "from 1 February 00:00 to 28 February 24:00"],
        True,
    ),
    "the other hemisphere": (lambda: SKY, {"latitude_deg": -50.0}, [TOO_MUCH, "the sign of the latitude"], False),
    "months in another order": (
        lambda: made(lambda _, values: np.roll(values, 4380)), {"latitude_deg": 50.0}, [TOO_MUCH], False,
    ),
    "longitude without its sign": (lambda: SKY, {"longitude_deg": 79.95}, ["has sun at night"], False),
    "Fahrenheit": (
        lambda: {**SKY, "temp_air_c": SKY["temp_air_c"] * 1.8 + 32}, {}, ["temp_air_c is ", "from -90 to 65"], False,
    ),
}  # fmt: skip


@pytest.mark.parametrize(
    "case",
    cases(
        NUMBERS,
        "clock six hours off",
        "a dark year",
        "no wind",
        "direct and diffuse exchanged",
        "kilojoules",
        "a third",
        "months in another order",
        "Fahrenheit",
        "negative irradiance",
        "no direct sun",
        "wind stuck for 14 days",
    ),
)
def test_a_year_that_no_sky_makes(tmp_path: Path, case: Any) -> None:
    make, place, says, usable = case
    (tmp_path / "sky.csv").write_text(as_csv(make()))
    weather = {**GOOD, "file": "sky.csv", "place": {**PLACE, **place}}
    write_home(tmp_path / "home.toml", weather=weather)
    done = run("weather", "home.toml", folder=tmp_path)
    if not usable:
        assert_refused(done, tmp_path, "sky.csv", *says)
        return
    assert done.returncode == 0, done.stderr
    assert [piece for piece in says if piece not in done.stderr] == [], done.stderr
    assert "No gaps and no repairs." not in done.stdout


@pytest.mark.parametrize("command", ["roof", "load", pytest.param("flows", marks=pytest.mark.slow)])
def test_every_command_that_uses_a_doubtful_year_says_so(tmp_path: Path, command: str) -> None:
    (tmp_path / "sky.csv").write_text(as_csv(at(MARCH, MARCH + 72, "temp_air_c", value=7.0)))
    write_home(tmp_path / "home.toml", weather={**GOOD, "file": "sky.csv"})
    done = run(command, "home.toml", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    told = "sky.csv: temp_air_c does not change for up to 72 hours (7 C), from 1 March 00:00 to 3 March 24:00"
    assert (told in done.stderr) == (command != "load"), done.stderr  # this load follows no temperature


def swapped(text: str, old: str, new: str) -> str:
    assert old in text
    return text.replace(old, new, 1)


CLOCK = '; write format = "{}"'
#: Format that the scenario states; the file; what is said; whether it can be used.
TEXTS: dict[str, tuple[str, Callable[[], str | bytes], list[str], bool]] = {
    "epw": ("epw", lambda: epw("36.1", "-79.95", "-5.0", "273"), [], True),
    "psm": ("psm", psm, [], True),
    "psm with 29 February": ("psm", leap_psm, ["29 February was dropped"], True),
    "pvgis": ("pvgis", pvgis, ["its clock is UTC+0 h"], True),
    "pvgis as JSON": ("pvgis", pvgis_json, ["its clock is UTC+0 h"], True),
    "epw with a field behind the elevation": (
        "epw", lambda: epw("36.1", "-79.95", "-5.0", "273", "Eastern"), ["line 1 has 11 fields; it was read as"], True,
    ),
    "epw with decimal commas": (
        "epw", lambda: epw("36,1", "-79,95", "-5", "273"), ["read as latitude 36.1, longitude -79.95, UTC-5 h"], True,
    ),
    "epw that the sun settles": (
        "epw",
        lambda: epw("36.1", "-79.95", "-5", "25", "273"),
        ["UTC-5 h, 25.273 m, the only one of 2 readings that fits the sun"],
        True,
    ),
    "epw that nothing settles": (
        "epw",
        lambda: epw("36.1", "-79.95", "-5", "0", "273"),
        ["can be read as", "UTC-5 h, 273 m; or", "UTC-5 h, 0.273 m", "write the right one as weather.place"],
        False,
    ),
    "epw of three numbers": ("epw", lambda: epw("36.1", "-79.95", "-5"), ["has 9 fields, must have 10"], False),
    "epw with separators in a cell": (
        "epw",
        lambda: swapped(epw("36.1", "-79.95", "-5", "273"), ",101325,0,0,300,0,", ",101325,0,0,300,1_000,"),
        ["line 9: ghi_w_m2 is '1_000', must be a number"],
        False,
    ),
    "epw called tmy3": (
        "tmy3", lambda: epw("36.1", "-79.95", "-5", "273"), ["is of format epw, not tmy3", CLOCK.format("epw")], False,
    ),
    "tmy3 called epw": ("epw", lambda: "\n".join(TMY3), ["is of format tmy3, not epw", CLOCK.format("tmy3")], False),
    "tm2 called csv": ("csv", lambda: "\n".join(TM2), ["is of format tm2, not csv", CLOCK.format("tm2")], False),
    "psm called csv": ("csv", psm, ["is of format psm, not csv", CLOCK.format("psm")], False),
    "pvgis called psm": ("psm", pvgis, ["is of format pvgis, not psm", CLOCK.format("pvgis")], False),
    "JSON called csv": ("csv", pvgis_json, ["is of format pvgis, not csv"], False),
    "csv called tm2": ("tm2", good_csv, ["is of format csv, not tm2", CLOCK.format("csv")], False),
    "minutes of a radiation network": (
        "csv", lambda: " Alamosa\n   37.70  105.92 2317 m version 1\n", ["is a SURFRAD file"], False,
    ),
    "psm of other minutes": ("psm", lambda: psm(10), ["has rows at minutes 10 of the hour, must be"], False),
    "psm without a zone": ("psm", lambda: psm(zone="here"), ["line 2: Time Zone is 'here', must be a number"], False),
    "psm of another zone": ("psm", lambda: psm(zone="5"), ["has sun at night", "check its clock (UTC+5 h)"], False),
    "psm without a column": ("psm", lambda: swapped(psm(), ",DNI", ",DNl"), ["has no column 'DNI'", "'DNl'?"], False),
    "psm out of order": (
        "psm", lambda: swapped(psm(), "2001,1,1,1,30", "2001,1,1,3,30"), ["row 2 is out of order"], False,
    ),
    "psm cut short": ("psm", lambda: psm()[:100_000], ["line "], False),
    "pvgis of other times": (
        "pvgis", lambda: swapped(pvgis(), "20010101:0100", "2001-01-01 01:00"), ["row 2: time(UTC) is '2001"], False,
    ),
    "pvgis taken two hours later": ("pvgis", lambda: pvgis(2.0), ["Irradiance Time Offset (h) is 2, must be"], False),
    "pvgis without its place": ("pvgis", lambda: swapped(pvgis(), "Elevation", "Height"), ["Elevation (m) is"], False),
    "JSON cut short": ("pvgis", lambda: pvgis_json()[:-9], ["cannot be read as JSON"], False),
    "JSON with text": ("pvgis", lambda: pvgis_json(T2m="cold"), ["row 1: T2m is 'cold', must be a number"], False),
    "JSON with true": ("pvgis", lambda: pvgis_json(T2m=True), ["row 1: T2m is True, must be a number"], False),
    "thousands by underscore": (
        "csv", lambda: swapped(good_csv(), "\n0,0,0", "\n1_000,0,0"), ["line 2: ghi_w_m2 is '1_000', must be"], False,
    ),
    "digits of another script": (
        "csv", lambda: swapped(good_csv(), "\n0,0,0", "\n\u0663,0,0"), ["line 2: ghi_w_m2 is '\u0663'"], False,
    ),
    "wide digits": (
        "csv", lambda: swapped(good_csv(), "\n0,0,0", "\n\uff13,0,0"), ["line 2: ghi_w_m2 is '\uff13'"], False,
    ),
    "tmy3 with an underscore": (
        "tmy3", lambda: changed(TMY3, 14, 5, "4_00"), ["line 14: GHI (W/m^2) is '4_00', must be a number"], False,
    ),
    "tm2 with an underscore": (
        "tm2", lambda: "\n".join([*TM2[:12], f"{TM2[12][:17]}01_0{TM2[12][21:]}", *TM2[13:]]),
        ["line 13: ghi_w_m2 is '01_0', must be a whole number"], False,
    ),
    "a zip archive": ("epw", lambda: b"PK\x03\x04" + bytes(99), ["is a zip archive or workbook; unpack it"], False),
    "compressed": ("epw", lambda: gzip.compress(b"LOCATION,"), ["is compressed; unpack it"], False),
    "a web page": ("csv", lambda: "<!doctype html>\n", ["is a web page or XML; was the download refused?"], False),
    "UTF-16": ("csv", lambda: good_csv().encode("utf-16"), ["is UTF-16 text; save it as UTF-8"], False),
    "zero bytes": ("csv", lambda: b"ghi_w_m2" + bytes(99), ["is not text (zero byte at 8)"], False),
}  # fmt: skip


@pytest.mark.parametrize(
    "case",
    cases(
        TEXTS,
        "wide digits",
        "JSON with true",
        "pvgis called psm",
        "JSON called csv",
        "psm out of order",
        "psm cut short",
        "epw with decimal commas",
        "psm",
        "pvgis without its place",
        "psm of another zone",
    ),
)
def test_weather_files_as_they_are_in_the_wild(tmp_path: Path, case: Any) -> None:
    kind, make, says, usable = case
    content = make()
    (tmp_path / "sky").write_bytes(content if isinstance(content, bytes) else content.encode())
    place = {"place": PLACE} if kind == "csv" else {}
    write_home(tmp_path / "home.toml", weather={"file": "sky", "format": kind, **place})
    done = run("weather", "home.toml", "--json", folder=tmp_path)
    if not usable:
        assert_refused(done, tmp_path, "sky", *says)
        return
    assert done.returncode == 0, done.stderr
    (year,) = json.loads(done.stdout)["years"]
    assert year["annual"]["ghi_kwh_m2"] == pytest.approx(1566.2, abs=0.1)  # of the real year that it was made from
    assert year["label_offset_min"] == 0
    assert len(year["notes"]) == len(says)
    assert [piece for piece in says if piece not in year["notes"][0]] == []


# What is no file, or too long.
def device(path: Path) -> None:
    path.symlink_to("/dev/zero")


def too_long(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(1_100_000_000)  # sparse: it takes no room


KINDS: dict[str, tuple[Callable[[Path], Any], str]] = {
    "a directory": (Path.mkdir, "is a directory, must be a file"),
    "a pipe": (os.mkfifo, "is a pipe or a device, must be a file"),
    "an endless device": (device, "is a pipe or a device, must be a file"),
    "1.1 GB": (too_long, "is longer than 100 MB, the most that is read"),
}
PLACES: dict[str, tuple[str, dict[str, Any]]] = {
    "weather": ("weather", {"weather": {**GOOD, "file": "it"}}),
    "load file": ("load", {"load": {"file": "it"}}),
    "meter": ("load", {"load": {"meter": {"file": "it", "format": "csv"}}}),
    "log": ("calibrate", {"production_log": {**LOG, "file": "it"}}),
}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    "place", ["weather", "meter", *(pytest.param(name, marks=pytest.mark.slow) for name in ("load file", "log"))]
)
def test_what_is_no_file_or_has_no_end_is_refused(tmp_path: Path, good: dict[str, Any], kind: str, place: str) -> None:
    make, says = KINDS[kind]
    command, keys = PLACES[place]
    make(tmp_path / "it")
    write_home(tmp_path / "home.toml", **{"weather": good, **keys})
    assert_refused(run(command, "home.toml", folder=tmp_path), tmp_path, "it", says)


# Meters.
FEEDS: dict[str, tuple[str, str, str]] = {
    "a value twice": (
        "<value>200</value>",
        "<value>200</value><value>900</value>",
        "IntervalReading/value appears twice",
    ),
    "a start twice": ("<start>", "<start>0</start><start>", "timePeriod/start appears twice"),
    "a length twice": ("<duration>", "<duration>900</duration><duration>", "timePeriod/duration appears twice"),
    "a unit twice": ("<uom>", "<uom>38</uom><uom>", "ReadingType/uom appears twice"),
}


@pytest.mark.parametrize(("old", "new", "says"), FEEDS.values(), ids=list(FEEDS))
def test_doubled_elements_of_a_reading_are_refused(
    tmp_path: Path, good: dict[str, Any], old: str, new: str, says: str
) -> None:
    (tmp_path / "meter.xml").write_text(swapped(one_meter(reading(5, 200), reading(6, 300)), old, new))
    write_home(tmp_path / "home.toml", weather=good, load={"meter": {"file": "meter.xml", "format": "green_button"}})
    assert_refused(run("load", "home.toml", folder=tmp_path), tmp_path, "meter.xml", "line ", says)


@pytest.mark.parametrize("cell", ["1_0", "\u0663", "0x1"])
def test_a_load_that_is_no_number_is_refused(tmp_path: Path, good: dict[str, Any], cell: str) -> None:
    (tmp_path / "load.csv").write_text(column(0.5, cell))
    write_home(tmp_path / "home.toml", weather=good, load={"file": "load.csv"})
    done = run("load", "home.toml", folder=tmp_path)
    assert_refused(done, tmp_path, "load.csv", f"line 3: load_kw is '{cell}', must be a number")


# Logs.
@pytest.fixture(scope="module")
def hours() -> Floats:
    return model(Path()).kwh(0.9)


LOGS: dict[str, tuple[Callable[[Path, Floats], None], dict[str, Any], list[str], bool]] = {
    "negative at night": (
        lambda path, kwh: write_hours(path, np.where(kwh <= 0, -0.009, kwh)),
        {},
        ["values are below 0, down to -0.009 kWh, together -", "taken as the inverters' own consumption, counted as 0"],
        True,
    ),
    "negative days of snow": (
        lambda path, kwh: write_days(path, np.where(np.arange(8760) < 72, -0.009, kwh)),
        {"labels": None, "every": "day"},
        ["3 of 365 values are below 0, down to -0.216 kWh, together -0.6 kWh"],
        True,
    ),
    "negative by day": (
        lambda path, kwh: write_hours(path, -kwh), {}, ["must not be negative", "of 8760 rows"], False,
    ),
    "one large negative value": (
        lambda path, kwh: write_hours(path, np.where(np.arange(8760) == 4000, -1.0, kwh)),
        {},
        ["'kWh' is -1, must not be negative (1 of 8760 rows)"],
        False,
    ),
    "labels at the other end": (
        lambda path, kwh: write_hours(path, kwh, 60),
        {},
        ["one interval of the log: its times seem to be the end of each interval", 'Setting: labels = "end"'],
        True,
    ),
    "clock two hours off": (
        lambda path, kwh: write_hours(path, kwh, 120), {}, ["Setting for the clock: clock_ahead_min = 120"], True,
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", cases(LOGS, "clock two hours off", "negative by day"))
def test_logs_of_inverters_as_they_are(tmp_path: Path, hours: Floats, case: Any) -> None:
    write, keys, says, usable = case
    write(tmp_path / "log.csv", hours)
    log = {key: value for key, value in {**LOG, **keys}.items() if value is not None}
    write_home(tmp_path / "home.toml", production_log=log)
    done = run("calibrate", "home.toml", folder=tmp_path)
    if not usable:
        assert_refused(done, tmp_path, "log.csv", *says)
        return
    assert done.returncode == 0, done.stderr
    told = " ".join((done.stdout + done.stderr).split())
    assert [piece for piece in says if piece not in told] == [], told


def test_production_of_a_metered_home_may_be_negative_at_night(tmp_path: Path, good: dict[str, Any]) -> None:
    sun = [3.0 if 9 <= (hour - 5) % 24 < 15 else -0.009 for hour in range(len(UTC))]
    exported = [max(made - 0.5, 0.0) for made in sun]
    (tmp_path / "meter.csv").write_text(
        rows(values=[f"{kwh:.3f},{out:.3f}" for kwh, out in zip(KWH, exported, strict=True)],
             head="Start,Import kWh,Export kWh")
    )  # fmt: skip
    (tmp_path / "sun.csv").write_text(rows(values=sun, head="Start,Made kWh"))
    production = {"file": "sun.csv", "column": "Made kWh", **ASKED}
    meter = {"file": "meter.csv", "format": "csv", **ASKED, "production": production}
    write_home(tmp_path / "home.toml", weather=good, load={"meter": meter})
    done = run("load", "home.toml", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    told = " ".join((done.stdout + done.stderr).split())
    assert "6,588 of 8,784 values are below 0, down to -0.009 kWh, together -59.3 kWh" in told


def test_the_kit_has_what_it_promises() -> None:
    """At least 60 faults of files, without the five good files among the texts."""
    assert len(NUMBERS) + len(TEXTS) - 5 + len(KINDS) * len(PLACES) + len(FEEDS) + len(LOGS) >= 60
    assert PLAIN["weather"]["format"] == "tmy3"
