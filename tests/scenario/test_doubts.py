"""Numbers that are allowed and that no usual home has: noted with what they probably are, and used as written."""

from typing import Any

import pytest

from solarsim.scenario.model import RoofScenario
from solarsim.scenario.read import packaged_folder, read_scenario
from tests.builders import content, scenario

LIMIT, SMALL = "inverter__ac_kw", "inverter__inputs__0__max_kw"
HATCH = {"name": "hatch", "quantity": 1, "unit_price": 9e6}
DEAR = {"rate_plan__rates": [{"name": "all hours", "import_price": 31.0}]}
EXAMPLES = sorted(packaged_folder("scenarios").glob("*.toml"))
# As large as a small commercial site becomes: 200 kW of load, arrays of 500 kW, 2 MWh (the project's own bounds).
COMMERCIAL: dict[str, Any] = {
    "arrays__0__modules_in_series": 20,
    "arrays__0__strings": 60,
    "arrays__0__module_w": 415.0,
    "inverter__ac_kw": 250.0,
    "inverter__standby_w": 500.0,
    "inverter__inputs": [{"max_kw": 300.0}],
    "battery__capacity_kwh": 2000.0,
    "battery__max_charge_kw": 200.0,
    "battery__max_discharge_kw": 200.0,
    "load__monthly_kwh": [60_000.0] * 12,
    "rate_plan__customer_charge_per_month": 400.0,
}


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({LIMIT: 600.0}, "inverter.ac_kw: 600 is above the usual 250 kW; 600 W is written 0.6"),
        ({SMALL: 0.05}, "inverter.inputs.1st.max_kw: 0.05 is below the usual 0.2 kW; 0.05 MW is written 50"),
        ({"inverter__standby_w": 0.04}, "inverter.standby_w: 0.04 is below the usual 1 W; 0.04 kW is written 40"),
        ({"losses": {"array": {"shading": 1.0}}}, "losses.array.shading: 1 is above the usual 0.5; 1% is written 0.01"),
        (
            {"costs": {"parts": [HATCH]}},
            "costs.parts.1st.unit_price: 9e+06 is above the usual 500000 USD; 9e+06 cents is written 90000",
        ),
        (
            {"load__monthly_kwh": [90_000.0] * 12},
            "load.monthly_kwh.1st: 90000 is above the usual 60000 kWh; 90000 Wh is written 90 (and 11 more of this"
            " list)",
        ),
        (
            {"battery__capacity_kwh": 2400.0},
            "battery: 2,400 kWh would feed inverter.ac_kw 5 for 480 h: check Ah, volts and strings",  # 2400 / 5
        ),
        (
            {"arrays__0__strings": 10},
            "arrays: 40.0 kWdc are 8.0 times the ac_kw of inverter, 5: check modules_in_series, strings and ac_kw",
        ),
    ],
)
def test_what_no_usual_home_has_is_noted_once(changes: dict[str, Any], told: str) -> None:
    assert scenario(**changes).notes == (told,)


def test_cents_are_doubted_where_the_currency_has_them() -> None:
    """A plan tells of its own prices, wherever it is used."""
    told = "rates.1st.import_price: 31 is above the usual 2 USD/kWh; 31 cents is written 0.31"
    home = scenario(**DEAR)
    assert (home.notes, home.rate_plan.doubts) == ((), (told,))


@pytest.mark.parametrize("currency", ["INR", "JPY", "KRW", "ZZZ"])
def test_a_price_is_judged_in_its_own_currency(currency: str) -> None:
    assert scenario(**DEAR, rate_plan__currency=currency).rate_plan.doubts == ()


def test_a_small_commercial_site_passes_without_a_word() -> None:
    assert scenario(**COMMERCIAL).notes == ()


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_examples_pass_without_a_word(path: Any) -> None:
    assert read_scenario(path).notes == ()


def test_what_a_chemistry_presets_and_zeros_are_not_doubted() -> None:
    changed = scenario(inverter__standby_w=0.0, battery__chemistry="lfp", battery__place="indoor")
    assert changed.notes == ()


def test_a_part_of_a_scenario_doubts_what_it_holds() -> None:
    tables = content(inverter__standby_w=0.04)
    assert len(read_scenario(tables, kind=RoofScenario).notes) == 1
