"""Values with units in a scenario: the same home as with plain numbers, wherever they are written."""

import json
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from solarsim.errors import ScenarioError
from solarsim.scenario.keys import all_keys, json_schema
from solarsim.scenario.model import Scenario
from solarsim.scenario.read import axes_from, changes_from, read_rate_plan, read_scenario
from solarsim.scenario.write import scenario_text
from solarsim.studies.size._axes import axes_of
from solarsim.studies.size._steps import inverter_sizes, with_inverter
from tests.builders import content

CAR: dict[str, Any] = {
    "name": "car",
    "kind": "electric_car",
    "critical": False,
    "km_per_day": {"weekday": 48.28032, "weekend": 0.0},
    "kwh_per_km": 0.2,
    "charging_efficiency": 0.9,
    "charger_kw": 7.2,
    "battery_kwh": 60.0,
    "plugged_in": [{"from": "18:00", "to": "07:00"}],
}
COOLER: dict[str, Any] = {
    "name": "cooler",
    "kind": "air_conditioner",
    "critical": False,
    "ua_kw_per_k": 0.2,
    "base_c": 20.0,
    "max_kw": 2.0,
    "points": [{"at_c": 35.0, "cop": 3.0}, {"at_c": 28.0, "cop": 4.0}],
}
PLAN = {
    "name": "one price",
    "currency": "USD",
    "customer_charge_per_month": 10.0,
    "rates": [{"name": "all", "import_price": 0.12}],
    "export": {"pay": "flat", "price": 0.05},
}


def home(**changes: Any) -> Scenario:
    return read_scenario(content(**changes))


@pytest.mark.by_hand
def test_units_in_a_file_are_the_plain_numbers() -> None:
    plain = home(load={"parts": [CAR, COOLER]}, arrays__0__azimuth_deg=225.0, arrays__0__tilt_deg=45.0)
    written = home(
        load={
            "parts": [
                {**CAR, "km_per_day": {"weekday": "30 mi", "weekend": 0.0}, "kwh_per_km": "5 km/kWh"},
                {**COOLER, "base_c": "68 degF", "points": [{"at_c": "95 F", "cop": 3.0}, {"at_c": 28.0, "cop": 4.0}]},
            ]
        },
        arrays__0__azimuth_deg="south-west",
        arrays__0__tilt_deg="12/12",
    )
    assert written.load == plain.load
    assert written.arrays == plain.arrays


@pytest.mark.by_hand
def test_prices_in_cents_are_exact() -> None:
    plan = {
        **PLAN,
        "rates": [{"name": "all", "import_price": "12 c/kWh"}],
        "export": {"pay": "flat", "price": "5 c/kWh"},
    }
    assert home(rate_plan=plan).rate_plan == home(rate_plan=PLAN).rate_plan
    with pytest.raises(ScenarioError, match="import_price: '12 c/kWh' is in hundredths, which JPY does not have"):
        home(rate_plan={**plan, "currency": "JPY"})


def test_a_rate_plan_file_takes_units(tmp_path: Path) -> None:
    text = "\n".join(
        [
            'name = "one price"\ncurrency = "EUR"\ncustomer_charge_per_month = "10 EUR"',
            'export = { pay = "flat", price = "50 EUR/MWh" }\n[[rates]]\nname = "all"\nimport_price = "12 c/kWh"',
        ]
    )
    (tmp_path / "plan.toml").write_text(text)
    plan = read_rate_plan(tmp_path / "plan.toml")
    assert (plan.rates[0].import_price, plan.export.price) == (0.12, 0.05)
    (tmp_path / "plan.toml").write_text(text.replace("12 c/kWh", "12 c/kW"))
    with pytest.raises(
        ScenarioError, match=r"rates.1st.import_price: '12 c/kW' is a price of power, must be a price of"
    ):
        read_rate_plan(tmp_path / "plan.toml")


@pytest.mark.by_hand
def test_changes_take_units_from_python_and_from_the_command_line() -> None:
    changed = home().changed(
        changes_from(["arrays.1st.azimuth_deg=SW", 'inverter.ac_kw="5000 W"', "battery.low_cutoff=10 %"])
    )
    assert (changed.arrays[0].azimuth_deg, changed.inverter.ac_kw, changed.battery.low_cutoff) == (225.0, 5.0, 0.1)  # type: ignore[union-attr]
    assert home().changed({"battery.capacity_kwh": "8000 Wh"}).value("battery.capacity_kwh") == 8.0


def test_axes_are_numbers_in_the_keys_own_unit() -> None:
    axes = axes_from(['battery.capacity_kwh="5000 Wh",10', 'arrays.roof.azimuth_deg="south","west"'])
    assert axes_of(home(), axes) == {"battery.capacity_kwh": (5.0, 10), "arrays.roof.azimuth_deg": (180.0, 270.0)}


@pytest.mark.by_hand
def test_a_capacity_in_tons_limits_the_electric_power() -> None:
    """2 x 12,000 Btu/h are 7.034 kW of cooling; at the hotter point 3 kWh of cooling need 1 kWh."""
    part = {**{key: value for key, value in COOLER.items() if key != "max_kw"}, "capacity_kw": "2 ton"}
    (cooler,) = home(load={"parts": [part]}).load.parts or ()
    assert cooler.kind == "air_conditioner"
    assert cooler.electric_kw == pytest.approx(2 * 12_000 * 1055.05585262 / 3600 / 1000 / 3.0)
    with pytest.raises(
        ScenarioError, match="max_kw: '2 ton' is a heating or cooling power, must be a power: kW, W, MW"
    ):
        home(load={"parts": [{**COOLER, "max_kw": "2 ton"}]})
    with pytest.raises(ScenarioError, match=r"give either max_kw .electric. or capacity_kw"):
        home(load={"parts": [{**COOLER, "capacity_kw": 7.0}]})


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"inverter__ac_kw": "8 kWh"}, "inverter.ac_kw: '8 kWh' is an energy, must be a power: kW, W, MW"),
        ({"inverter__ac_kw": "9 MW"}, "inverter.ac_kw: '9 MW' .9000 kW. must be at most 1000 kW"),
        ({"arrays__0__tilt_deg": "95 deg"}, "arrays.1st.tilt_deg: '95 deg' .95 deg. must be at most 90 deg"),
        ({"arrays__0__strings": "200 %"}, "arrays.1st.strings: '200 %' must be a number without quotes and without a"),
        ({"load__monthly_kwh": ["0.6 MWh", "5 kW"] + [600] * 10}, "monthly_kwh.2nd: '5 kW' is a power, must be an ene"),
    ],
)
def test_what_is_wrong_is_named_as_it_is_written(changes: dict[str, Any], told: str) -> None:
    with pytest.raises(ScenarioError, match=told):
        home(**changes)


def test_a_wrong_array_is_one_problem() -> None:
    """Its circuit in [wiring] still names it, and must not be told that there are no arrays."""
    with pytest.raises(ScenarioError) as caught:
        read_scenario().changed({"arrays.1st.azimuth_deg": "30 mi"})
    (problem,) = caught.value.problems
    assert problem.endswith("arrays.1st.azimuth_deg: '30 mi' is a length, must be a direction: a compass point, deg")


def test_write_keeps_what_the_user_wrote(tmp_path: Path) -> None:
    scenario = home(arrays__0__azimuth_deg="south-west").changed({"inverter.ac_kw": "6000 W"})
    text = scenario_text(scenario, tmp_path)
    assert 'azimuth_deg = "south-west"' in text
    assert 'ac_kw = "6000 W"' in text
    assert read_scenario(tomllib.loads(text)).arrays[0].azimuth_deg == 225.0
    assert json.loads(scenario.model_dump_json())["arrays"][0]["azimuth_deg"] == 225.0


def test_the_schema_accepts_units_and_refuses_others() -> None:
    validator = jsonschema.Draft202012Validator(json_schema())
    good = content(
        arrays__0__azimuth_deg="south-west",
        arrays__0__tilt_deg="6/12",
        inverter__ac_kw="5000 W",
        load={"parts": [{**COOLER, "base_c": "68 °F"}]},
        rate_plan={**PLAN, "rates": [{"name": "all", "import_price": "12 c/kWh"}]},
    )
    read_scenario(good)
    assert [error.message for error in validator.iter_errors(good)] == []
    for wrong in ({"inverter__ac_kw": "5000 Wh"}, {"arrays__0__strings": "2 kW"}, {"arrays__0__azimuth_deg": "6/12"}):
        assert not validator.is_valid(content(**wrong))


def test_the_guide_shows_the_units_of_a_key() -> None:
    keys = {key.path: key.written for key in all_keys()}
    assert keys["load.parts.*.km_per_day.weekday"] == 'or with a unit (km, mi, m), such as "30 mi"'
    assert keys["arrays.*.azimuth_deg"] == 'or as a compass point or with a unit (deg), such as "south-west"'
    assert keys["arrays.*.strings"] == ""


def test_sizes_of_inverters_with_units_are_steps_of_size() -> None:
    """A size that is written in watts is the same inverter as one in kilowatts."""
    sizes = [
        {"ac_kw": "5000 W", "unit_price": 1000.0},
        {"ac_kw": 8.0, "unit_price": 1500.0},
    ]
    priced = home(costs={"parts": [{"name": "all", "quantity": 1, "unit_price": 1.0}], "inverters": sizes})
    assert [each["inverter.ac_kw"] for each in inverter_sizes(priced)] == [5, 8.0]
    assert with_inverter(priced, {"inverter.ac_kw": "5 kW"}, inverter_sizes(priced)) == {"inverter.ac_kw": "5 kW"}
