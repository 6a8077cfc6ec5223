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
    "own_use_kw": Entry("the inverter's self-use and the battery's heater, served as load is", "kW"),
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
    "pv_kept_out_kw": Entry(
        "surplus solar power that the battery had room for, but its cells' temperature kept out; was sold or curtailed",
        "kW DC",
    ),
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
    "kept_out_kwh": Entry("sum of pv_kept_out_kw: what cold (or hot) cells kept out of the battery", "kWh DC"),
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
    "kept_out_h": Entry("time in which the cells' temperature kept solar power out of the battery", "h"),
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

#: What is told of a battery's life under a strategy, beside equivalent_full_cycles, kept_out_kwh and kept_out_h.
WEAR: dict[str, Entry] = {
    "mean_soc": Entry("mean state of charge of the year, 0-1", "1"),
    "mean_cell_c": Entry("mean temperature of the battery's cells", "C"),
    "delivered_kwh": Entry("what the new battery gives to home and grid in a year", "kWh AC"),
    "calendar_loss_10_years": Entry("share of capacity that time alone has taken after ten years", "1"),
    "cycle_loss_10_years": Entry("share of capacity that cycling has taken after ten years", "1"),
    "years_to_end": Entry("until the stated share of capacity (end_of_life) is left; null beyond 40 years", "years"),
    "warranty": Entry(
        "when the warranty ends (ends_after_years), whether by its throughput, what share of capacity remains then,"
        " and whether that is what it promises (kept); null where none is stated",
        "years, 1",
    ),
    "cost_per_kwh": Entry("battery's price / what it delivers until end_of_life, at most 40 years", "currency/kWh"),
    "earns_per_kwh": Entry("savings over the same solar without a battery / delivered_kwh", "currency/kWh"),
    "capacity_by_year": Entry("share of the first capacity, new and at the end of each year", "1"),
    "calendar_loss_by_year": Entry("of it, what time alone has taken", "1"),
    "cycle_loss_by_year": Entry("of it, what cycling has taken", "1"),
    "resistance_by_year": Entry("resistance / resistance when new; what it does to a year is not modelled", "1"),
    "outside_range": Entry("where the year left the range of the model of ageing, and what was done", "text"),
}
