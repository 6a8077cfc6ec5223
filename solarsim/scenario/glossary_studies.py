"""The glossary of the studies: every key that a load, a roof, a sky, a life or an outage is told by."""

from solarsim.scenario.glossary import Entry

#: What is told of a system's life.
LIFE: dict[str, Entry] = {
    "upfront_cost": Entry("parts and installation, before incentives", "currency"),
    "npv": Entry("cash of all years, each at its worth in year 0", "currency"),
    "average_savings": Entry("sum of the years' savings / years", "currency"),
    "simple_payback_years": Entry("when the balance first reaches 0; null: never", "years"),
    "discounted_payback_years": Entry("when the discounted balance first reaches 0; null: never", "years"),
    "irr": Entry("the one rate at which the cash is worth 0; null: none, or several", "1"),
    "rates_of_return": Entry("every rate at which the cash is worth 0", "1"),
    "lcoe": Entry("what the system costs, loan aside, / solar_kwh, both discounted", "currency/kWh"),
    "lcos": Entry("what the battery's parts cost / battery_kwh, both discounted; charging not counted", "currency/kWh"),
    "balance_error_kwh": Entry("largest amount by which the books of any year fail to close", "kWh"),
    "cells_left": Entry(
        "share of the battery's first capacity at the start of each year of its age, from the model of its chemistry;"
        " null where battery_fade_per_year is stated",
        "1",
    ),
    "lifetimes": Entry("how many were drawn", "1"),
    "seed": Entry("of the draws", "1"),
    "share_paid_back": Entry("share of the lifetimes that pay back within the years", "1"),
    "share_worth_it": Entry("share of the lifetimes whose net present value is not below 0", "1"),
    "npv_at_medians": Entry("with every uncertain input at its median", "currency"),
    "low_value": Entry("P10 of an uncertain input: a rate a year; of weather, sun / the typical year's", "1"),
    "high_value": Entry("its P90", "1"),
    "npv_at_low": Entry("with this input at its P10, the others at their medians", "currency"),
    "npv_at_high": Entry("with this input at its P90, the others at their medians", "currency"),
    "swing": Entry("how far apart the two are", "currency"),
}

#: One year of a life; what is received is positive. Year 0 is the purchase, other amounts stand at the year's end.
LIFE_YEAR: dict[str, Entry] = {
    "year": Entry("0: the purchase", "1"),
    "purchase": Entry("parts and installation", "currency"),
    "incentives": Entry("received", "currency"),
    "loan": Entry("received", "currency"),
    "savings": Entry("baseline_bill less annual_bill", "currency"),
    "o_and_m": Entry("paid", "currency"),
    "replacements": Entry("paid for parts whose life is over", "currency"),
    "loan_payments": Entry("interest and principal, twelve payments", "currency"),
    "salvage": Entry("what parts are still worth at the end", "currency"),
    "cash": Entry("sum of all of these", "currency"),
    "balance": Entry("sum of cash up to this year", "currency"),
    "discounted_balance": Entry("the same, each year at its worth in year 0", "currency"),
    "baseline_bill": Entry("the year's bill without any system", "currency"),
    "annual_bill": Entry("the year's bill", "currency"),
    "pv_available_kwh": Entry("solar energy offered at the inverter's DC side", "kWh DC"),
    "load_kwh": Entry("the home's load", "kWh"),
    "import_kwh": Entry("bought", "kWh"),
    "export_kwh": Entry("sold", "kWh"),
    "solar_kwh": Entry("solar energy that served the home or was sold, directly or through the battery", "kWh AC"),
    "battery_kwh": Entry("given by the battery to the home or the grid", "kWh AC"),
    "capacity_kwh": Entry("of the battery in this year, between empty and full", "kWh"),
}

#: What is told of a scenario by hours and by finer steps.
STEPS: dict[str, Entry] = {
    "finer_steps": Entry("the same scenario by hours and by finer steps", "table"),
    "step_minutes": Entry("length of the finer steps", "min"),
    "load_moves": Entry("whether the load differs within any hour", "true or false"),
    "hourly": Entry("by hourly steps", "table"),
    "finer": Entry("by the finer steps", "table"),
    "difference": Entry("finer less hourly: what hourly steps hid", "of each key"),
}
