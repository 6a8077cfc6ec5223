"""What a meter CSV may leave open: one line names the key that settles it."""

import re
from pathlib import Path
from typing import Any

import pytest

from solarsim.errors import LoadError
from tests.load.meter.files import H, V, dotted, hours, lines, plain, read, table, values

OPEN_QUESTIONS: dict[str, tuple[str, str]] = {
    "clock": (
        plain(),
        "it is unclear whether times are local (wall-clock) time or UTC: they have no UTC offset, and no hour is"
        ' skipped in spring or repeated in fall; set clock = "wall" or "utc" next to the file\'s name in the scenario',
    ),
    "a year without a doubled hour": (
        table("Start,kWh", hours(8784, "2024-01-01T00:00"), values(8784)),
        'set clock = "wall" or "utc"',
    ),
    "letters of one zone": (table("Start,kWh", [f"{each} EST" for each in H], V), "clock"),
    "labels": (
        plain(head="Time,kWh"),
        'it is unclear whether \'Time\' is the start or the end of the interval; set labels = "start" or "end"',
    ),
    "labels of two columns": (
        table("Date,Time,kWh", [each.replace(" ", ",") for each in H], V),
        "it is unclear whether 'Time' is the start",
    ),
    "unit": (
        plain(head="Start,Usage"),
        '\'Usage\' has no unit; set unit = "kwh" or "wh" or "kw" or "w"',
    ),
    "unit of export": (table("Start,Usage kWh,Export", H, V, V), "'Export' has no unit"),
    "unit in megawatt hours": (
        table("Start,Usage,Unit", H, V, ["MWh"] * 30),
        "'Usage' has no unit; set unit",
    ),
    "order of day and month": (
        table("Start,kWh", dotted("01/02/2024", "02/02/2024"), values(48)),
        'the order of day and month is unclear, the first date is \'01/02/2024\'; set date_order = "dmy" or "mdy"',
    ),
    "order of short dates": (
        table("Start,kWh", dotted("01/02/03", "02/02/03"), values(48)),
        'date_order = "dmy" or "mdy" or "ymd"',
    ),
    "decimals": (
        table("Start;kWh", H, ["1,234", "2,345"] * 15, delimiter=";"),
        'numbers such as \'1,234\' could have thousands or decimals; set decimal = "." or ","',
    ),
    "decimals after a point": (
        table("Start;kWh", H, ["1.234", "2.345"] * 15, delimiter=";"),
        "numbers such as '1.234' could have thousands or decimals",
    ),
    "delimiter": (
        lines("a,b,c;d,e", *(f"{each},{each},1,x;{each};2" for each in H)),
        'columns could be separated by commas or semicolons; set delimiter = "," or ";"',
    ),
    "register": (
        table("Start,kWh", H, [1000 + row / 2 for row in range(30)]),
        '\'kWh\' never falls, as a register does; set kind = "register" or "interval"',
    ),
    "register that stands for hours": (table("Start,kWh", H, [12345.6] * 29 + [12345.7]), "kind"),
    "import": (
        table("Start,Day kWh,Night kWh", H, V, V),
        "several columns could be import: 'Day kWh', 'Night kWh'; set import_column",
    ),
    "no import": (
        table("Start,Export kWh", H, V),
        "no column is import, only 'Export kWh'; set import_column",
    ),
    "what panels produce": (table("Start,Production kWh", H, V), "no column is import, only 'Production kWh'"),
    "import or export in one name": (
        table("Start,Export and import kWh", H, V),
        "no column is import, only 'Export and import kWh'",
    ),
    "export": (
        table("Start,Import kWh,Export kWh,Generation kWh", H, V, V, V),
        "several columns could be export: 'Export kWh', 'Generation kWh'; set export_column",
    ),
    "time columns": (
        table("Read,Logged,kWh", H, H, V),
        "several columns have times: 'Read', 'Logged'; set time_columns",
    ),
    "days alone": (
        table("Date,kWh", [f"2024-01-{day:02d}" for day in range(1, 31)], V),
        "has dates ('Date') but no time of day; readings must be hourly or finer; if a column counts the hours of the"
        " day, name the columns of dates and hours in time_columns",
    ),
}


@pytest.mark.parametrize("name", OPEN_QUESTIONS)
def test_what_is_open_is_asked_for(tmp_path: Path, name: str) -> None:
    text, message = OPEN_QUESTIONS[name]
    with pytest.raises(LoadError, match=re.escape(message)) as caught:
        read(tmp_path, text)
    assert all(line.startswith(str(tmp_path)) for line in caught.value.problems)


@pytest.mark.parametrize(
    ("name", "settled"),
    [
        ("clock", {"clock": "utc"}),
        ("labels", {"labels": "end", "clock": "utc"}),
        ("unit", {"unit": "kw", "clock": "utc"}),
        ("order of day and month", {"date_order": "mdy", "clock": "utc"}),
        ("order of short dates", {"date_order": "ymd", "clock": "utc"}),
        ("decimals", {"decimal": ",", "clock": "utc"}),
        ("decimals after a point", {"decimal": ",", "clock": "utc"}),
        ("register", {"kind": "register", "clock": "utc"}),
        ("register", {"kind": "interval", "clock": "utc"}),
        ("import", {"import_column": "Night kWh", "clock": "utc"}),
        ("export", {"export_column": "Export kWh", "clock": "utc"}),
        ("time columns", {"time_columns": ("Read",), "labels": "start", "clock": "utc"}),
        ("letters of one zone", {"clock": "wall"}),
    ],
)
def test_the_named_key_settles_it(tmp_path: Path, name: str, settled: dict[str, Any]) -> None:
    assert read(tmp_path, OPEN_QUESTIONS[name][0], **settled).import_kwh.size > 20


def test_what_may_be_a_register_is_not_asked_for_its_labels(tmp_path: Path) -> None:
    with pytest.raises(LoadError, match="'kWh' never falls") as caught:
        read(tmp_path, table("Time,kWh", H, [1000 + row / 2 for row in range(30)]), clock="utc")
    assert len(caught.value.problems) == 1


def test_all_open_questions_are_asked_at_once(tmp_path: Path) -> None:
    with pytest.raises(LoadError, match="unit") as caught:
        read(tmp_path, plain(head="Time,Usage"))
    asked = [line.partition("; set ")[2].split()[0] for line in caught.value.problems]
    assert asked == ["clock", "labels", "unit"]
