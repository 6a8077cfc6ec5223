"""The glossary: every column and result key with its meaning and unit.

Signs: every flow is at least 0 and its name says where it goes. Money the household pays is
positive, money it earns is negative in a bill and positive in savings.
"""

from solarsim.results import Fact as Entry

__all__ = ["Entry"]

#: Sums of the hourly columns over a month or the year.
ENERGY: dict[str, Entry] = {
    "pv_available_kwh": Entry("solar energy offered at the inverter's DC side: sum of pv_available_kw", "kWh DC"),
    "pv_used_kwh": Entry(
        "what of it was used, as a production meter logs it: production less clipped and curtailed", "kWh DC"
    ),
    "load_kwh": Entry("sum of load_kw", "kWh"),
    "standby_kwh": Entry("sum of standby_kw", "kWh"),
    "import_kwh": Entry("sum of import_kw", "kWh"),
    "export_kwh": Entry("sum of export_kw", "kWh"),
    "clipped_kwh": Entry("sum of clipped_kw", "kWh DC"),
    "curtailed_kwh": Entry("sum of curtailed_kw", "kWh DC"),
    "unserved_kwh": Entry("sum of unserved_kw", "kWh"),
    "losses_kwh": Entry("sum of losses_kw", "kWh"),
    "temperature_blocked_kwh": Entry(
        "sum of temperature_blocked_kw: what cold (or hot) cells kept out of the battery", "kWh DC"
    ),
    "battery_in_kwh": Entry("increase of battery_kwh, summed over the steps in which it rose", "kWh"),
    "battery_out_kwh": Entry("decrease of battery_kwh, summed over the steps in which the battery gave", "kWh"),
}

#: What is told of a year beside the energy sums.
ANNUAL: dict[str, Entry] = {
    "self_consumption": Entry(
        "share of used solar energy that was not sold, directly or through the battery",
        "1",
    ),
    "self_sufficiency": Entry("share of load and standby that the sun served, directly or through the battery", "1"),
    "equivalent_full_cycles": Entry("battery_out_kwh / capacity", "1"),
    "temperature_blocked_h": Entry("time in which the cells' temperature kept solar power out of the battery", "h"),
    "peak_import_kw": Entry("highest mean of import in a step; peaks within a step are higher", "kW AC"),
    "generator_h": Entry("hours in which a generator runs, idle or not", "h"),
    "generator_starts": Entry("how often it starts", "1"),
    "fuel_liters": Entry("what it burns", "l"),
    "fuel_cost": Entry("what that costs", "currency"),
    "outage_cost": Entry("unserved_kwh at the value of lost load; null without one", "currency"),
    "unserved_h": Entry("time in which some demand was unserved", "h"),
    "annual_bill": Entry("sum of the year's bill lines; negative if the year earns", "currency"),
    "monthly_bill": Entry("the year's bill by month, January to December", "currency"),
    "annual_savings": Entry("energy cost without any system less energy_cost; null where not comparable", "currency"),
    "optimum_share": Entry("annual_savings / savings of the optimum", "1"),
    "balance_error_kw": Entry("largest amount by which any book of the hour fails to close", "kW"),
    "input_clipped_kwh": Entry("what the arrays could make above the limits of the inverter's DC inputs", "kWh DC"),
    "year_gap_kwh": Entry("stored energy at the year's end less at its start; 0 where the year closed", "kWh"),
}

#: One line of a bill.
BILL_LINE: dict[str, Entry] = {
    "month": Entry("1 to 12; of a bill: the calendar month, or that in which the meter is read", "1"),
    "kind": Entry(
        "energy, rider, customer_charge, demand, export (what it earns or offsets), credit (kept, used, settled), minimum, tax",
        "text",
    ),
    "what": Entry("the rate plan's own name for it, or what it is", "text"),
    "quantity": Entry("how much of it", "as unit says"),
    "unit": Entry("kWh, kW, month, day, or the currency for a share of an amount", "text"),
    "rate": Entry("price of one unit; negative where it is earned", "currency/unit"),
    "amount": Entry("quantity x rate to the cent, half up", "currency"),
}

#: What else stands in JSON documents.
DOCUMENT: dict[str, Entry] = {
    "scenario": Entry("name of the scenario", "text"),
    "currency": Entry("ISO 4217 code of all money in the document", "text"),
    "rate_plan": Entry("name of a rate plan", "text"),
    "strategy": Entry("name of a strategy; of flows, its year", "text or record"),
    "name": Entry("name of what the record is about", "text"),
    "notes": Entry("what a person should know of the result", "list"),
    "baseline": Entry("the home without any system", "record"),
    "solar_only": Entry("the same arrays and inverter without the battery; null where there is none", "record"),
    "strategies": Entry("one for each strategy, in the scenario's order", "list"),
    "months": Entry("one for each month, January to December", "list"),
    "bill": Entry("sum of a month's bill lines", "currency"),
    "best": Entry("the optimum year with perfect foresight", "record"),
    "energy_cost": Entry("least possible cost of energy; null where there is no bound", "currency"),
    "why_none": Entry("why there is no bound; empty where there is one", "text"),
    "bills": Entry("the home without any system, and with it", "list"),
    "lines": Entry("the lines of a bill", "list"),
    "total": Entry("sum of the lines", "currency"),
}
