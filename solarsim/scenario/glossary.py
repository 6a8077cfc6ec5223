"""The glossary: every column and result key with its meaning and unit.

Signs: every flow is at least 0 and its name says where it goes. Money the household pays is
positive, money it earns is negative in a bill and positive in savings.
"""

from typing import NamedTuple


class Entry(NamedTuple):
    """What a name means, and its unit ("1" for shares and counts)."""

    meaning: str
    unit: str


#: The hourly table, in the order of its columns.
HOURLY: dict[str, Entry] = {
    "time": Entry("start of the step in the site's standard time, with its offset from UTC", "ISO 8601"),
    "load_kw": Entry("the home's load, without the inverter's self-use", "kW"),
    "own_use_kw": Entry("the inverter's self-use, served as load is", "kW"),
    "pv_dc_kw": Entry("solar power offered at the inverter's DC side", "kW DC"),
    "pv_to_load_kw": Entry("solar power serving load and self-use", "kW AC"),
    "pv_to_battery_kw": Entry("solar power into the battery's terminals", "kW DC"),
    "pv_to_grid_kw": Entry("solar power sold", "kW AC"),
    "pv_curtailed_kw": Entry("solar power offered that nothing could take", "kW DC"),
    "battery_to_load_kw": Entry("battery power serving load and self-use", "kW AC"),
    "battery_to_grid_kw": Entry("battery power sold", "kW AC"),
    "grid_to_load_kw": Entry("grid power serving load and self-use", "kW AC"),
    "grid_to_battery_kw": Entry("grid power taken to charge the battery", "kW AC"),
    "generator_to_load_kw": Entry("generator power serving load and self-use", "kW AC"),
    "generator_to_battery_kw": Entry("generator power taken to charge the battery", "kW AC"),
    "unserved_kw": Entry("load and self-use that nothing served", "kW AC"),
    "import_kw": Entry("through the grid meter into the home", "kW AC"),
    "export_kw": Entry("through the grid meter out of the home", "kW AC"),
    "generator_kw": Entry("put out by the generator", "kW AC"),
    "losses_kw": Entry("lost in conversion, in the battery and by self-discharge", "kW"),
    "battery_kwh": Entry("stored energy at the END of the step", "kWh"),
    "soc": Entry("state of charge at the END of the step, 0-1", "1"),
    "soc_floor": Entry("state of charge below which nothing discharges in this step, 0-1", "1"),
    "import_price": Entry("price of energy from the grid", "currency/kWh"),
    "export_price": Entry("pay for energy to the grid", "currency/kWh"),
}

#: Sums of the hourly columns over a month or the year.
ENERGY: dict[str, Entry] = {
    "production_kwh": Entry("solar energy offered at the inverter's DC side: sum of pv_dc_kw", "kWh DC"),
    "used_production_kwh": Entry(
        "what of it was used, as a production meter logs it: production less curtailed", "kWh DC"
    ),
    "load_kwh": Entry("sum of load_kw", "kWh"),
    "own_use_kwh": Entry("sum of own_use_kw", "kWh"),
    "import_kwh": Entry("sum of import_kw", "kWh"),
    "export_kwh": Entry("sum of export_kw", "kWh"),
    "curtailed_kwh": Entry("sum of pv_curtailed_kw", "kWh DC"),
    "unserved_kwh": Entry("sum of unserved_kw", "kWh"),
    "losses_kwh": Entry("sum of losses_kw", "kWh"),
    "battery_in_kwh": Entry("increase of battery_kwh, summed over the steps in which it rose", "kWh"),
    "battery_out_kwh": Entry("decrease of battery_kwh, summed over the steps in which the battery gave", "kWh"),
}

#: What is told of a year beside the energy sums.
ANNUAL: dict[str, Entry] = {
    "self_consumption": Entry(
        "share of used solar energy that was not sold, directly or through the battery",
        "1",
    ),
    "self_sufficiency": Entry("share of load and self-use that the sun served, directly or through the battery", "1"),
    "equivalent_full_cycles": Entry("battery_out_kwh / capacity", "1"),
    "peak_import_kw": Entry(
        "highest hourly mean of import; a demand charge sees shorter peaks, which are higher", "kW AC"
    ),
    "annual_bill": Entry("sum of the year's bill lines; negative if the year earns", "currency"),
    "monthly_bill": Entry("the year's bill by month, January to December", "currency"),
    "annual_savings": Entry("bill without any system less annual_bill", "currency"),
    "share_of_best": Entry("annual_savings / savings of the best possible", "1"),
    "worst_residual_kw": Entry("largest amount by which any book of the hour fails to close", "kW"),
    "input_clipped_kwh": Entry("what the arrays could make above the limits of the inverter's DC inputs", "kWh DC"),
    "year_gap_kwh": Entry("stored energy at the year's end less at its start; 0 where the year closed", "kWh"),
}

#: Causes for which the roof loses energy, in the order of the light's way; those of an input last.
ROOF_CAUSES: dict[str, Entry] = {
    "horizon": Entry("horizon", "kWh DC"),
    "near_shade": Entry("near shade", "kWh DC"),
    "incidence": Entry("glass, light from the side", "kWh DC"),
    "shading": Entry("shading, share of the year", "kWh DC"),
    "soiling": Entry("soiling", "kWh DC"),
    "snow": Entry("snow", "kWh DC"),
    "temperature": Entry("warm cells, weak light", "kWh DC"),
    "rating_tolerance": Entry("rating tolerance", "kWh DC"),
    "light_induced": Entry("first days of light", "kWh DC"),
    "ageing": Entry("ageing", "kWh DC"),
    "mismatch": Entry("mismatch of modules", "kWh DC"),
    "downtime": Entry("downtime", "kWh DC"),
    "wiring": Entry("wiring", "kWh DC"),
    "unlike_strings": Entry("unlike strings at one voltage", "kWh DC"),
    "window": Entry("outside the voltage window", "kWh DC"),
    "current": Entry("above the current limit", "kWh DC"),
    "power": Entry("above the power limit", "kWh DC"),
}

#: What is told of the roof, an array or an input.
ROOF: dict[str, Entry] = {
    "rated_kw": Entry("power at standard test conditions", "kW DC"),
    "offered_kwh": Entry(
        "array: rating x light on its plane; input: what its arrays could bring by themselves", "kWh DC"
    ),
    "lost_kwh": Entry("lost to each cause, see ROOF_CAUSES", "kWh DC"),
    "lost_h": Entry("time in which more than a watt is lost to the cause", "h"),
    "left_kwh": Entry("offered less all that is lost", "kWh DC"),
    "monthly_left_kwh": Entry("left_kwh by month, January to December", "kWh DC"),
    "monthly_lost_kwh": Entry("lost_kwh by month, January to December", "kWh DC"),
    "open_circuit_max_v": Entry("highest voltage of an input without load; null without a named module", "V"),
    "working_min_v": Entry("lowest working voltage of an input while more than a watt comes", "V"),
    "working_max_v": Entry("highest working voltage of an input while more than a watt comes", "V"),
    "production_kwh": Entry("solar energy offered at the inverter's DC side", "kWh DC"),
    "monthly_production_kwh": Entry("production_kwh by month, January to December", "kWh DC"),
}

#: What is told of a row of the module table.
MODULES: dict[str, Entry] = {
    "name": Entry("maker and type", "text"),
    "technology": Entry("kind of cell as the table says it", "text"),
    "w": Entry("power at standard test conditions", "W"),
    "v_oc_v": Entry("open-circuit voltage", "V"),
    "i_sc_a": Entry("short-circuit current", "A"),
    "v_mp_v": Entry("voltage at maximum power", "V"),
    "i_mp_a": Entry("current at maximum power", "A"),
    "p_mp_per_c": Entry("temperature coefficient of maximum power, a share", "1/C"),
    "v_oc_per_c": Entry("temperature coefficient of open-circuit voltage, a share", "1/C"),
    "i_sc_per_c": Entry("temperature coefficient of short-circuit current, a share", "1/C"),
}
