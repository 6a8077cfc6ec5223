"""From a file to a scenario."""

from pathlib import Path

import pytest
from pydantic import ValidationError

from solarsim.errors import ScenarioError, UnknownNameError
from solarsim.scenario.read import demo_scenario_path, packaged_folder, read_scenario
from tests.builders import scenario

SCENARIOS = sorted(packaged_folder("scenarios").glob("*.toml"))


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_every_shipped_scenario_reads_and_has_four_to_six_strategies(path: Path) -> None:
    read = read_scenario(path)
    assert 4 <= len(read.strategies) <= 6
    assert read.costs is not None
    assert all(read.file(name).is_file() for name in read.weather.files)


def test_there_are_three_homes_and_the_demo_is_one_of_them() -> None:
    assert len(SCENARIOS) >= 3
    assert demo_scenario_path() in SCENARIOS
    assert read_scenario() == read_scenario(demo_scenario_path())


def test_files_are_looked_for_beside_the_scenario(tmp_path: Path) -> None:
    read = scenario(tmp_path, load={"file": "mine.csv"})
    assert read.file("mine.csv") == tmp_path / "mine.csv"


def test_changes_may_mend_what_is_wrong_in_the_file(tmp_path: Path) -> None:
    """The demo's rebate is a share of a price, which a lease does not have: no tables are checked before changes."""
    demo = demo_scenario_path()
    lease = "\n[costs.lease]\nyears = 20\nmonthly_payment = 95\n"
    (tmp_path / "home.toml").write_text(demo.read_text().replace("discount_rate = 0.05", "discount_rate = 5") + lease)
    with pytest.raises(ScenarioError, match="discount_rate"):
        read_scenario(tmp_path / "home.toml", folder=demo.parent)
    changes = {"costs.lease": None, "life.discount_rate": 0.06}
    mended = read_scenario(tmp_path / "home.toml", folder=demo.parent, changes=changes)
    assert mended.model_dump() == read_scenario().changed({"life.discount_rate": 0.06}).model_dump()


def test_scenario_is_frozen() -> None:
    read = scenario()
    with pytest.raises(ValidationError, match="frozen"):
        read.name = "other"  # type: ignore[misc]


def test_all_problems_are_listed_at_once() -> None:
    with pytest.raises(ScenarioError) as caught:
        scenario(site__albedo=2.0, arrays__0__tilt_deg=120.0, inverter__colour="blue")
    assert len(caught.value.problems) == 3
    assert all(problem.startswith("plain.toml: ") for problem in caught.value.problems)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"site__albedo": 2.0}, r"site\.albedo: 2\.0 must be at most 1"),
        ({"site__albdo": 0.2}, r"site\.albdo: unknown key; did you mean 'albedo'\?"),
        ({"site__name": None}, r"site\.name: is missing"),
        ({"arrays__0__tilt_deg": "steep"}, r"arrays.1st\.tilt_deg: 'steep' must be a number"),
        ({"arrays__0__strings": 1.5}, r"arrays.1st\.strings: 1\.5 must be a whole number"),
        ({"arrays__0__mounting": "rof"}, r"arrays.1st\.mounting: 'rof' is not known; did you mean 'roof'\?"),
        ({"load__monthly_kwh": [1.0] * 11}, r"load\.monthly_kwh: has 11 entries, must have at least 12"),
        ({"rate_plan__currency": "dollars"}, r"rate_plan\.currency: 'dollars' must be three capital letters"),
        ({"site__time_zone": "America/New_Yrok"}, r"did you mean 'America/New_York'"),
        ({"site__time_zone": "CST"}, r"an abbreviation without daylight saving; name a place: 'America/Chicago'"),
        ({"site__time_zone": "localtime"}, r"is not an IANA time zone"),
        ({"weather": {"file": "a.epw", "formt": "epw"}}, r"weather\.format: is missing; is 'formt' misspelled\?"),
        ({"strategies__0__reserve": 20.0}, r"must be at most 1; 20% is written 0\.2"),
        ({"outages": {"events": [{"from": "2026-01-14", "hours": 5}]}}, r"'2026-01-14' must be a date and a time, for"),
        ({"battery__low_cutoff": 10.0}, r"battery\.low_cutoff: 10\.0 must be below 1; 10% is written 0\.1"),
        ({"rate_plan__rates__0__import_price": -1.0}, r"import_price: -1\.0 must be at least 0$"),
        ({"strategies__0__windows": [{"from": "16:00", "to": "21:00"}]}, r"strategies.1st\.windows.1st.* no setting"),
        ({"strategies__0__windows": [{"form": "16:00"}]}, r"windows.1st\.form: unknown key; did you mean 'from'\?"),
    ],
)  # fmt: skip
def test_messages_name_key_value_and_rule(changes: dict[str, object], told: str) -> None:
    with pytest.raises(ScenarioError, match=told):
        scenario(**changes)


def test_unknown_strategy_names_the_nearest() -> None:
    with pytest.raises(
        UnknownNameError, match="'home frist' is not in scenario 'plain home'; did you mean 'home first'"
    ):
        scenario().strategy("home frist")
