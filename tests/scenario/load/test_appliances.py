"""Parts of the house as the user writes them."""

from typing import Any

import pytest
from pydantic import ValidationError

from solarsim.errors import ScenarioError
from solarsim.scenario.load.appliances import ElectricCar, WaterHeater
from tests.builders import scenario
from tests.load.parts import PARTS, part, parts, table


@pytest.mark.parametrize("kind", PARTS)
def test_kind_tells_which_keys_a_part_has(kind: str) -> None:
    one = part(kind, critical=True)
    assert (one.kind, one.critical) == (kind, True)


def test_every_kind_has_its_own_class() -> None:
    house = parts(*(table(kind) for kind in PARTS))
    assert len({type(each) for each in house}) == len(PARTS)
    assert [type(each).__name__ for each in house if isinstance(each, ElectricCar | WaterHeater)] == [
        "ElectricCar",
        "WaterHeater",
    ]


@pytest.mark.by_hand
def test_us_efficiency_is_told_in_watts_per_watt() -> None:
    # 12 Btu/Wh / 3.412142 Btu/Wh = 3.51685.
    cooler = part("air_conditioner", points=[{"at_c": 35, "eer_btu_per_wh": 12}, {"at_c": 27, "cop": 4.5}])
    assert [point.ratio for point in cooler.points] == pytest.approx([3.51685, 4.5], abs=5e-6)


def test_one_number_stands_for_twelve_months() -> None:
    heater = part("water_heater", liters_per_day=0, inlet_c=None, inlet_c_by_month=list(range(12)))
    assert heater.liters_of_month == (0.0,) * 12
    assert heater.inlet_c_of_month == tuple(range(12))


@pytest.mark.parametrize(("kind", "key"), [(kind, key) for kind in PARTS for key in ("name", "critical")])
def test_every_part_must_say_its_name_and_whether_an_outage_spares_it(kind: str, key: str) -> None:
    with pytest.raises(ValidationError, match=rf"{kind}\.{key}\n  Field required"):
        part(kind, **{key: None})


@pytest.mark.parametrize(
    ("kind", "key"),
    [
        *(("appliance", key) for key in ("power_w",)),
        *(("shape", key) for key in ("shape",)),
        *(("electric_car", key) for key in PARTS["electric_car"]),
        *(("heat_pump", key) for key in PARTS["heat_pump"] if key != "max_kw"),
        *(("air_conditioner", key) for key in PARTS["air_conditioner"] if key != "max_kw"),
        *(("water_heater", key) for key in ("water_use", "set_c", "heater_kw")),
        *(("well_pump", key) for key in ("water_use", "head_m", "efficiency", "power_w")),
    ],
)
def test_nothing_that_changes_a_result_is_guessed(kind: str, key: str) -> None:
    with pytest.raises(ValidationError, match=rf"{kind}\.{key}\n  Field required"):
        part(kind, **{key: None})


HALF_DAY = {"from": "06:00", "to": "18:00"}


@pytest.mark.parametrize(
    ("kind", "changes", "told"),
    [
        ("appliance", {"kind": "toaster"}, "does not match any of the expected tags: 'appliance', 'shape', 'elec"),
        ("appliance", {"kind": None}, "Unable to extract tag using discriminator 'kind'"),
        ("appliance", {"colour": "white"}, r"appliance\.colour\n  Extra inputs are not permitted"),
        ("appliance", {"head_m": 3}, r"appliance\.head_m\n  Extra inputs are not permitted"),
        ("appliance", {"critical": "yes"}, "valid boolean"),
        ("appliance", {"name": ""}, "at least 1 character"),
        ("appliance", {"power_w": 0}, "greater than 0"),
        ("appliance", {"power_w": 2e5}, "less than or equal to 100000"),
        ("appliance", {"power_w": "100"}, "valid number"),
        ("appliance", {"always_duty": 35}, "less than or equal to 1"),
        ("appliance", {"always_duty": None}, "give either always_duty or windows"),
        ("appliance", {"windows": [{"duty": 1}]}, "give either always_duty or windows"),
        ("appliance", {"always_duty": None, "windows": [HALF_DAY]}, r"windows\.0\.duty\n  Field required"),
        ("appliance", {"always_duty": None, "windows": [{"from": "06:00", "duty": 1}]}, "only one end: 'to' is miss"),
        ("appliance", {"always_duty": None, "windows": [{"from": "06:20", "to": "07:00", "duty": 1}]}, "half or quar"),
        ("shape", {"monthly_kwh": [1.0] * 12}, "give either annual_kwh or monthly_kwh"),
        ("shape", {"annual_kwh": None}, "give either annual_kwh or monthly_kwh"),
        ("shape", {"annual_kwh": None, "monthly_kwh": [1.0] * 11}, "at least 12 items"),
        ("shape", {"annual_kwh": -1}, "greater than or equal to 0"),
        ("shape", {"shape": "night_owl"}, "should be 'evenings' or 'home_all_day'"),
        ("electric_car", {"kwh_per_km": 18}, r"kwh_per_km\n.*less than or equal to 1"),
        ("electric_car", {"charging_efficiency": 90}, r"charging_efficiency\n.*less than or equal to 1"),
        ("electric_car", {"charger_kw": 7200}, r"charger_kw\n.*less than or equal to 100"),
        ("electric_car", {"battery_kwh": 0}, r"battery_kwh\n.*greater than 0"),
        ("electric_car", {"km_per_day": 40}, "km_per_day"),
        ("electric_car", {"km_per_day": {"weekday": 40}}, r"km_per_day\.weekend\n  Field required"),
        ("electric_car", {"km_per_day": {"weekday": -4, "weekend": 0}}, "greater than or equal to 0"),
        ("electric_car", {"plugged_in": []}, "at least 1 item"),
        ("electric_car", {"waits_for": [{"from": "05:00", "to": "05:00"}]}, "is empty"),
        ("heat_pump", {"points": [{"at_c": 7, "cop": 4}]}, "at least 2 items"),
        ("heat_pump", {"points": [{"at_c": 7, "cop": 4}, {"at_c": 7, "cop": 3}]}, "both points are at 7 C"),
        ("heat_pump", {"points": [{"at_c": 7, "cop": 3}, {"at_c": -7, "cop": 4}]}, "the COP at -7 C is above .* swap"),
        ("heat_pump", {"points": [{"at_c": 7, "cop": 4}, {"at_c": 17, "cop": 0.9}]}, "greater than or equal to 1"),
        ("heat_pump", {"points": [{"at_c": 70, "cop": 4}, {"at_c": 1, "cop": 3}]}, "less than or equal to 60"),
        ("heat_pump", {"base_c": 65}, "less than or equal to 40"),
        ("heat_pump", {"ua_kw_per_k": 200}, "less than or equal to 5"),
        ("heat_pump", {"setbacks": [{"base_c": 20}]}, "setback of heating to 20 C is above base_c 18"),
        ("heat_pump", {"setbacks": [HALF_DAY]}, "either base_c or off = true"),
        ("heat_pump", {"setbacks": [{"base_c": 10, "off": True}]}, "either base_c or off = true"),
        ("air_conditioner", {"points": [{"at_c": 35, "cop": 3}, {"at_c": 35, "cop": 3}]}, "both points are at 35 C"),
        ("air_conditioner", {"points": [{"at_c": 35, "cop": 4}, {"at_c": 27, "cop": 3}]}, "35 C is above that at 27 C"),
        ("air_conditioner", {"points": [{"at_c": 35}, {"at_c": 27, "cop": 3}]}, "either cop .* or eer_btu_per_wh"),
        ("air_conditioner", {"points": [{"at_c": 35, "cop": 12}, {"at_c": 27, "cop": 5}]}, "less than or equal to 10"),
        ("air_conditioner", {"points": [{"at_c": 35, "eer_btu_per_wh": 3}, {"at_c": 1, "cop": 5}]}, "equal to 3.412"),
        ("air_conditioner", {"setbacks": [{"base_c": 20}]}, "setback of cooling to 20 C is below base_c 22"),
        ("air_conditioner", {"sun_m2": -1}, "greater than or equal to 0"),
        ("air_conditioner", {"backup": True}, "Extra inputs"),
        ("water_heater", {"liters_per_day": None}, "give either liters_per_day or liters_per_day_by_month"),
        ("water_heater", {"liters_per_day_by_month": [1.0] * 12}, "give either liters_per_day or"),
        ("water_heater", {"inlet_c": None}, "give either inlet_c or inlet_c_by_month"),
        ("water_heater", {"inlet_c_by_month": [10.0] * 12}, "give either inlet_c or inlet_c_by_month"),
        ("water_heater", {"set_c": 10}, "comes in at 10 C, not below set_c 10"),
        ("water_heater", {"set_c": 130}, "less than or equal to 95"),
        ("water_heater", {"efficiency": 92}, "less than or equal to 1"),
        ("water_heater", {"efficiency": None}, "give either efficiency or cop"),
        ("water_heater", {"cop": 3}, "give either efficiency or cop"),
        ("water_heater", {"water_use": "noon"}, "should be 'morning', 'evening', 'morning_and_evening' or 'even'"),
        ("well_pump", {"head_m": 0}, "greater than 0"),
        ("well_pump", {"efficiency": 1.2}, "less than or equal to 0.95"),
        ("well_pump", {"liters_per_day": -5}, "greater than or equal to 0"),
        ("well_pump", {"liters_per_day": float("inf")}, "finite number|valid number|JSON"),
    ],
)  # fmt: skip
def test_what_no_house_has_is_refused(kind: str, changes: dict[str, Any], told: str) -> None:
    with pytest.raises(ValidationError, match=told):
        part(kind, **changes)


def test_two_problems_of_a_water_heater_are_told_together() -> None:
    with pytest.raises(ValidationError, match="give either inlet_c or inlet_c_by_month\ngive either efficiency or cop"):
        part("water_heater", inlet_c=None, efficiency=None)


def test_names_must_differ_and_there_must_be_a_part() -> None:
    with pytest.raises(ValidationError, match="two parts are named 'pump'"):
        parts(table("well_pump", name="pump"), table("heat_pump", name="pump"))
    with pytest.raises(ValidationError, match="at least 1 item"):
        parts()


def test_part_does_not_change() -> None:
    with pytest.raises(ValidationError, match="frozen"):
        part("appliance").power_w = 200.0


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"power_w": 0}, r"load\.parts.2nd\.power_w: 0 must be above 0"),
        ({"power_w": None, "powr_w": 5}, r"^plain\.toml: load\.parts.2nd\.powr_w: unknown key; .* 'power_w'\?$"),
        ({"kind": "aplliance"}, r"load\.parts.2nd\.kind: 'aplliance' is not known; did you mean 'appliance'\?"),
        ({"kind": None}, r"load\.parts.2nd\.kind: is missing"),
        ({"always_duty": None, "windows": [{"dutty": 1}]}, r"parts.2nd\.windows.1st\.dutty: .* mean 'duty'"),
        ({"name": "shape"}, r"load\.parts: two parts are named 'shape'"),
    ],
)  # fmt: skip
def test_wrong_part_of_a_scenario_is_told_by_its_place(changes: dict[str, Any], told: str) -> None:
    with pytest.raises(ScenarioError, match=told):
        scenario(load={"parts": [table("shape"), table("appliance", **changes)]})


def test_shape_of_kind_shape_is_told_by_its_key() -> None:
    with pytest.raises(ScenarioError, match=r"load\.parts.1st\.shape: 'evening' is not known; did you mean 'evenings'"):
        scenario(load={"parts": [table("shape", shape="evening")]})


def test_table_is_asked_for() -> None:
    with pytest.raises(ScenarioError, match=r"load\.parts.2nd: 7 must be a table"):
        scenario(load={"parts": [table("shape"), 7]})
