"""Tables of homes: rows in, homes with their changes out; what is wrong as a whole is refused."""

from pathlib import Path

import pandas as pd
import pytest

from solarsim.errors import ScenarioError
from solarsim.scenario.homes import read_homes
from tests.studies.fleet.homes import some_homes, write_base, write_homes


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_base(tmp_path)
    return tmp_path


def table_of(folder: Path, text: str, labels: tuple[str, ...] = ()) -> list[tuple[object, ...]]:
    (folder / "homes.csv").write_text(text)
    return [(row.id, row.changes, row.problem) for row in read_homes(folder / "homes.csv", labels).rows()]


def test_cells_are_read_as_on_the_command_line_and_empty_ones_change_nothing(folder: Path) -> None:
    rows = table_of(
        folder,
        "id,scenario,load.monthly_kwh,battery.capacity_kwh,battery,site.name\n"
        'a,plain.toml,"[1, 2]",7,,Elm Street 1\n\n'
        "b,plain.toml, ,  ,none,\n",
    )
    assert rows == [
        ("a", {"load.monthly_kwh": [1, 2], "battery.capacity_kwh": 7, "site.name": "Elm Street 1"}, None),
        ("b", {"battery": None}, None),
    ]


def test_a_bad_row_is_kept_with_its_reason(folder: Path) -> None:
    rows = table_of(
        folder,
        "id,scenario,site.name\na,plain.toml\n,plain.toml,x\nc,,x\nd,nowhere,x\n",
    )
    assert rows == [
        ("a", {}, "line 2 has 2 of 3 columns"),
        (None, {}, "line 3: id is empty"),
        ("c", {}, "line 4: scenario is empty"),
        ("d", {}, rows[3][2]),
    ]
    assert "nowhere: is neither a file nor a packaged example" in str(rows[3][2])


def test_paths_are_relative_to_the_table_and_packaged_examples_have_bare_names(folder: Path) -> None:
    (folder / "homes.csv").write_text("id,scenario\na,plain.toml\nb,miami\nc,other/gone.toml\n")
    found = [row.scenario for row in read_homes(folder / "homes.csv").rows()]
    assert found[0] == folder / "plain.toml"
    assert found[1] is not None
    assert (found[1].name, found[1].exists()) == ("miami.toml", True)
    assert found[2] == folder / "other" / "gone.toml"


def test_parquet_holds_the_same_homes_as_csv(folder: Path) -> None:
    rows = some_homes(9)
    write_homes(folder / "homes.csv", rows)
    frame = pd.DataFrame(rows).replace("", None)
    frame["battery.capacity_kwh"] = frame["battery.capacity_kwh"].astype(float)
    frame.to_parquet(folder / "homes.parquet")
    one, other = (read_homes(folder / f"homes.{kind}", ("feeder",)) for kind in ("csv", "parquet"))
    assert one.columns == other.columns
    assert one.count == other.count == 9
    assert [row.changes for row in one.rows()] == [row.changes for row in other.rows()]


def test_calendar_years_strategies_and_steps_are_told(folder: Path) -> None:
    write_base(folder, "quarter.toml", site__step_minutes=15)
    (folder / "homes.csv").write_text("id,scenario,site.calendar_year\na,plain.toml,2025\nb,quarter.toml,\n")
    found = read_homes(folder / "homes.csv")
    assert (found.years, found.most_strategies, found.step_minutes) == ((2025, 2026), 2, 15)


def test_digest_changes_with_table_and_scenario(folder: Path) -> None:
    write_homes(folder / "homes.csv", some_homes(2))
    first = read_homes(folder / "homes.csv", ("feeder",)).digest
    assert read_homes(folder / "homes.csv", ("feeder",)).digest == first
    write_base(folder, site__albedo=0.3)
    assert read_homes(folder / "homes.csv", ("feeder",)).digest != first


BAD = {
    "empty": ("", "homes.csv: is empty"),
    "no homes": ("id,scenario\n", "homes.csv: holds no homes"),
    "no id": ("name,scenario\na,plain.toml\n", "homes.csv: has no column 'id'"),
    "no scenario": ("id\na\n", "homes.csv: has no column 'scenario'"),
    "twice": ("id,scenario,id\na,plain.toml,b\n", "homes.csv: has two columns 'id'"),
    "no name": ("id,scenario,\na,plain.toml,b\n", "homes.csv: column 3 has no name"),
    "semicolons": ("id;scenario\na;plain.toml\n", "separated by ';', must be separated by ','"),
    "same id": ("id,scenario\na,plain.toml\nb,plain.toml\na,plain.toml\n", "id 'a' appears in lines 2 and 4"),
    "misspelled": ("id,scenario,load.monthly_kw\na,plain.toml,3\n", "did you mean 'monthly_kwh'?; a column that is no"),
    "no key": ("id,scenario,feeder\na,plain.toml,3\n", "column feeder: unknown key 'feeder'"),
    "open quote": ('id,scenario\n"a,plain.toml\n', "cannot be read as CSV"),
}


@pytest.mark.parametrize(("text", "says"), BAD.values(), ids=list(BAD))
def test_a_table_that_is_wrong_as_a_whole_is_refused(folder: Path, text: str, says: str) -> None:
    with pytest.raises(ScenarioError) as caught:
        table_of(folder, text)
    assert says in str(caught.value)


def test_many_ids_that_appear_twice_are_counted(folder: Path) -> None:
    rows = "".join(f"h{number % 10},plain.toml\n" for number in range(20))
    with pytest.raises(ScenarioError, match="7 more ids appear twice"):
        table_of(folder, f"id,scenario\n{rows}")


def test_other_encodings_and_labels_that_are_not_there_are_refused(folder: Path) -> None:
    (folder / "homes.csv").write_bytes(b"id,scenario\n\xff\xfe,plain.toml\n")
    with pytest.raises(ScenarioError, match="is not UTF-8 text"):
        read_homes(folder / "homes.csv")
    with pytest.raises(ScenarioError, match=r"has no column 'feder'.*'feeder'"):
        table_of(folder, "id,scenario,feeder\na,plain.toml,b\n", ("feder",))


def test_a_damaged_parquet_file_is_refused(folder: Path) -> None:
    pd.DataFrame(some_homes(3)).drop(columns="battery.capacity_kwh").to_parquet(folder / "whole.parquet")
    (folder / "homes.parquet").write_bytes((folder / "whole.parquet").read_bytes()[:400])
    with pytest.raises(ScenarioError, match="is not a Parquet file that can be read"):
        read_homes(folder / "homes.parquet", ("feeder",))
