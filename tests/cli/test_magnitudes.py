"""Numbers in the wrong unit or of the wrong size, through the real command: refused, or used with a note, never silent.

The demo's own values are what each number should be: 6 kW, 280 Ah, 20% in reserve.
"""

import pytest

from tests.cli.command import run

GREENSBORO, RIDGE, STORM = "greensboro", "ridge_farm", "storm_coast"
CAR = (
    'load.parts=[{ kind = "electric_car", name = "car", critical = false, km_per_day = { weekday = 40, weekend = 60 },'
    " kwh_per_km = 18, charging_efficiency = 0.9, charger_kw = 7400, battery_kwh = 60000, plugged_in = [{}] }]"
)
#: Scenario, what is set, and what the message must say.
REFUSED = {
    # watts, watt-hours, milliamperes, millivolts
    "inverter in W": (GREENSBORO, "inverter.ac_kw=6000", "inverter.ac_kw: 6000 must be at most 1000 kW; 6000 W is"),
    "input in W": (GREENSBORO, "inverter.inputs.0.max_kw=5000", "inputs.1st.max_kw: 5000", "5000 W is written 5"),
    "export limit in W": (GREENSBORO, "grid.export_limit_kw=6000", "6000 W is written 6"),
    "import cap in W": (GREENSBORO, "strategies.0.import_cap_kw=2000", "strategies.1st.import_cap_kw", "written 2"),
    "bias in W": (GREENSBORO, "strategies.3.zero_export_bias_kw=30", "30 W is written 0.03"),
    "generator in W": (STORM, "generator.kw=7000", "generator.kw: 7000", "7000 W is written 7"),
    "generator's charging in W": (STORM, "generator.charge_kw=4000", "4000 W is written 4"),
    "surge in W": (GREENSBORO, "inverter.surge_kw=12000", "12000 W is written 12"),
    "load in Wh": (GREENSBORO, "load.monthly_kwh.0=1010000", "load.monthly_kwh.1st: 1010000", "Wh is written 1010"),
    "bank in Wh": (GREENSBORO, 'battery={ capacity_kwh = 10240, chemistry = "lfp", place = "indoor" }', "Wh", "10.24"),
    "log in Wh": (GREENSBORO, "production_log.monthly_kwh.2025-04=981000", "2025-04: 981000", "Wh is written 981"),
    "warranty in kWh": (GREENSBORO, "battery.warranty.throughput_mwh=60000", "60000 kWh is written 60"),
    "battery port in mA": (GREENSBORO, "inverter.battery_charge_a=120000", "120000 mA is written 120"),
    "cell in mV": (GREENSBORO, "battery.bank.0.cell_v=3200", "bank.1st.cell_v: 3200", "3200 mV is written 3.2"),
    "module in kW": (GREENSBORO, "arrays.0.module_w=0.41", "arrays.1st.module_w: 0.41", "0.41 kW is written 410"),
    "cable in mm": (RIDGE, "arrays.0.cable.one_way_m=18000", "one_way_m: 18000", "18000 mm is written 18"),
    "room in Fahrenheit": (GREENSBORO, "battery.room_c=68", "battery.room_c: 68", "68 F is written 20"),
    "design low in kelvin": (RIDGE, "site.design_low_c=256", "site.design_low_c: 256 must be at most 30 C"),
    "car in kWh for 100 km": (GREENSBORO, CAR, "kwh_per_km: 18 must", "18 kWh/100 km is written 0.18", "7.4", "60"),
    # ampere-hours ten, a hundred and a thousand times too large
    "cell 100 times": (GREENSBORO, "battery.bank.0.cell_ah=28000", "280 if it is 100 times too large"),
    "cell in mAh": (GREENSBORO, "battery.bank.0.cell_ah=280000", "280000 mAh is written 280"),
    # percent for shares
    "reserve in percent": (GREENSBORO, "strategies.0.reserve=20", "strategies.1st.reserve: 20", "20% is written 0.2"),
    "cutoff in percent": (GREENSBORO, "battery.low_cutoff=10", "10% is written 0.1"),
    "round trip in percent": (GREENSBORO, "battery.round_trip_efficiency=94", "94% is written 0.94"),
    "self-discharge in percent": (GREENSBORO, "battery.self_discharge_per_month=2", "2% is written 0.02"),
    "warranty in percent": (GREENSBORO, "battery.warranty.remaining=70", "70% is written 0.7"),
    "efficiency in percent": (GREENSBORO, "inverter.efficiency.peak=97.6", "97.6% is written 0.976"),
    "albedo in percent": (GREENSBORO, "site.albedo=20", "site.albedo: 20", "20% is written 0.2"),
    "shading in percent": (GREENSBORO, "losses.array.shading=2", "losses.array.shading: 2", "2% is written 0.02"),
    "discount in percent": (GREENSBORO, "life.discount_rate=5", "5% is written 0.05"),
    "fade in percent": (GREENSBORO, "life.battery_fade_per_year=1.8", "1.8% is written 0.018"),
    "growth in percent": (GREENSBORO, "life.price_growth.energy=2.8", "2.8% is written 0.028"),
    "incentive in percent": (GREENSBORO, "costs.incentives.0.share=10", "10% is written 0.1"),
    "coefficient in percent": (
        GREENSBORO,
        "arrays.0.temperature_coefficient_per_c=-0.34",
        "temperature_coefficient_per_c: -0.34 must be at least -0.01; -0.34%/C is written -0.0034",
    ),
    "voltage coefficient in percent": (RIDGE, "modules.0.v_oc_per_c=-0.27", "-0.27%/C is written -0.0027"),
    # 1e12 and 1e308 anywhere
    "standby of 1e12": (GREENSBORO, "inverter.standby_w=1e12", "inverter.standby_w: 1000000000000.0 must be at most"),
    "inverter of 1e308": (GREENSBORO, "inverter.ac_kw=1e308", "inverter.ac_kw: 1e+308 must be at most 1000 kW"),
    "cell of 1e12": (GREENSBORO, "battery.bank.0.cell_ah=1e12", "cell_ah", "must be at most 5000 Ah"),
    "strings of 1e12": (GREENSBORO, "arrays.0.strings=1000000000000", "arrays.1st.strings", "must be at most 1000"),
    "price of 1e12": (GREENSBORO, "rate_plan.rates.0.import_price=1e12", "import_price", "must be at most 1e+06"),
    "charge of 1e308": (GREENSBORO, "rate_plan.customer_charge_per_month=1e308", "customer_charge_per_month: 1e+308"),
    "part of 1e308": (GREENSBORO, "costs.parts.0.quantity=1e308", "costs.parts.1st.quantity: 1e+308 must be at most"),
    "O&M of 1e308": (GREENSBORO, "costs.o_and_m_per_year=1e308", "costs.o_and_m_per_year: 1e+308 must be at most"),
    "outage of 1e12 h": (GREENSBORO, "outages.frequency.mean_h=1e12", "mean_h", "must be at most 500 h"),
    "fuel of 1e308": (STORM, "generator.liters_per_kwh=1e308", "liters_per_kwh: 1e+308 must be at most"),
    "weight of 1e308": (GREENSBORO, "outages.frequency.months.0=1e308", "months.1st: 1e+308 must be at most"),
    "cap of infinity": (GREENSBORO, "strategies.0.import_cap_kw=1e400", "import_cap_kw", "must be a finite number"),
}
#: Changes of the demo that run, and the note that follows.
DOUBTED = {
    "inverter.ac_kw=600": "inverter.ac_kw: 600 is above the usual 250 kW; 600 W is written 0.6",
    "inverter.standby_w=0.055": "inverter.standby_w: 0.055 is below the usual 1 W; 0.055 kW is written 55",
    "battery.bank.0.cell_ah=2800": "battery.bank.1st.cell_ah: 2800 is above the usual 1200 Ah; 280 if it is 10 times",
    "battery.bank.1.cell_ah=2300": "battery.bank.2nd.cell_ah: 2300 is above the usual 1200 Ah; 230 if it is 10 times",
    "load.monthly_kwh.0=101000": "load.monthly_kwh.1st: 101000 is above the usual 60000 kWh; 101000 Wh is written 101",
    "losses.module.light_induced=1": "losses.module.light_induced: 1 is above the usual 0.5; 1% is written 0.01",
    "rate_plan.rates.3.import_price=31": "rates.4th.import_price: 31 is above the usual 2 USD/kWh; 31 cents is written",
    "rate_plan.customer_charge_per_month=1400": "customer_charge_per_month: 1400 is above the usual 500 USD; 1400 cent",
    "life.discount_rate=0.4": "life.discount_rate: 0.4 is above the usual 0.25; 0.4% is written 0.004",
    "outages.frequency.mean_h=336": "outages.frequency.mean_h: 336 is above the usual 72 h; 336 min is written 5.6",
    "costs.installation=2600000": "costs.installation: 2.6e+06 is above the usual 500000 USD; 2.6e+06 cents is written",
}


@pytest.mark.parametrize("case", REFUSED.values(), ids=list(REFUSED))
def test_what_no_home_can_have_is_refused_with_the_likely_unit(case: tuple[str, ...]) -> None:
    scenario, change, *says = case
    done = run("bill", scenario, "--set", change)
    assert (done.returncode, done.stdout) == (2, ""), done.stderr
    assert [piece for piece in says if piece not in done.stderr] == [], done.stderr


@pytest.mark.slow
def test_what_few_homes_have_is_used_with_a_note() -> None:
    done = run("bill", GREENSBORO, "--json", *(word for change in DOUBTED for word in ("--set", change)))
    assert done.returncode == 0, done.stderr
    assert [note for note in DOUBTED.values() if note not in done.stderr] == [], done.stderr


def test_a_price_of_31_is_doubted_in_dollars_and_not_in_rupees() -> None:
    words = [f"rate_plan.rates.{number}.import_price=31" for number in range(4)]
    done = run(
        "bill", GREENSBORO, *(word for change in (*words, "rate_plan.currency=INR") for word in ("--set", change))
    )
    assert done.returncode == 0
    assert "usual" not in done.stderr
