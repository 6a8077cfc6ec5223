"""Bad input through the real command: exit code 2, one line for each problem, and nothing written.

All but one run in this process. A case says what its message must hold: the file, the key or line, the value,
what is allowed, and the name that was probably meant.
"""

import json
import math
import os
import re
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import pytest

from solarsim.scenario.read import packaged_folder
from tests.builders import PLAIN, content
from tests.cli.command import Done, process, run

TMY3 = (packaged_folder("weather_samples") / "723170TYA.CSV").read_text().splitlines()
TM2 = (packaged_folder("weather_samples") / "12839.tm2").read_text().splitlines()
PLACE = {"latitude_deg": 36.0, "longitude_deg": -80.0, "elevation_m": 270.0, "utc_offset_h": -5.0}
SKY = "ghi_w_m2,dni_w_m2,dhi_w_m2,temp_air_c,wind_speed_m_s"
# What a library says to a programmer tells a homeowner nothing.
LIBRARY_WORDS = re.compile(r"Traceback|Warning|WARNING|Errno|(Input|String) should|could not convert|list index")


def tree(folder: Path) -> dict[str, bytes]:
    """List all that stands in a folder, with its content."""
    return {str(path): path.read_bytes() if path.is_file() else b"" for path in folder.rglob("*")}


def assert_refused(
    folder: Path,
    arguments: str,
    *says: str,
    lines: int = 1,
    by: Callable[..., Done] = run,
) -> None:
    """Run the command, and hold it to what all bad input ends with."""
    before = tree(folder)
    done = by(*arguments.split(), folder=folder)
    told = done.stderr
    assert done.returncode == 2, told
    assert done.stdout == ""
    assert told.endswith("\n")
    assert all(line.startswith("solarsim: ") for line in told.splitlines()), told
    assert len(told.splitlines()) == lines, told
    assert max(map(len, told.splitlines())) < 600, "nobody reads that much"
    assert not LIBRARY_WORDS.search(told), told
    assert [piece for piece in says if piece not in told] == [], told
    after = tree(folder)
    assert [name for name in after | before if after.get(name) != before.get(name)] == [], "something was written"


def toml(value: object) -> str:
    """Write a value as TOML."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(key)} = {toml(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    if isinstance(value, date | time):
        return value.isoformat()
    return str(value) if isinstance(value, float) else json.dumps(value)


def write_home(path: Path, **changes: Any) -> None:
    """Write the plain home with keys replaced, one top-level key a line."""
    lines = [f"{json.dumps(key)} = {toml(value)}\n" for key, value in content(**changes).items()]
    path.write_text("".join(lines), encoding="utf-8")


Case = tuple[tuple[str, ...], dict[str, Any]]


def bad(*says: str, **changes: Any) -> Case:
    """Write a case: what the message must hold, and what is wrong, as for ``tests.builders.content``."""
    return says, changes


def window(*says: str, **changes: Any) -> Case:
    """Write a case with the evening window, keys replaced, as the only one; None removes."""
    given = {key: value for key, value in {**EVENING, **changes}.items() if value is not None}
    return bad(*says, strategies__0__windows=[given])


def rates(*says: str, given: list[dict[str, Any]], **changes: Any) -> Case:
    """Write a case with these rates, 0.2 for a kWh where they say nothing else."""
    named = [{"name": f"rate {number}", "import_price": 0.2, **rate} for number, rate in enumerate(given, start=1)]
    return bad(*says, rate_plan__rates=named, **changes)


def holidays(*says: str, **given: Any) -> Case:
    """Write a case about holidays."""
    return bad("site", *says, site__holidays=given)


def levels(*says: str, **given: float | None) -> Case:
    """Write a case about the base settings of the only strategy."""
    return bad(*says, **{f"strategies__0__{key}": value for key, value in given.items()})


HOME = PLAIN["strategies"][0]
WINDOW = "strategies.1st.windows.1st"
EVENING = {"from": "17:00", "to": "21:00", "reserve": 0.5}
HIDDEN = [EVENING, {**EVENING, "months": [7]}]
UNTIL_NINE = {"windows": [{"from": "00:00", "to": "21:00"}]}
FROM_EIGHT = {"windows": [{"from": "20:00", "to": "24:00"}]}
ROW = {"cells_in_series": 16, "cell_ah": 100.0, "cell_v": 3.2}
ROWS = [ROW, {**ROW, "cells_in_series": 15}]
POINTS = [{"load": 0.1, "efficiency": 0.95}, {"load": 0.5, "efficiency": 0.97}]
UNLIMITED: dict[str, Any] = {"battery__max_charge_kw": None}

SCENARIOS = {
    # Keys
    "unknown table": bad("batery: unknown key; did you mean 'battery'?", batery={"capacity_kwh": 5.0}),
    "unknown key": bad("site.elevation: unknown key; allowed: ", "calendar_year", site__elevation=250),
    "key misspelled": window(f"{WINDOW}.reserv: unknown key; did you mean 'reserve'?", reserv=0.4),
    "required key misspelled": levels(".1st.reserv: unknown key; did you mean 'reserve'?", reserve=None, reserv=0.2),
    "key with a line break": bad("unknown key", **{"site__two\nlines": 1}),
    "required key missing": bad("inverter.ac_kw: is missing", inverter__ac_kw=None),
    "required table missing": bad("rate_plan: is missing", rate_plan=None),
    "table for a list": bad("arrays: ", "must be a list", arrays=PLAIN["arrays"][0]),
    "no strategies": bad("strategies: has 0 entries, must have at least 1", strategies=[]),
    # Kinds of values
    "text for a number": bad("arrays.1st.tilt_deg: 'thirty' must be a number", arrays__0__tilt_deg="thirty"),
    "number for a text": bad("name: 7 must be text in quotes", name=7),
    "date for a text": bad("name: ", "2026-01-01", "must be text in quotes", name=date(2026, 1, 1)),
    "true for a number": bad("inverter.ac_kw: true must be a number", inverter__ac_kw=True),
    "number for true or false": levels("battery_serves_load: 1 must be true or false", battery_serves_load=1),
    "part of a module": bad("modules_in_series: 9.5 must be a whole number", arrays__0__modules_in_series=9.5),
    "nan": bad("inverter.standby_w: nan must be a finite number", inverter__standby_w=math.nan),
    "nan for a count": bad("arrays.1st.strings: nan must be a", arrays__0__strings=math.nan),
    "inf": bad("battery.capacity_kwh: inf must be a finite number", battery__capacity_kwh=math.inf),
    "name empty": bad("arrays.1st.name: '' must not be empty", arrays__0__name=""),
    "name too long": bad("site.name: ", "must have at most 60", site__name="x" * 61),
    "currency in words": bad(
        "rate_plan.currency: 'dollars' must be three capital letters", rate_plan__currency="dollars"
    ),
    # Ranges
    "peak above 1": bad("inverter.efficiency.peak: 1.02 must be below 1", inverter__efficiency__peak=1.02),
    "round trip of 0": bad("round_trip_efficiency: 0.0 must be above 0.3", battery__round_trip_efficiency=0.0),
    "negative month": bad("load.monthly_kwh.3rd: -5 must be at least 0", load__monthly_kwh=[600, 500, -5] + [600] * 9),
    "eleven months": bad("load.monthly_kwh: has 11 entries", "12", load__monthly_kwh=[600.0] * 11),
    "tilt of 95": bad("arrays.1st.tilt_deg: 95 must be at most 90", arrays__0__tilt_deg=95),
    "azimuth of 360": bad("arrays.1st.azimuth_deg: 360 must be below 360", arrays__0__azimuth_deg=360),
    "no modules": bad("arrays.1st.modules_in_series: 0 must be at least 1", arrays__0__modules_in_series=0),
    "percent for a share": levels("strategies.1st.reserve: 20 must be at most 1", reserve=20),
    "year 1800": bad("site.calendar_year: 1800 must be at least 1990", site__calendar_year=1800),
    "month 13": window(f"{WINDOW}.months.2nd: 13 must be at most 12", months=[12, 13]),
    "input that is not there": bad("arrays: 'roof' is on input 2", "inputs 1 to 1", arrays__0__input=2),
    "fee of all the money": bad(
        "rate_plan.customer_charge_per_month: 1e+30 must be at most", rate_plan__customer_charge_per_month=1e30
    ),
    # Names
    "zone misspelled": bad("time_zone: 'America/New_Yrok'", "'America/New_York'?", site__time_zone="America/New_Yrok"),
    "zone empty": bad("time_zone: '' is not an IANA time zone", "'America/New_York'", site__time_zone=""),
    "zone that is a folder": bad("site.time_zone: 'America' is not an IANA time zone", site__time_zone="America"),
    "zone of this machine": bad("site.time_zone: 'localtime' is not an IANA", site__time_zone="localtime"),
    "format unknown": bad("format: 'tmy4' is not known; did you mean 'tmy3'?", weather__format="tmy4"),
    "strategy named twice": bad("strategies: more than one is named 'home first'", strategies=[HOME] * 2),
    # Holidays
    "country unknown": holidays("country 'XX'", "ISO 3166", country="XX", observed=False),
    "holiday misspelled": holidays("'Labour Day'", "'Labor Day'?", country="US", observed=False, names=["Labour Day"]),
    "no names": holidays(".holidays.names: must not be empty", country="US", observed=False, names=[]),
    "country and dates": holidays("either", "not both", country="US", observed=False, dates=[date(2026, 7, 3)]),
    "names and dates": holidays(".holidays: ", "names", names=["Labor Day"], dates=[date(2026, 9, 7)]),
    "date on no calendar": holidays(".holidays.dates.1st: '2026-13-01'", "date", dates=["2026-13-01"]),
    "date of another year": holidays("2025-09-01", "2026", dates=[date(2025, 9, 1)]),
    # Windows
    "one end": window(f"{WINDOW}: has only one end: 'to' is missing", to=None),
    "no hours": window(f"{WINDOW}: ", "17:00 to 17:00 is empty", to="17:00"),
    "half an hour": window(f"{WINDOW}.from: '17:30'", "full hour", "site.step_minutes", **{"from": "17:30"}),
    "twenty minutes": window(f"{WINDOW}.from: '17:20'", "full, half or quarter hour", **{"from": "17:20"}),
    "quarter in halves": bad(
        f"{WINDOW}.to: '21:15'",
        "full or half hour",
        site__step_minutes=30,
        strategies__0__windows=[{**EVENING, "to": "21:15"}],
    ),
    "steps of 20 minutes": bad("site.step_minutes: 20 must be one of 60, 30, 15", site__step_minutes=20),
    "no clock": window(f"{WINDOW}.to: '9 pm'", "HH:MM", to="9 pm"),
    "clock with seconds": window(f"{WINDOW}.to: ", "21:00:00", "HH:MM", to=time(21)),
    "hour 25": window(f"{WINDOW}.to: '25:00'", "from 00:00 to 24:00", to="25:00"),
    "day unknown": window(f"{WINDOW}.days.1st: 'weekdays' must be ", "did you mean 'weekday'?", days=["weekdays"]),
    "range unknown": window(f"{WINDOW}.days.1st: 'mo-fr' must be ", "such as mon-fri", days=["mo-fr"]),
    "date for a clock": window(f"{WINDOW}.from: '05-15' must be", 'dates = { from = "05-15"', **{"from": "05-15"}),
    "date out of month": window(
        f"{WINDOW}.dates.to: '09-31' is not a calendar date", dates={"from": "05-15", "to": "09-31"}
    ),
    "leap day": window(f"{WINDOW}.dates.from: '02-29'", "03-01", dates={"from": "02-29", "to": "09-30"}),
    "two seasons": window(
        f"{WINDOW}: has both 'months' and 'dates'", months=[5], dates={"from": "05-15", "to": "09-30"}
    ),
    "day twice": window(f"{WINDOW}.days: ", "sat", "twice", days=["sat", "sun", "sat"]),
    "no month": window(f"{WINDOW}.months: must not be empty", months=[]),
    "nothing changed": window(f"{WINDOW}: the window changes no setting", reserve=None),
    "never in force": bad("'home first': the 2nd window (Jul 17:00-21:00) never", strategies__0__windows=HIDDEN),
    # Rates: an hour on 365 days, and three hours on 365 days
    "two rates at once": rates("overlap in 365 hours, first at 2026-01-01 20:00", given=[UNTIL_NINE, FROM_EIGHT]),
    "hours without a rate": rates("no rate applies in 1095 hours, first at 2026-01-01 21:00", given=[UNTIL_NINE]),
    "two rates for all hours": rates("rate_plan: rates ['rate 1', 'rate 2'] have no windows", given=[{}, {}]),
    "by rate without price": rates(
        "rate_plan: rate 'rate 1': export_price", given=[{}], rate_plan__export__pay="by_rate"
    ),
    "flat without price": bad("rate_plan.export: 'price' belongs to pay = 'flat'", rate_plan__export__pay="flat"),
    # Levels
    "reserve above ceiling": levels(".1st: reserve 0.1 is above the solar_ceiling 0.05", solar_ceiling=0.05),
    "above in a window": window("in the 1st window (17:00-21:00): reserve 0.5 is above the", solar_ceiling=0.4),
    "sells below reserve": levels(".1st: sell_down_to 0.05 is below the reserve 0.1", sell_down_to=0.05),
    "reserve below minimum": levels("'home first' keeps a reserve of 0.02", "low_cutoff 0.1", reserve=0.02),
    "buys and sells": levels("0.5 is below charge_from_grid_to 0.8", sell_down_to=0.5, charge_from_grid_to=0.8),
    "bias without zero export": levels(
        "'home first' has a zero_export_bias_kw", "limit_kw of 0", zero_export_bias_kw=0.03
    ),
    # Hardware and files
    "bank and kWh": bad("battery: give either the bank (strings of cells) or capacity_kwh", battery__bank=[ROW]),
    "two voltages": bad("battery: strings of 51.2 V and 48 V", battery__capacity_kwh=None, battery__bank=ROWS),
    "amperes without volts": bad("battery: limits in ampere need nominal_v", battery__max_charge_a=100.0),
    "port without volts": bad("battery: ", "need battery.nominal_v", inverter__battery_charge_a=100.0),
    "charge without limit": bad("battery: nothing limits its charge", "battery.max_charge_a or _kw", **UNLIMITED),
    "weighted above peak": bad("efficiency: weighted efficiency 0.98 is above", inverter__efficiency__weighted=0.98),
    "weighted far below": bad("weighted 0.8 is too far below peak 0.976", inverter__efficiency__weighted=0.8),
    "two points": bad("points: has 2 entries, must have at least 3", inverter__efficiency={"points": POINTS}),
    "csv without place": bad("weather: a csv file states no place", "weather.place", weather__format="csv"),
    "tmy3 with place": bad("weather: a tmy3 file states its own place", weather__place=PLACE),
    "load from nowhere": bad("load: give one of: a file; a meter; monthly_kwh", load={}),
}


@pytest.mark.parametrize("case", SCENARIOS.values(), ids=list(SCENARIOS))
def test_a_wrong_scenario_is_told_by_file_key_and_value(tmp_path: Path, case: Case) -> None:
    says, changes = case
    write_home(tmp_path / "home.toml", **changes)
    assert_refused(tmp_path, "compare home.toml --json", "solarsim: home.toml: ", *says)


TOGETHER = {
    "three tables": bad(
        *("site.elevation: unknown key", "arrays.1st.tilt_deg: 95", "strategies.1st: reserve 0.1 is above"),
        site__elevation=250,
        arrays__0__tilt_deg=95,
        strategies__0__solar_ceiling=0.05,
    ),
    "between tables": bad(
        *("'roof' is on input 2", "nothing limits its charge", "more than one is named 'home first'"),
        **{"arrays__0__input": 2, "strategies": [HOME] * 2, **UNLIMITED},
    ),
    "in a table and between": bad("albedo: 2.0", "'roof' is on input 2", site__albedo=2.0, arrays__0__input=2),
    "in one strategy": levels(
        "reserve 0.1", "import and export", solar_ceiling=0.05, sell_down_to=0.5, charge_from_grid_to=0.8
    ),
    "of the calendar": rates(
        *("no rate applies", "'home first': the 2nd window", "'other': the 2nd window"),
        given=[{"windows": [{"months": [1]}]}],
        strategies=[{**HOME, "windows": HIDDEN}, {**HOME, "name": "other", "windows": HIDDEN}],
    ),
}


@pytest.mark.parametrize("case", TOGETHER.values(), ids=list(TOGETHER))
def test_all_errors_of_a_scenario_are_listed_at_once(tmp_path: Path, case: Case) -> None:
    says, changes = case
    write_home(tmp_path / "home.toml", **changes)
    assert_refused(tmp_path, "compare home.toml", *says, lines=len(says))


TEXTS: dict[str, tuple[bytes | None, int, str]] = {
    "missing": (None, 1, "cannot be read: No such file"),
    "empty": (b"", 9, "home.toml: site: is missing"),
    "latin-1": ("name = 'Zürich'".encode("latin-1"), 1, "is not UTF-8 text (byte 9)"),
    "utf-16": ("name = 'home'".encode("utf-16"), 1, "is not UTF-8 text (byte 0)"),
    "value left out": (b"name = 'home'\nsite = \n", 1, "is not valid TOML: Invalid value (at line 2"),
    "table twice": (b"[site]\nname = 'a'\n[site]\n", 1, "(at line 3"),
    "number without end": (b"name = " + b"9" * 5000, 1, "is not valid TOML"),
    "nest without end": (b"name = " + b"[" * 5000, 1, "is not valid TOML"),
}


@pytest.mark.parametrize(("raw", "lines", "says"), TEXTS.values(), ids=list(TEXTS))
def test_a_file_that_is_no_scenario_is_refused(tmp_path: Path, raw: bytes | None, lines: int, says: str) -> None:
    if raw is not None:
        (tmp_path / "home.toml").write_bytes(raw)
    assert_refused(tmp_path, "compare home.toml", "home.toml: ", says, lines=lines)


COMMANDS = {
    "command misspelled": ("compar home.toml", "'compar'", "Did you mean 'compare'?"),
    "command left out": ("home.toml", "No such command 'home.toml'"),
    "option misspelled": ("compare home.toml --jsn", "--jsn", "--json"),
    "scenario in a folder of nobody": ("compare ~nobody-here/home.toml", "~nobody-here/home.toml: cannot be read"),
    "scenario that is a folder": ("compare old", "old: cannot be read: is a directory"),
    "option without value": ("flows home.toml --strategy", "'--strategy' requires an argument"),
    "strategy misspelled": ("flows home.toml --strategy home_first", "'home_first'", "did you mean 'home first'?"),
    "strategy unknown": ("flows home.toml --strategy sell", "'sell'", "allowed: home first"),
    "strategy of savings": ("savings priced.toml --strategy homefirst", "'homefirst'", "mean 'home first'?"),
    "savings without costs": ("savings home.toml", "home.toml: ", "no table [costs]", "[costs]"),
    "month 13": ("flows home.toml --plot a.png --month 13", "--month", "13", "1", "12"),
    "month in words": ("flows home.toml --plot a.png --month July", "--month", "July", "1", "12"),
    "picture of two parts": ("flows home.toml --plot a.png --month 7 --week 2026-01-05", "choose one part of the year"),
    "part without a picture": ("flows home.toml --day 2026-01-05", "--day needs --plot FILE"),
    "day in words": ("flows home.toml --plot a.png --day Monday", "--day", "must be a date, for example 2026-07-03"),
    "day of another year": ("flows home.toml --plot a.png --day 2025-07-03", "is not in 2026"),
    "picture of no kind": ("flows home.toml --plot a.bmp --month 7", "a.bmp: ", ".png, .svg or .pdf"),
    "part of a table that is the year's": ("flows home.toml --csv - --month 7", "--csv writes the whole year"),
    "one file for two": ("flows home.toml --csv a.png --plot a.png --month 7", "a.png: cannot be both"),
    "csv into no folder": ("flows home.toml --csv none/a.csv", "none/a.csv: folder none does not exist"),
    "csv into a file": ("flows home.toml --csv home.toml/a.csv", "home.toml/a.csv: folder home.toml"),
    "csv onto a folder": ("flows home.toml --csv old", "old: is a folder, must be a file"),
    "csv onto a pipe by force": ("flows home.toml --csv old/pipe --force", "old/pipe: ", "must be a"),
    "csv onto a file": ("flows home.toml --csv old/a.csv", "old/a.csv: exists; --force replaces it"),
    "picture onto a file": ("flows home.toml --plot old/a.svg --month 7", "old/a.svg: exists; --force replaces it"),
    "new onto a file": ("new home.toml", "home.toml: exists; --force replaces it"),
    "csv of a long name": (f"flows home.toml --csv {'x' * 300}", "xxx: ", "File name too long"),
}


@pytest.mark.parametrize("case", COMMANDS.values(), ids=list(COMMANDS))
def test_a_wrong_command_is_refused_and_leaves_all_files_alone(tmp_path: Path, case: tuple[str, ...]) -> None:
    write_home(tmp_path / "home.toml")
    write_home(tmp_path / "priced.toml", costs={"parts": [{"name": "all", "quantity": 1, "unit_price": 9000}]})
    (tmp_path / "old").mkdir()
    for name in ("a.csv", "a.svg"):
        (tmp_path / "old" / name).write_text("kept\n")
    os.mkfifo(tmp_path / "old" / "pipe")
    # One of them as a person would start it.
    assert_refused(tmp_path, *case, by=process if case is COMMANDS["new onto a file"] else run)


def test_no_command_at_all_shows_help_line_by_line(tmp_path: Path) -> None:
    done = run(folder=tmp_path)
    help_text = done.stdout + done.stderr
    assert re.search(r"^ *compare  ", help_text, re.MULTILINE), help_text


def column(*values: object, name: str = "load_kw", fill: str = "0.5", rows: int = 8760) -> str:
    """Write a CSV of one year that begins with these values."""
    return "\n".join([name, *map(str, values), *[fill] * (rows - len(values))]) + "\n"


def sky(*values: str, name: str = SKY, rows: int = 8760) -> str:
    """Write a CSV of a dark mild year that begins with these rows."""
    return column(*values, name=name, fill="0,0,0,10,2", rows=rows)


def changed(lines: list[str], number: int, field: int, value: str) -> str:
    """Replace one field of one line, both counted from 1."""
    fields = lines[number - 1].split(",")
    fields[field - 1] = value
    return "\n".join([*lines[: number - 1], ",".join(fields), *lines[number:]]) + "\n"


def epw(rows: int = 8760) -> list[str]:
    """Write a dark year as EPW."""
    hours = [datetime(2001, 1, 1) + timedelta(hours=hour) for hour in range(rows)]
    body = [f"2001,{t.month},{t.day},{t.hour + 1},0,?,10,5,60,101325" + ",0" * 25 for t in hours]
    return ["LOCATION,Here,NC,USA,none,0,36,-80,-5,270", *["COMMENTS"] * 7, *body]


WEATHER: dict[str, tuple[str, str | None, list[str]]] = {
    "missing": ("tmy3", None, ["cannot be read: No such file"]),
    "empty": ("tmy3", " \n", ["is empty"]),
    "tmy3 cut short": ("tmy3", "\n".join(TMY3[:5000]), ["has 4998 hours", "8760", "cut short"]),
    "tmy3 with a row cut": ("tmy3", "\n".join([*TMY3[:99], TMY3[99][:30], *TMY3[100:]]), ["line 100 has 9 of"]),
    "tmy3 with text": ("tmy3", changed(TMY3, 100, 5, "x"), ["line 100", "GHI", "'x'", "must be a number"]),
    "tmy3 without a column": ("tmy3", changed(TMY3, 2, 5, "Sun"), ["no column 'GHI (W/m^2)'"]),
    "tmy3 out of order": ("tmy3", "\n".join([*TMY3[:98], *TMY3[99:97:-1], *TMY3[100:]]), ["row 97 is out of order"]),
    "tmy3 nowhere": ("tmy3", changed(TMY3, 1, 5, "north"), ["line 1", "latitude", "'north'", "must be a number"]),
    "tmy3 beyond the pole": ("tmy3", changed(TMY3, 1, 5, "136.1"), ["latitude", "136.1", "from -90 to 90"]),
    "tm2 called tmy3": ("tmy3", "\n".join(TM2), ["is of format tm2, not tmy3", 'write format = "tm2"']),
    "csv called tmy3": ("tmy3", sky(rows=8761), ["is of format csv, not tmy3"]),
    "tmy3 called tm2": ("tm2", "\n".join(TMY3), ["is of format tmy3, not tm2"]),
    "tm2 without its first line": ("tm2", "\n".join(["Miami", *TM2[1:]]), ["TM2", "line 1"]),
    "csv called epw": ("epw", sky(), ["is of format csv, not epw"]),
    "text called epw": ("epw", "hello\n" * 9000, ["is not an EPW file", "LOCATION"]),
    "epw cut short": ("epw", "\n".join(epw(100)), ["has 100 hours", "8760", "cut short"]),
    "epw cut in a row": ("epw", "\n".join([*epw(100), "2001,1,5"]), ["line 109 has 3 of 35 columns"]),
    "epw with text": ("epw", changed(epw(), 100, 14, "x"), ["line 100", "'x'", "must be a number"]),
    "epw with half a header": ("epw", "\n".join(["LOCATION,Here", *epw()[1:]]), ["has 2 fields, must have 10"]),
    "epw of no latitude": ("epw", changed(epw(), 1, 7, "nan"), ["latitude", "nan", "from -90 to 90"]),
    "csv without a column": ("csv", sky(name=SKY.replace("dni", "dnl")), ["no column 'dni_w_m2'", "'dnl_w_m2'?"]),
    "csv with text": ("csv", sky("0,0,0,10,2", "0,x,0,10,2"), ["line 3: dni_w_m2 is 'x', must be a number"]),
    "csv with nan": ("csv", sky("0,0,0,nan,2"), ["line 2: temp_air_c is nan, must be a finite number"]),
    "csv with a row cut": ("csv", sky("0,0,0"), ["line 2 has 3 of 5 columns"]),
    "csv with decimal commas": ("csv", sky("0,0,0,10,5,2,5"), ["line 2 has 7 of 5 columns"]),
    "csv too bright": ("csv", sky("5000,0,0,10,2"), ["ghi_w_m2 is 5000 in hour 1", "from 0 to 1500"]),
    "csv cut short": ("csv", sky(rows=8759), ["has 8759 hours", "8760"]),
    "tm2 with a row cut": ("tm2", "\n".join([*TM2[:99], TM2[99][:30], *TM2[100:]]), ["line 100", "temp_air_c is"]),
    "epw of half hours": ("epw", "\n".join([*epw(), *epw()[8:]]), ["has 17520 hours", "half hours"]),
    "epw out of order": ("epw", "\n".join([*epw()[:9], *epw()[10:], epw()[9]]), ["row 2 is out of order"]),
}


@pytest.mark.parametrize(("kind", "text", "says"), WEATHER.values(), ids=list(WEATHER))
def test_wrong_weather_is_told_by_file_and_line(tmp_path: Path, kind: str, text: str | None, says: list[str]) -> None:
    if text is not None:
        (tmp_path / "sky.txt").write_text(text, encoding="utf-8")
    place = {"place": PLACE} if kind == "csv" else {}
    write_home(tmp_path / "home.toml", weather={"file": "sky.txt", "format": kind, **place})
    assert_refused(tmp_path, "flows home.toml --csv hours.csv", "sky.txt: ", *says)


LOADS: dict[str, tuple[str | None, list[str]]] = {
    "missing": (None, ["cannot be read: No such file"]),
    "empty": ("", ["is empty"]),
    "row missing": (column(rows=8759), ["has 8759 rows", "8760"]),
    "negative": (column(0.5, -0.5), ["load_kw is -0.5 in row 2", "from 0 to 200"]),
    "watts": (column(450, 1500), ["load_kw is 450 in row 1", "from 0 to 200"]),
    "text": (column(0.5, "off"), ["line 3: load_kw is 'off', must be a number"]),
    "nan": (column("nan"), ["line 2: load_kw is nan, must be a finite number"]),
    "decimal comma": (column("0,5", fill="0,5"), ["line 2 has 2 of 1 columns"]),
    "column misspelled": (column(name="load_kwh"), ["no column 'load_kw'", "'load_kwh'?"]),
    "other columns": (column(name="use,when", fill="0.5,noon"), ["no column 'load_kw'; it has: use, when"]),
    "quote left open": (column(name='"load_kw'), ["cannot be read as CSV"]),
    "quote left open, long": (column(name='"load_kw', fill="0.5" + "0" * 15), ["cannot be read as CSV"]),
}


@pytest.mark.parametrize(("text", "says"), LOADS.values(), ids=list(LOADS))
def test_a_wrong_load_file_is_told_by_file_and_line(tmp_path: Path, text: str | None, says: list[str]) -> None:
    if text is not None:
        (tmp_path / "load.csv").write_text(text, encoding="utf-8")
    write_home(tmp_path / "home.toml", load={"file": "load.csv"})
    assert_refused(tmp_path, "flows home.toml --csv hours.csv", "load.csv: ", *says)


BAD_NAMES = [{"weather__file": "a\0b"}, {"load": {"file": "~nobody-here/a.csv"}}]


@pytest.mark.parametrize("changes", BAD_NAMES, ids=["null byte", "home of nobody"])
def test_a_file_name_that_no_file_can_have_is_refused(tmp_path: Path, changes: dict[str, Any]) -> None:
    write_home(tmp_path / "home.toml", **changes)
    assert_refused(tmp_path, "flows home.toml", "cannot be read")
