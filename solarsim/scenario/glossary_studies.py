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

#: What is told of a battery's life under a strategy, beside equivalent_full_cycles, temperature_blocked_kwh and temperature_blocked_h.
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
    "resistance_by_year": Entry("resistance / resistance when new; what it does to a year is not modeled", "1"),
    "outside_range": Entry("where the year left the range of the model of aging, and what was done", "text"),
}

#: What is told of a log of production beside its model.
CALIBRATION: dict[str, Entry] = {
    "side": Entry("where the log was taken: ac or dc", "text"),
    "system_factor": Entry("DC power of the arrays / what the model expects; null where there is one a season", "1"),
    "system_factor_by_season": Entry("the same for each quarter of the year; null where there is one", "1"),
    "dec_feb": Entry("of December to February", "1"),
    "mar_may": Entry("of March to May", "1"),
    "jun_aug": Entry("of June to August", "1"),
    "sep_nov": Entry("of September to November", "1"),
    "follows": Entry("share by which energy follows a change of the factor; 1 where nothing is cut", "1"),
    "real_weather": Entry(
        "whether each year was compared with its own weather, not with a typical one", "true or false"
    ),
    "years_of_spread": Entry("years of weather that gave the spread; 0 where it is common practice", "1"),
    "fitted_sum": Entry("of the months to which the factor was fitted", "record"),
    "foretold_sum": Entry("of the other months", "record"),
    "logged_months": Entry("one for each month that log and weather share", "list"),
    "year": Entry("calendar year", "1"),
    "month": Entry("1 to 12", "1"),
    "logged_kwh": Entry("measured, in hours for which there is weather", "kWh"),
    "expected_kwh": Entry("model x system factor, in the hours of the log", "kWh"),
    "ratio": Entry("logged_kwh / expected_kwh; null where nothing is expected", "1"),
    "covered": Entry("share of the month's expected energy in the hours of the log", "1"),
    "spread": Entry("one standard deviation that a single month commonly has", "1"),
    "fitted": Entry("whether the factor was fitted to this month", "true or false"),
    "below": Entry("whether it is lower than 19 of 20 months are", "true or false"),
    "remarks": Entry("what may explain it", "list"),
    "clock": Entry(
        "what the shape of the days says of the logger's clock; null where the log tells no hours", "record"
    ),
    "as_read": Entry("the clock that file and scenario say", "record"),
    "best_clock": Entry("the clock that fits best", "record"),
    "ahead_min": Entry("how far the log's clock would run ahead, beyond clock_ahead_min of the scenario", "min"),
    "follows_saving": Entry("whether it would follow daylight saving", "true or false"),
    "misfit": Entry("share of the energy that stands in another hour than expected", "1"),
    "dark_share": Entry("share of the energy in hours without sun", "1"),
    "better_by": Entry("misfit as read less misfit of the best", "1"),
    "other_saving": Entry("whether daylight saving is the other way than the log was read", "true or false"),
    "moved_min": Entry(
        "how much later than expected the days come, daylight saving settled; 0: no more than noise", "min"
    ),
    "reason": Entry("clock, azimuth or either: what moves the days; null where nothing does", "text"),
    "settled_by": Entry("keys that would settle the clock", "list"),
    "winter_to_summer": Entry("ratio of the low sun's months / that of the high sun's; null where they are alike", "1"),
}

#: What is told of outages.
OUTAGES: dict[str, Entry] = {
    "arrangement": Entry("grid_tied, hybrid or off_grid: how the home stands to the grid", "text"),
    "backed_up": Entry("all or critical: what stands behind the inverter; null where there is no choice", "text"),
    "outage_h": Entry("lengths of outage of all survival lists", "h"),
    "variants": Entry("with and without reserve, with and without generator; as it is comes first", "list"),
    "keeps_reserve": Entry("as programmed; false: every reserve lowered to the battery's low cutoff", "true, false"),
    "with_generator": Entry("whether a generator comes in", "true, false"),
    "survival": Entry("share of the year's starts from which all that is backed up is served to the end", "1"),
    "survival_by_season": Entry("the same by the season of the start", "record"),
    "winter": Entry("November, December, January, February; May to August south of the equator", "1"),
    "between": Entry("the months that are neither winter nor summer", "1"),
    "summer": Entry("half a year from winter", "1"),
    "reserve_curve": Entry("one for each level of reserve; battery and sun alone", "list"),
    "reserve": Entry("state of charge kept in every hour, 0-1", "1"),
    "held": Entry("some setting keeps less than that: it sells, or stops solar charging, at less", "true, false"),
    "costs": Entry("annual_bill less that with the lowest reserve; both of a year without outages", "currency a year"),
    "missed": Entry("what drawn years leave unserved of what is backed up; null where none were drawn", "record"),
    "expected_kwh": Entry("unserved in a year, mean", "kWh"),
    "median_kwh": Entry("unserved in a year, what half of the years stay at or below", "kWh"),
    "p90_kwh": Entry("unserved in a year, what nine of ten years stay at or below", "kWh"),
    "missing_h": Entry("time in which something that is backed up is missing: mean of a year, or of an outage", "h"),
    "critical_h": Entry("time in which something critical is missing: mean of a year, or of an outage", "h"),
    "through": Entry("share of the drawn years in which nothing is missing", "1"),
    "dark_kwh": Entry("what is not backed up, and so never served in an outage: a year's mean, or of one", "kWh"),
    "drawn": Entry("outages of many years; null where the scenario does not say how often the grid fails", "record"),
    "years": Entry("how many were drawn", "years"),
    "seed": Entry("of the draws", "1"),
    "outages": Entry("how many there are in all years", "1"),
    "out_h": Entry("without the grid, mean of a year: SAIDI of the draws", "h"),
    "longest_h": Entry("the longest of them", "h"),
    "shortened": Entry("how many were cut to the longest that is drawn, 720 h", "1"),
    "events": Entry("the scenario's own outages", "list"),
    "start": Entry("when one begins, by the wall clock", "date and time"),
    "hours": Entry("how long it lasts", "h"),
    "unserved_kwh": Entry("of the home's demand, backed up or not", "kWh"),
    "critical_kwh": Entry("of what is not served, what is critical: shed last; a year's mean, or of one outage", "kWh"),
    "generator_h": Entry("hours of it in which a generator runs", "h"),
    "liters": Entry("what it burns in them", "l"),
    "motor": Entry("whether the largest motor starts on the inverter; null where none is named", "record"),
    "needed_kw": Entry("what it draws as it starts, and beside_kw", "kW"),
    "beside_kw": Entry("mean of all that is backed up", "kW"),
    "inverter_kw": Entry("what the inverter gives for a moment", "kW"),
    "bank_kw": Entry("what the battery gives at its coldest in the year; null where nothing limits it", "kW"),
    "motor_starts": Entry("whether both suffice", "true, false"),
    "transfer": Entry("what a transfer by hand costs; null of an automatic one", "record"),
    "away": Entry("share of the starts at which nobody is there for it", "1"),
    "mean_wait_h": Entry("dark until somebody is, mean of those starts", "h"),
    "longest_wait_h": Entry("the longest of those waits", "h"),
    "above_rating_h": Entry("time of the year in which more is backed up than the inverter gives", "h"),
}
