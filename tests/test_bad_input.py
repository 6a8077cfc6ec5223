"""Bad input through the real command: exit code 2, one line for each problem, and nothing written.

Every case is one process, as a person would start it. A case names what its message must hold: the
file, the key or line, the value, what is allowed, and the name that was probably meant.
"""

import json
import math
import re
import subprocess
import sys
from datetime import date, time
from operator import attrgetter
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from solarsim.scenario.read import packaged_folder
from tests.builders import PLAIN, content

TMY3, TM2 = packaged_folder("weather_samples") / "723170TYA.CSV", packaged_folder("weather_samples") / "12839.tm2"
PLACE = {"latitude_deg": 36.0, "longitude_deg": -80.0, "elevation_m": 270.0, "utc_offset_h": -5.0}
SKY = "ghi_w_m2,dni_w_m2,dhi_w_m2,temp_air_c,wind_speed_m_s"
LIBRARY_WORDS = re.compile(r"Traceback|(Input|Value|String|Tuple|List) should|valid (number|integer)|pydantic|Errno")


class Case(NamedTuple):
    """One thing that is wrong in the plain home: what to change, and what the message must hold."""

    title: str
    says: tuple[str, ...]
    changes: dict[str, Any]
    lines: int = 1


def bad(title: str, *says: str, lines: int = 1, **changes: Any) -> Case:
    """Write a case in one line; changes are those of ``tests.builders.content``."""
    return Case(title, says, changes, lines)


def toml(value: Any) -> str:
    """Write a value as TOML."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(key)} = {toml(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(toml(each) for each in value) + "]"
    if isinstance(value, date | time):
        return value.isoformat()
    return str(value) if isinstance(value, float) else json.dumps(value)


def toml_file(tables: dict[str, Any]) -> str:
    """Write a scenario, one top-level key a line."""
    return "".join(f"{json.dumps(key)} = {toml(value)}\n" for key, value in tables.items())


def write_home(folder: Path, **changes: Any) -> None:
    """Write the plain home with keys replaced as ``home.toml``."""
    (folder / "home.toml").write_text(toml_file(content(**changes)), encoding="utf-8")


def column(*values: object, name: str = "load_kw", fill: str = "0.5", rows: int = 8760) -> str:
    """Write a CSV of one year that begins with these values."""
    return "\n".join([name, *map(str, values), *[fill] * (rows - len(values))]) + "\n"


def sky(*values: object, name: str = SKY, rows: int = 8760) -> str:
    """Write a dark mild year that begins with these rows."""
    return column(*values, name=name, fill="0,0,0,10,2", rows=rows)


def tree(folder: Path) -> dict[str, bytes | None]:
    """List all that stands in a folder, with its content."""
    return {str(path): path.read_bytes() if path.is_file() else None for path in folder.rglob("*")}


def run(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run the real command in a folder."""
    command = [sys.executable, "-m", "solarsim", *arguments]
    return subprocess.run(command, cwd=folder, capture_output=True, encoding="utf-8", check=False, timeout=120)


def refused(folder: Path, *arguments: str, lines: int = 1) -> str:
    """Run the command, hold it to what all bad input ends with, and give its messages."""
    before = tree(folder)
    done = run(folder, *arguments)
    assert done.returncode == 2, done.stderr
    assert done.stdout == ""
    assert not LIBRARY_WORDS.search(done.stderr), done.stderr
    told = done.stderr.split("\n")
    assert told.pop() == "", "the last line has no end"
    assert all(line.startswith("solarsim: ") for line in told), done.stderr
    assert len(told) == lines, done.stderr
    assert max(map(len, told)) < 600, "nobody reads that much"
    assert tree(folder) == before, "something was written"
    return done.stderr


def assert_says(told: str, *says: str) -> None:
    """Find every piece in what the command told."""
    assert [piece for piece in says if piece not in told] == [], told


def strategy(**settings: Any) -> dict[str, Any]:
    """Give the plain strategy with settings replaced."""
    return {**PLAIN["strategies"][0], **settings}


def windows(*each: dict[str, Any]) -> dict[str, Any]:
    """Give the plain strategy these windows."""
    return {"strategies__0__windows": list(each)}


def rates(*each: dict[str, Any], **tariff: Any) -> dict[str, Any]:
    """Give the tariff these rates, 0.2 for a kWh where they say nothing else."""
    named = [{"name": f"rate {number}", "import_price": 0.2, **rate} for number, rate in enumerate(each, start=1)]
    return {"tariff__rates": named, **tariff}


ONE_WINDOW = "strategies[1].windows[1]"
EVENING = {"from": "17:00", "to": "21:00", "reserve": 0.5}
ROW = {"cells_in_series": 16, "cell_ah": 100.0, "cell_v": 3.2}
BANK = {"battery__capacity_kwh": None, "battery__bank": [ROW, {**ROW, "cells_in_series": 15}]}
NO_CHARGE_LIMIT: dict[str, Any] = {"battery__max_charge_kw": None}

KEYS = [
    bad("unknown table", "batery: unknown key", "did you mean 'battery'?", batery={"capacity_kwh": 5.0}),
    bad("unknown key", "site.elevation: unknown key", "allowed: ", "calendar_year", site__elevation=250),
    bad(
        "key misspelled", f"{ONE_WINDOW}.reserv: unknown key", "mean 'reserve'?", **windows({**EVENING, "reserv": 0.4})
    ),
    bad(
        "required key misspelled",
        *("strategies[1].reserv: unknown key", "did you mean 'reserve'?"),
        strategies__0__reserve=None,
        strategies__0__reserv=0.2,
    ),
    bad("key with a line break", "unknown key", **{"site__two\nlines": 1}),
    bad("required key missing", "inverter.ac_kw: is missing", inverter__ac_kw=None),
    bad("required table missing", "tariff: is missing", tariff=None),
    bad("table in place of a list", "arrays: ", "must be a list", arrays=PLAIN["arrays"][0]),
    bad("number in place of a table", "site: 5 must be a table", site=5),
    bad("no strategies", "strategies: has 0 entries", "at least 1", strategies=[]),
]
KINDS = [
    bad("text in a number", "arrays[1].tilt_deg: 'thirty' must be a number", arrays__0__tilt_deg="thirty"),
    bad("number in a text", "name: 7 must be text in quotes", name=7),
    bad("date in a text", "name: ", "2026-01-01", "must be text in quotes", name=date(2026, 1, 1)),
    bad("true in a number", "inverter.ac_kw: true must be a number", inverter__ac_kw=True),
    bad(
        "number in a true or false",
        "battery_serves_load: 1 must be true or false",
        strategies__0__battery_serves_load=1,
    ),
    bad("part of a module", "modules_in_series: 9.5 must be a whole number", arrays__0__modules_in_series=9.5),
    bad("not a number", "inverter.standby_w: nan must be a finite number", inverter__standby_w=math.nan),
    bad("not a number in a count", "arrays[1].strings: nan must be", arrays__0__strings=math.nan),
    bad("infinite number", "battery.capacity_kwh: inf must be a finite number", battery__capacity_kwh=math.inf),
    bad("name empty", "arrays[1].name: '' must not be empty", arrays__0__name=""),
    bad("name too long", "site.name: ", "must have at most 60", site__name="x" * 61),
    bad("currency in words", "tariff.currency: 'dollars'", "three capital letters", tariff__currency="dollars"),
]
RANGES = [
    bad("peak above 1", "inverter.efficiency.peak: 1.02 must be below 1", inverter__efficiency__peak=1.02),
    bad("round trip of 0", "battery.round_trip_efficiency: 0.0 must be", battery__round_trip_efficiency=0.0),
    bad("negative month", "load.monthly_kwh[3]: -5.0 must be at least 0", load__monthly_kwh__2=-5.0),
    bad("eleven months", "load.monthly_kwh: has 11 entries", "12", load__monthly_kwh=[600.0] * 11),
    bad("thirteen months", "load.monthly_kwh: has 13 entries", "12", load__monthly_kwh=[600.0] * 13),
    bad("tilt of 95", "arrays[1].tilt_deg: 95 must be at most 90", arrays__0__tilt_deg=95),
    bad("azimuth of 360", "arrays[1].azimuth_deg: 360 must be below 360", arrays__0__azimuth_deg=360),
    bad("no modules", "arrays[1].modules_in_series: 0 must be at least 1", arrays__0__modules_in_series=0),
    bad("percent for a share", "strategies[1].reserve: 20 must be at most 1", strategies__0__reserve=20),
    bad("year 1800", "site.calendar_year: 1800 must be at least 1990", site__calendar_year=1800),
    bad("month 13", f"{ONE_WINDOW}.months[2]: 13 must be at most 12", **windows({**EVENING, "months": [12, 13]})),
    bad("input that is not there", "arrays: 'roof' is on input 2", "inputs 1 to 1", arrays__0__input=2),
    bad("standby in kilowatts of watts", "inverter: standby_w 4000.0", "watts", inverter__standby_w=4000.0),
]
NAMES = [
    bad(
        "zone misspelled",
        "site.time_zone: 'America/New_Yrok'",
        "mean 'America/New_York'?",
        site__time_zone="America/New_Yrok",
    ),
    bad("zone empty", "site.time_zone: '' is not an IANA time zone", "'America/New_York'", site__time_zone=""),
    bad("zone is a folder", "site.time_zone: 'America' is not", site__time_zone="America"),
    bad("format unknown", "weather.format: 'tmy4' is not known", "did you mean 'tmy3'?", weather__format="tmy4"),
    bad("shape unknown", "load.shape: 'flat' is not known", "allowed: evenings, home_all_day", load__shape="flat"),
    bad("array named twice", "arrays: two are named 'roof'", arrays=PLAIN["arrays"] * 2),
    bad("strategy named twice", "strategies: two are named 'home first'", strategies=PLAIN["strategies"] * 2),
    bad("country unknown", "site", "country 'XX'", "ISO 3166", site__holidays={"country": "XX", "observed": False}),
    bad(
        "holiday misspelled",
        *("site", "'Labour Day'", "did you mean 'Labor Day'?"),
        site__holidays={"country": "US", "observed": False, "names": ["Labour Day"]},
    ),
    bad(
        "country and dates",
        *("site.holidays: ", "either a country or a list of dates"),
        site__holidays={"country": "US", "observed": False, "dates": [date(2026, 7, 3)]},
    ),
    bad("holiday on no date", "site.holidays.dates[1]: '2026-13-01'", site__holidays={"dates": ["2026-13-01"]}),
]
WINDOWS = [
    bad("one end", f"{ONE_WINDOW}: has only one end: 'to' is missing", **windows({"from": "17:00", "reserve": 0.5})),
    bad("no hours", f"{ONE_WINDOW}: ", "17:00 to 17:00 is empty", **windows({**EVENING, "to": "17:00"})),
    bad("half an hour", f"{ONE_WINDOW}.from: '17:30'", "full hour", **windows({**EVENING, "from": "17:30"})),
    bad("no clock", f"{ONE_WINDOW}.to: '9 pm'", "HH:MM", **windows({**EVENING, "to": "9 pm"})),
    bad("clock with seconds", f"{ONE_WINDOW}.from: ", "17:00:00", "HH:MM", **windows({**EVENING, "from": time(17)})),
    bad("hour 25", f"{ONE_WINDOW}.to: '25:00'", "between 00:00 and 24:00", **windows({**EVENING, "to": "25:00"})),
    bad(
        "day unknown",
        f"{ONE_WINDOW}.days[1]: 'weekdays'",
        "mean 'weekday'?",
        **windows({**EVENING, "days": ["weekdays"]}),
    ),
    bad("day twice", f"{ONE_WINDOW}.days: ", "sat", "twice", **windows({**EVENING, "days": ["sat", "sun", "sat"]})),
    bad("no month", f"{ONE_WINDOW}.months: must not be empty", **windows({**EVENING, "months": []})),
    bad("nothing changed", f"{ONE_WINDOW}: the window changes no setting", **windows({"from": "17:00", "to": "21:00"})),
    bad(
        "never in force",
        *("strategy 'home first': window 2 (months 7 18:00-20:00) never holds", "earlier windows"),
        **windows(EVENING, {"months": [7], "from": "18:00", "to": "20:00", "reserve": 0.3}),
    ),
]
RATES = [
    bad(
        "two rates in one hour",
        *("tariff 'flat': rates 'rate 1' and 'rate 2' overlap in 365 hours", "first at 2026-01-01 20:00"),
        **rates({"windows": [{"from": "17:00", "to": "21:00"}]}, {"windows": [{"from": "20:00", "to": "17:00"}]}),
    ),
    bad(
        "hours without a rate",
        *(
            "tariff 'flat': no rate holds in 1095 hours",
            "first at 2026-01-01 21:00",
            "leave the windows of one rate out",
        ),
        **rates({"windows": [{"from": "00:00", "to": "21:00"}]}),
    ),
    bad("rate named twice", "tariff: two rates are named 'rate 1'", **rates({}, {"name": "rate 1"})),
    bad("two rates for all hours", "tariff: rates ['rate 1', 'rate 2'] have no windows", **rates({}, {})),
    bad("by rate without its price", "tariff: rate 'rate 1': export_price", **rates({}, tariff__export__pay="by_rate")),
    bad("flat without its price", "tariff.export: 'price' belongs to pay = 'flat'", tariff__export__pay="flat"),
]
LEVELS = [
    bad(
        "reserve above ceiling",
        "strategies[1]: reserve 0.1 is above the solar_ceiling 0.05",
        strategies__0__solar_ceiling=0.05,
    ),
    bad(
        "reserve above ceiling in a window",
        "strategies[1]: in window 1 (17:00-21:00): reserve 0.5 is above the solar_ceiling 0.4",
        **windows({**EVENING, "solar_ceiling": 0.4}),
    ),
    bad(
        "sells below reserve",
        "strategies[1]: sell_down_to 0.05 is below the reserve 0.1",
        strategies__0__sell_down_to=0.05,
    ),
    bad(
        "reserve below minimum",
        "strategies: 'home first' keeps a reserve of 0.02",
        "hard_minimum 0.1",
        strategies__0__reserve=0.02,
    ),
    bad(
        "buys what it sells",
        *("strategies[1]: sell_down_to 0.5 is below charge_from_grid_to 0.8",),
        strategies__0__sell_down_to=0.5,
        strategies__0__charge_from_grid_to=0.8,
    ),
    bad(
        "bias without zero export",
        "strategies[1]: zero_export_bias_kw needs an export_limit_kw of 0",
        strategies__0__zero_export_bias_kw=0.03,
    ),
]
HARDWARE = [
    bad("bank and kWh", "battery: give either the bank (rows of cells) or capacity_kwh", battery__bank=[ROW]),
    bad("rows of two voltages", "battery: rows of 51.2 V and 48 V must not stand in parallel", **BANK),
    bad("amperes without volts", "battery: limits in ampere need nominal_v", battery__max_charge_a=100.0),
    bad(
        "amperes at the port without volts",
        "battery: ",
        "ampere",
        "battery.nominal_v",
        inverter__battery_charge_a=100.0,
    ),
    bad(
        "charging without limit", "battery: nothing limits its charge", "battery.max_charge_a or _kw", **NO_CHARGE_LIMIT
    ),
    bad(
        "weighted above peak",
        "inverter.efficiency: weighted efficiency 0.98 is above the peak 0.976",
        inverter__efficiency__weighted=0.98,
    ),
    bad(
        "weighted far below peak",
        "inverter.efficiency: weighted 0.8 is too far below peak 0.976",
        "at least 0.9",
        inverter__efficiency__weighted=0.8,
    ),
    bad(
        "half a pair",
        "inverter.efficiency: peak, weighted and weights belong together",
        inverter__efficiency={"peak": 0.97},
    ),
    bad(
        "two points",
        "inverter.efficiency.points: has 2 entries, must have at least 3",
        inverter__efficiency={"points": [{"load": 0.5, "efficiency": 0.97}] * 2},
    ),
    bad("csv weather without place", "weather: a csv file states no place", "weather.place", weather__format="csv"),
    bad("tmy3 weather with place", "weather: a tmy3 file states its own place", weather__place=PLACE),
    bad("load from nowhere", "load: give either a file or monthly_kwh", load={}),
]


@pytest.mark.parametrize(
    "case", [*KEYS, *KINDS, *RANGES, *NAMES, *WINDOWS, *RATES, *LEVELS, *HARDWARE], ids=attrgetter("title")
)
def test_a_wrong_scenario_is_named_by_file_key_and_value(tmp_path: Path, case: Case) -> None:
    write_home(tmp_path, **case.changes)
    told = refused(tmp_path, "compare", "home.toml", "--json", lines=case.lines)
    assert_says(told, "home.toml: ", *case.says)


@pytest.mark.parametrize(
    ("raw", "says", "lines"),
    [
        pytest.param(None, ["cannot be read", "No such file"], 1, id="missing"),
        pytest.param(b"", [f"{key}: is missing" for key in ("name", "site", "load", "tariff")], 9, id="empty"),
        pytest.param("name = 'Zürich'".encode("latin-1"), ["not UTF-8", "byte 9"], 1, id="latin-1"),
        pytest.param("name = 'home'".encode("utf-16"), ["not UTF-8", "byte 0"], 1, id="utf-16"),
        pytest.param(b"name = 'home'\nsite = \n", ["not valid TOML", "line 2"], 1, id="value left out"),
        pytest.param(b"[site]\nname = 'a'\n[site]\n", ["not valid TOML", "line 3"], 1, id="table twice"),
        pytest.param(b"number = " + b"9" * 5000, ["not valid TOML"], 1, id="endless number"),
        pytest.param(b"nest = " + b"[" * 5000, ["not valid TOML"], 1, id="endless nest"),
    ],
)
def test_a_scenario_file_that_cannot_be_read_is_refused(
    tmp_path: Path, raw: bytes | None, says: list[str], lines: int
) -> None:
    if raw is not None:
        (tmp_path / "home.toml").write_bytes(raw)
    assert_says(refused(tmp_path, "compare", "home.toml", lines=lines), "home.toml: ", *says)


def test_a_folder_is_no_scenario(tmp_path: Path) -> None:
    (tmp_path / "home").mkdir()
    assert_says(refused(tmp_path, "flows", "home"), "home: cannot be read", "directory")


def test_a_home_of_nobody_is_a_missing_file(tmp_path: Path) -> None:
    assert_says(refused(tmp_path, "flows", "~no-such-user/home.toml"), "~no-such-user/home.toml: cannot be read")


def test_errors_in_three_tables_are_three_lines(tmp_path: Path) -> None:
    write_home(tmp_path, site__elevation=250, arrays__0__tilt_deg=95, strategies__0__solar_ceiling=0.05)
    told = refused(tmp_path, "compare", "home.toml", lines=3)
    assert told.count("home.toml: ") == 3
    assert_says(told, "site.elevation: unknown key", "arrays[1].tilt_deg: 95", "strategies[1]: reserve 0.1")


def test_errors_between_tables_are_listed_together(tmp_path: Path) -> None:
    write_home(tmp_path, arrays__0__input=2, strategies=[strategy(reserve=0.02)] * 2, **NO_CHARGE_LIMIT)
    told = refused(tmp_path, "compare", "home.toml", lines=5)
    assert told.count("home.toml: ") == 5
    assert_says(told, "on input 2", "two are named 'home first'", "nothing limits its charge", "reserve of 0.02")


def test_a_wrong_value_hides_no_error_between_tables(tmp_path: Path) -> None:
    write_home(tmp_path, site__albedo=2.0, arrays__0__input=2)
    assert_says(refused(tmp_path, "compare", "home.toml", lines=2), "site.albedo: 2.0", "'roof' is on input 2")


def test_two_errors_of_one_strategy_are_two_lines(tmp_path: Path) -> None:
    write_home(tmp_path, strategies__0__solar_ceiling=0.05, strategies__0__zero_export_bias_kw=0.03)
    told = refused(tmp_path, "compare", "home.toml", lines=2)
    assert_says(told, "strategies[1]: reserve 0.1 is above", "strategies[1]: zero_export_bias_kw")


def test_errors_of_the_calendar_are_listed_together(tmp_path: Path) -> None:
    hidden = {"windows": [EVENING, EVENING]}
    two = [strategy(**hidden), strategy(name="other", **hidden)]
    write_home(tmp_path, strategies=two, **rates({"windows": [{"months": [1]}]}))
    told = refused(tmp_path, "compare", "home.toml", lines=3)
    assert_says(told, "no rate holds", "strategy 'home first': window 2", "strategy 'other': window 2")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        pytest.param("compar home.toml", ["'compar'", "compare"], id="command misspelled"),
        pytest.param("home.toml", ["'home.toml'", "ommand"], id="no command"),
        pytest.param("compare home.toml --jsn", ["--jsn", "--json"], id="option misspelled"),
        pytest.param("compare home.toml more.toml", ["more.toml"], id="two scenarios"),
        pytest.param("flows home.toml --strategy", ["--strategy", "argument"], id="option without its value"),
        pytest.param("flows home.toml --strategy home_first", ["'home_first'", "mean 'home first'?"], id="strategy"),
        pytest.param("flows home.toml --strategy sell", ["'sell'", "allowed: home first"], id="strategy far from any"),
        pytest.param("savings home.toml --strategy homefirst", ["mean 'home first'?"], id="strategy of savings"),
        pytest.param("flows home.toml --plot a.png --month 13", ["--month", "13", "1<=x<=12"], id="month 13"),
        pytest.param("flows home.toml --plot a.png --month July", ["--month", "'July'", "int"], id="month in words"),
        pytest.param("flows home.toml --plot a.png", ["--plot", "--month"], id="picture of no month"),
        pytest.param("flows home.toml --month 7", ["--plot", "--month"], id="month without picture"),
        pytest.param("flows home.toml --plot a.bmp --month 7", ["a.bmp", ".png, .svg or .pdf"], id="picture suffix"),
        pytest.param("flows home.toml --csv a.png --plot a.png --month 7", ["a.png", "both"], id="one file for two"),
        pytest.param("flows home.toml --csv none/a.csv", ["none/a.csv", "none does not exist"], id="folder missing"),
        pytest.param("flows home.toml --csv home.toml/a.csv", ["home.toml/a.csv", "folder"], id="file as a folder"),
        pytest.param("flows home.toml --csv old", ["old: is a folder, must be a file"], id="csv onto a folder"),
        pytest.param("flows home.toml --csv old --force", ["old: is a folder"], id="csv onto a folder by force"),
        pytest.param("flows home.toml --csv old/a.csv", ["old/a.csv: exists", "--force"], id="csv onto a file"),
        pytest.param(
            "flows home.toml --plot old/a.csv --month 7", ["old/a.csv: exists", "--force"], id="plot onto a file"
        ),
        pytest.param(f"flows home.toml --csv {'x' * 300}", ["xxx: ", "File name too long"], id="file name too long"),
        pytest.param("savings home.toml", ["home.toml: ", "no costs", "[costs]"], id="savings without costs"),
    ],
)
def test_a_wrong_command_line_is_refused_and_changes_no_file(tmp_path: Path, arguments: str, says: list[str]) -> None:
    write_home(tmp_path)
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "a.csv").write_text("kept\n")
    assert_says(refused(tmp_path, *arguments.split()), *says)


def test_no_command_at_all_shows_help_to_read(tmp_path: Path) -> None:
    done = run(tmp_path)
    help_text = done.stdout + done.stderr
    assert re.search(r"^ *compare  ", help_text, re.MULTILINE), help_text


def epw(rows: int) -> str:
    """Write an EPW file with dark rows."""
    row = ",".join(["1999,1,1,1,0,?", "20", *["0"] * 28])
    return "\n".join(["LOCATION,Here,NC,USA,none,0,36,-80,-5,270", *["DESIGN CONDITIONS"] * 7, *[row] * rows])


@pytest.mark.parametrize(
    ("kind", "text", "says"),
    [
        pytest.param("tmy3", None, ["cannot be read", "No such file"], id="missing"),
        pytest.param("tmy3", " \n", ["is empty"], id="empty"),
        pytest.param(
            "tmy3", "\n".join(TMY3.read_text().splitlines()[:5000]), ["4998 hours", "8760", "cut short"], id="tmy3 cut short"
        ),
        pytest.param("tmy3", TM2.read_text(), ["tmy3"], id="tm2 called tmy3"),
        pytest.param("tm2", TMY3.read_text(), ["tm2"], id="tmy3 called tm2"),
        pytest.param("tmy3", sky(rows=8761), ["tmy3"], id="csv called tmy3"),
        pytest.param("epw", sky(), ["not an EPW file", "LOCATION"], id="csv called epw"),
        pytest.param("epw", epw(100), ["100 hours", "8760", "cut short"], id="epw cut short"),
        pytest.param("epw", epw(100) + "\n1999,1,1", ["line 109 has 3 of 35 columns"], id="epw cut in a row"),
        pytest.param(
            "csv", sky(name=SKY.replace("dni", "dnl")), ["no column 'dni_w_m2'", "dnl_w_m2"], id="column missing"
        ),
        pytest.param("csv", sky("0,0,0,10,2", "0,x,0,10,2"), ["line 3: dni_w_m2 is 'x'", "number"], id="text"),
        pytest.param("csv", sky("0,0,0,nan,2"), ["line 2: temp_air_c is nan", "finite number"], id="not a number"),
        pytest.param("csv", sky("0,0,0,,2"), ["line 2: temp_air_c is ''", "number"], id="hole"),
        pytest.param("csv", sky("0,0,0"), ["line 2 has 3 of 5 columns"], id="row cut short"),
        pytest.param(
            "csv", sky("5000,0,0,10,2"), ["ghi_w_m2 is 5000", "hour 1", "between 0 and 1500"], id="too bright"
        ),
        pytest.param("csv", sky("0,0,0,-999,2"), ["temp_air_c is -999", "between -90 and 65"], id="code for missing"),
        pytest.param("csv", sky(rows=8759), ["8759 hours", "8760"], id="row missing"),
    ],
)
def test_wrong_weather_is_refused(tmp_path: Path, kind: str, text: str | None, says: list[str]) -> None:
    if text is not None:
        (tmp_path / "sky.txt").write_text(text, encoding="utf-8")
    place = {"weather__place": PLACE} if kind == "csv" else {}
    write_home(tmp_path, weather__file="sky.txt", weather__format=kind, **place)
    assert_says(refused(tmp_path, "flows", "home.toml", "--csv", "hours.csv"), "sky.txt: ", *says)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        pytest.param(None, ["cannot be read", "No such file"], id="missing"),
        pytest.param("", ["is empty"], id="empty"),
        pytest.param(column(rows=8759), ["has 8759 rows", "8760"], id="row missing"),
        pytest.param(column(rows=8784), ["has 8784 rows", "8760"], id="leap year"),
        pytest.param(column(0.5, -0.5), ["load_kw is -0.5 in row 2", "between 0 and 1000"], id="negative"),
        pytest.param(column(450, 1500), ["load_kw is 1500 in row 2", "between 0 and 1000"], id="watts"),
        pytest.param(column(0.5, "off"), ["line 3: load_kw is 'off', must be a number"], id="text"),
        pytest.param(column("nan"), ["line 2: load_kw is nan, must be a finite number"], id="not a number"),
        pytest.param(column(name="load_kwh"), ["no column 'load_kw'", "load_kwh"], id="column misspelled"),
        pytest.param(column("0,5", "0,5"), ["line 2"], id="decimal comma"),
        pytest.param(column(name='"load_kw'), ["no column 'load_kw'"], id="quote left open"),
        pytest.param(column(name='"load_kw', fill="0.500000000000000"), ["load.csv"], id="quote left open, long"),
    ],
)
def test_a_wrong_load_file_is_refused(tmp_path: Path, text: str | None, says: list[str]) -> None:
    if text is not None:
        (tmp_path / "load.csv").write_text(text, encoding="utf-8")
    write_home(tmp_path, load={"file": "load.csv"})
    assert_says(refused(tmp_path, "flows", "home.toml", "--csv", "hours.csv"), "load.csv: ", *says)


def test_a_missing_column_is_told_with_those_that_the_file_has(tmp_path: Path) -> None:
    (tmp_path / "load.csv").write_text(column(name="use,when", fill="0.5,noon"), encoding="utf-8")
    write_home(tmp_path, load={"file": "load.csv"})
    told = refused(tmp_path, "flows", "home.toml")
    assert_says(told, "load.csv: has no column 'load_kw'", "use, when")
    assert "allowed" not in told, "another column's name would not be allowed"


@pytest.mark.parametrize("key", ["weather", "load"])
def test_a_file_name_that_no_file_can_have_is_refused(tmp_path: Path, key: str) -> None:
    write_home(tmp_path, **{key: {"file": "a\0b", **({"format": "tmy3"} if key == "weather" else {})}})
    assert_says(refused(tmp_path, "flows", "home.toml"), "cannot be read")
