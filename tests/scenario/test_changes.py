"""One way to vary a home: dotted keys with values in, a validated scenario out."""

import re
from typing import Any

import pytest
from pydantic import ValidationError

from solarsim.errors import ScenarioError
from solarsim.scenario._changes import changes_from
from solarsim.scenario.model import LoadScenario, RoofScenario, Scenario, WeatherScenario
from solarsim.scenario.needs import COSTS, require
from solarsim.scenario.read import packaged_folder, read_scenario
from tests.builders import content, scenario

FOLDER = packaged_folder("scenarios")


@pytest.mark.parametrize(
    ("changes", "path", "value"),
    [
        ({"battery.bank.0.strings": 3}, ("battery", "bank", 0, "strings"), 3),
        ({"battery.bank.*.cell_v": 3.25}, ("battery", "bank", 1, "cell_v"), 3.25),
        ({'strategies."zero export".reserve': 0.3}, ("strategies", 3, "reserve"), 0.3),
        ({"strategies.'zero export'.reserve": 0.3}, ("strategies", 3, "reserve"), 0.3),
        ({"arrays.*.tilt_deg": 10}, ("arrays", 1, "tilt_deg"), 10),
        ({"rate_plan.rates.night.import_price": 0.05}, ("rate_plan", "rates", 2, "import_price"), 0.05),
        ({"load.monthly_kwh.0": 900}, ("load", "monthly_kwh", 0), 900),
        ({"battery.heater.w": 50, "battery.heater.below_c": 5}, ("battery", "heater", "w"), 50),
        ({"grid": None}, ("grid",), None),
        ({"strategies.0": None}, ("strategies", 0, "name"), "hold for the peak"),
        ({"strategies.0": None, "strategies.1": None}, ("strategies", 0, "name"), "winter night charge"),
        ({"production_log.monthly_kwh.2025-01": 500}, ("production_log", "monthly_kwh", "2025-01"), 500),
        ({"description": "none"}, ("description",), "none"),
    ],
)
def test_change_reaches_its_key(demo: Scenario, changes: dict[str, Any], path: tuple[Any, ...], value: object) -> None:
    found: Any = demo.changed(changes)
    for part in path:
        found = found[part] if isinstance(part, int) or isinstance(found, dict) else getattr(found, part)
    assert found == value


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"batery.place": "garage"}, r"^batery.place: unknown key 'batery'; did you mean 'battery'\?$"),
        ({"battery.plce": "garage"}, r"^battery.plce: unknown key 'plce'; did you mean 'place'\?$"),
        ({"battery.plce": None}, "unknown key 'plce'"),
        ({"strategies.zero export.reserve": 0.3}, "is written in quotes"),
        ({'strategies."zero exprt".reserve': 0.3}, "no entry is named 'zero exprt'; did you mean 'zero export'"),
        ({"strategies.7.reserve": 0.3}, "entry 7 .the 8th. is not there; known: 0 .the 1st. to 4 .the 5th."),
        ({"ac_inverters.*.ac_kw": 3.0}, r"\* means every entry, and there is none"),
        ({"name.first": "x"}, "leads into 'Greensboro family home'"),
        ({"inverter.battery_charge_kw.peak": 1.0}, "battery_charge_kw is a value, it has no key 'peak'"),
        ({"system": 1}, "can only be removed: system = none"),
        ({"battery.capacity_kwh": -5.0, "battery.bank": None}, r"capacity_kwh: -5.0 must be at least 0"),
        ({"strategies.0.reserve": 7.0}, r"strategies.1st.reserve: 7.0 must be at most 1"),
        ({"battery.bank": None}, "give either the bank"),
        ({"site": None}, "site: is missing"),
    ],
)
def test_wrong_change_is_refused(demo: Scenario, changes: dict[str, Any], says: str) -> None:
    with pytest.raises(ScenarioError, match=says):
        demo.changed(changes)


def test_changes_are_validated_together(demo: Scenario) -> None:
    """Either of them alone would leave two sizes or none."""
    changed = demo.changed({"battery.bank": None, "battery.capacity_kwh": 12.0, "battery.nominal_v": 51.2})
    assert changed.battery is not None
    assert changed.battery.kwh == 12.0
    with pytest.raises(ScenarioError) as refused:
        demo.changed({"bttery.place": 1, "strategies.9.reserve": 0.5})
    assert len(refused.value.problems) == 2


def test_original_is_left_alone(demo: Scenario) -> None:
    before = demo.tables
    demo.changed({"battery.bank.*.strings": 9, "strategies.0": None})
    assert demo.tables == before
    demo.tables["name"] = "other"
    assert demo.tables == before


def test_battery_none_removes_what_only_a_battery_needs_and_says_so(demo: Scenario) -> None:
    bare = demo.changed({"battery": None})
    assert bare.battery is None
    assert bare.arrangement is not None
    assert bare.arrangement.kind == "grid_tied"
    assert bare.life is not None
    assert bare.life.battery_fade_per_year is None
    told = " ".join(bare.notes)
    assert all(words in told for words in ("grid_tied", "life.battery_fade_per_year"))
    assert bare.changed({"site.albedo": 0.3}).notes == bare.notes


def test_system_none_says_what_it_removed(demo: Scenario) -> None:
    assert demo.changed({"system": None}).notes == (
        "no system: inverter, strategies, wiring, arrays, modules, battery, costs, life, production_log, size are left"
        " out",
    )


def test_without_its_tables_a_home_says_that_the_system_is_gone(demo: Scenario) -> None:
    with pytest.raises(ScenarioError, match=r"has no table \[costs\].*\(no system: inverter, strategies, wiring"):
        require(demo.changed({"system": None}), COSTS)


def test_costs_and_circuits_of_an_array_go_with_it() -> None:
    """The farm's barn has a part of its own; what names an array that was never there stays wrong."""
    farm = read_scenario(FOLDER / "ridge_farm.toml")
    assert farm.costs is not None
    own = [part.name for part in farm.costs.parts if part.array == "barn"]
    assert own
    left = farm.changed({"arrays.barn.strings": 0})
    assert left.costs is not None
    assert [part.name for part in farm.costs.parts if part.name not in own] == [part.name for part in left.costs.parts]
    assert "barn" not in [array.name for array in left.arrays]
    with pytest.raises(ScenarioError, match="'hayloft' is not in arrays"):
        farm.changed({"arrays.barn.strings": 0, "costs.parts.0.module": None, "costs.parts.0.array": "hayloft"})


def test_off_grid_home_needs_its_battery(demo: Scenario) -> None:
    cabin = demo.changed({"arrangement": {"kind": "off_grid", "grid": "none"}})
    with pytest.raises(ScenarioError, match=r"kind 'off_grid' needs a \[battery\]"):
        cabin.changed({"battery": None})


@pytest.mark.parametrize("name", ["greensboro", "net_shed", "storm_coast"])
def test_system_none_leaves_the_grid_alone(name: str) -> None:
    from solarsim.run import simulate, without_system

    home = read_scenario(FOLDER / f"{name}.toml").changed({"system": None})
    (only,) = home.strategies
    alone, baseline = simulate(home, only.name), without_system(home)
    assert (alone.flows["import_kw"] == pytest.approx(baseline.flows["import_kw"], abs=1e-9)) is True
    assert alone.ledger.annual_bill == pytest.approx(baseline.ledger.annual_bill)


def test_rate_plan_of_its_own_file_is_changed_like_any_table() -> None:
    path = FOLDER / "rate_plans" / "flat.toml"
    home = read_scenario(content(rate_plan=str(path)))
    assert home.tables["rate_plan"] == str(path)
    assert home.changed({"rate_plan.customer_charge_per_month": 3.0}).rate_plan.customer_charge_per_month == 3.0
    assert home.changed({"name": "other"}).rate_plan == home.rate_plan


@pytest.mark.parametrize(
    ("text", "key", "value"),
    [
        ("battery=none", "battery", None),
        ('description="none"', "description", "none"),
        ("site.albedo=0.3", "site.albedo", 0.3),
        ("site.step_minutes = 30", "site.step_minutes", 30),
        ("grid={ export_limit_kw = 0 }", "grid", {"export_limit_kw": 0}),
        ("name=my own home", "name", "my own home"),
        ("name=a=b", "name", "a=b"),
        ('strategies."a=b".reserve=0.5', 'strategies."a=b".reserve', 0.5),
        ("battery_serves_load=true", "battery_serves_load", True),
        ("name=1\nsite=2", "name", "1\nsite=2"),
    ],
)
def test_text_of_the_command_line_is_toml_else_text(text: str, key: str, value: object) -> None:
    assert changes_from([text]) == {key: value}


@pytest.mark.parametrize(
    ("texts", "says"), [(["battery"], "must be KEY=VALUE"), (["=3"], "KEY=VALUE"), (["a=1", "a=2"], "twice")]
)
def test_wrong_text_is_refused(texts: list[str], says: str) -> None:
    with pytest.raises(ScenarioError, match=says):
        changes_from(texts)


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.toml")), ids=lambda path: path.stem)
def test_scenario_is_read_alike_from_file_text_and_tables(path: Any) -> None:
    read = read_scenario(path)
    for source in (path.read_text(), read.tables):
        again = read_scenario(source, folder=path.parent)
        assert again.model_dump() == read.model_dump()
        assert again.file("x") == read.file("x")


def test_bare_name_finds_a_packaged_example() -> None:
    assert read_scenario("miami").name == "Miami bungalow"
    with pytest.raises(
        ScenarioError, match=r"^miam: is neither a file nor a packaged example; did you mean 'miami'\?$"
    ):
        read_scenario("miam")
    with pytest.raises(
        ScenarioError, match="atlantis: is neither a file nor a packaged example; allowed: greensboro, miami"
    ):
        read_scenario("atlantis")


def test_no_way_around_validation(demo: Scenario) -> None:
    strategy = demo.strategies[0]
    for way in (
        lambda: strategy.model_copy(update={"reserve": 7.0}),
        lambda: type(strategy).model_construct(name="x", surplus_to="battery", battery_serves_load=True, reserve=7.0),
        lambda: demo.model_copy(update={"strategies": [{"name": "x"}]}),
    ):
        with pytest.raises((ValidationError, ScenarioError), match=r"reserve"):
            way()
    assert strategy.model_copy(update={"reserve": 0.4}).reserve == 0.4


def test_model_copy_keeps_what_is_private() -> None:
    prices = FOLDER / "rate_plans" / "flat.toml"
    home = read_scenario(content(rate_plan=str(prices)))
    assert home.rate_plan.export.model_copy(update={"price": 0.01})._hourly is home.rate_plan.export._hourly


@pytest.mark.parametrize("kind", [WeatherScenario, LoadScenario, RoofScenario])
def test_part_of_a_scenario_needs_its_own_tables_only(kind: type[WeatherScenario]) -> None:
    whole = content()
    tables = {key: table for key, table in whole.items() if key in kind.model_fields}
    assert read_scenario(tables, kind=kind).site.name == "plain place"
    wrong = {**whole, "strategies": [], "rate_plan": {"name": 3}}
    assert read_scenario(wrong, kind=kind).name == "plain home"
    with pytest.raises(ScenarioError, match=re.escape("rate_plan.customer_charge_per_month: is missing")):
        read_scenario(wrong)
    with pytest.raises(ScenarioError, match=r"^strategie: unknown key; did you mean 'strategies'\?$"):
        read_scenario({**tables, "strategie": []}, kind=kind)
    with pytest.raises(ScenarioError, match="weather: is missing"):
        read_scenario({key: table for key, table in tables.items() if key != "weather"}, kind=kind)


def test_changes_of_a_part_stay_of_its_kind() -> None:
    part = read_scenario(content(), kind=LoadScenario).changed({"load.monthly_kwh.*": 500.0})
    assert type(part) is LoadScenario
    assert part.load.monthly_kwh == (500.0,) * 12
    assert scenario().changed({"site.step_minutes": 30}).site.step_minutes == 30


def test_places_in_messages_can_be_written_in_changes(demo: Scenario) -> None:
    """A message that names the 2nd strategy and a change of the 2nd strategy mean the same one."""
    with pytest.raises(ScenarioError, match=r"strategies.2nd.reserve: 7 must be at most 1"):
        demo.changed({"strategies.2nd.reserve": 7})
    changed = demo.changed(
        {"strategies.2nd.reserve": 0.31, "strategies.0.reserve": 0.32, "strategies.1st.off_grid_floor": 0.15}
    )
    assert [strategy.reserve for strategy in changed.strategies[:2]] == [0.32, 0.31]
    assert changed.strategies[0].off_grid_floor == 0.15
    for wrong in ("strategies.2st.reserve", "strategies.0th.reserve", 'strategies."2nd".reserve'):
        with pytest.raises(ScenarioError, match="no entry is named"):
            demo.changed({wrong: 0.3})


@pytest.mark.parametrize(
    "changes",
    [
        {"inverter.standby_w": 33.0},
        {"inverter.standby_w": "0.033 kW", "costs.o_and_m_per_year": "95 USD"},
        {"battery": None},
        {"arrays.0.modules_in_series": 0},
        {"site.albedo": 0.3, "life.years": 26},
        {"rate_plan.customer_charge_per_month": 3.0},
        {"strategies.0.reserve": 0.4},
    ],
)
@pytest.mark.parametrize("name", ["greensboro", "storm_coast", "ridge_farm"])
def test_what_no_change_reaches_is_kept_and_all_is_as_if_read_anew(name: str, changes: dict[str, Any]) -> None:
    written = read_scenario(name)
    before = written.tables
    changed = written.changed(changes)
    anew = read_scenario(changed.tables, folder=written.file(""))
    assert changed.model_dump() == anew.model_dump()
    assert changed.model_fields_set == anew.model_fields_set
    assert (changed.load is written.load) == all(not key.startswith("rate_plan") for key in changes)  # may name files
    assert written.tables == before


def test_axes_and_dated_changes_follow_the_entries_that_move_up(demo: Scenario) -> None:
    """The first strings of cells go: what named the second names the first, what named the first is left out."""
    rows = ["battery.bank.0.strings", "battery.bank.2nd.strings", 'arrays."south roof".strings', "inverter.ac_kw"]
    axes = [{"key": key, "values": [1, 2]} for key in rows]
    later = [
        {"name": "one", "year": 3, "set": ["battery.bank.0.strings=2", "inverter.standby_w=50"]},
        {"name": "other", "year": 4, "set": ["battery.bank.1.strings=3"]},
        {"name": "gone", "year": 5, "set": ["battery.bank.0.strings=3"]},
    ]
    home = demo.changed({"size.axes": axes, "life.changes": later})
    left = home.changed({"battery.bank.0.strings": 0})
    assert left.size is not None
    assert left.life is not None
    assert [axis.key for axis in left.size.axes] == ["battery.bank.0.strings", *rows[2:]]
    assert [each.set for each in left.life.changes] == [("inverter.standby_w=50",), ("battery.bank.0.strings=3",)]
    assert "life.changes: 'gone' is left out: what it changes is not there any more" in left.notes
    assert "size.axes: battery.bank.0.strings is left out: it is not there any more" in left.notes
    without = home.changed({"battery": None, "arrays.0.strings": 0})
    assert without.size is not None
    assert [axis.key for axis in without.size.axes] == ["inverter.ac_kw"]
    assert home.changed({"battery.bank.1.strings": 0}).size == home.changed({"battery.bank.1": None}).size


def test_windows_that_a_change_does_not_reach_are_on_a_step_unless_the_steps_change() -> None:
    """What is known to be on a step is not looked at again, as long as the steps are the same."""
    night = {"from": "00:30", "to": "06:00", "battery_serves_load": False}
    first = {**content()["strategies"][0], "windows": [night]}
    half = scenario(site__step_minutes=30, strategies=[first])
    assert half.changed({"inverter.standby_w": 30}).inverter.standby_w == 30
    with pytest.raises(ScenarioError, match=r"strategies.1st.windows.1st.from: '00:30'"):
        half.changed({"site.step_minutes": 60})
    with pytest.raises(ScenarioError, match=r"strategies.1st.windows.1st.to: '06:15'"):
        half.changed({"strategies.0.windows.0.to": "06:15"})
