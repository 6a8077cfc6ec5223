"""Hourly energy flows of a home with solar, a battery and a hybrid inverter, to the bill.

>>> import solarsim
>>> scenario = solarsim.read_scenario()  # or read_scenario("my_home.toml")
>>> comparison = solarsim.compare(scenario)
>>> comparison.table()["annual_savings"].idxmax()
'winter night charge'
>>> comparison.runs[0].hourly().shape  # one strategy's hours, a pandas table
(8760, 24)
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from solarsim.errors import InputError, SolarsimError
    from solarsim.home import Home, home_from
    from solarsim.ledger.bill import Bill, BillLine
    from solarsim.run import Run, simulate, without_system
    from solarsim.scenario.model import Scenario
    from solarsim.scenario.rate_plan.rate_plan import RatePlan
    from solarsim.scenario.read import demo_scenario_path, read_rate_plan, read_scenario
    from solarsim.studies.bill import BillStudy, bill
    from solarsim.studies.calibrate.calibrate import Calibration, calibrate
    from solarsim.studies.check.check import Check, check
    from solarsim.studies.compare.compare import Comparison, compare
    from solarsim.studies.explain.explain import Explanation, explain
    from solarsim.studies.fleet.fleet import Fleet, FleetOptions, fleet
    from solarsim.studies.flows import FlowsYear, flows
    from solarsim.studies.ladder.ladder import Ladder, ladder
    from solarsim.studies.life.life import Life, life
    from solarsim.studies.life.strategy_life import StrategyLife
    from solarsim.studies.load import LoadYear, load_year
    from solarsim.studies.modules import ModuleSearch, modules
    from solarsim.studies.offers import Offers, offers
    from solarsim.studies.optimum.optimum import Optimum, optimum
    from solarsim.studies.outages.outages import Outages, outages
    from solarsim.studies.plans import Plans, plans
    from solarsim.studies.report.report import Report, report
    from solarsim.studies.risk.risk import Risk, risk
    from solarsim.studies.roof import Roof, roof
    from solarsim.studies.savings import Savings, savings
    from solarsim.studies.sheet.sheet import Sheet, sheet
    from solarsim.studies.size.design import Design
    from solarsim.studies.size.size import Size, size
    from solarsim.studies.tune.tune import Tuned, tune
    from solarsim.studies.wear import Wear, wear
    from solarsim.studies.weather import WeatherYears, weather_file_year, weather_year
    from solarsim.studies.weather_get import FetchedWeather, weather_get
    from solarsim.studies.wiring.wiring import Wiring, wiring
    from solarsim.views.figure import figure
    from solarsim.views.progress import progress

__version__ = "0.2.0"

__all__ = [
    "read_scenario",
    "demo_scenario_path",
    "Scenario",
    "home_from",
    "Home",
    "simulate",
    "without_system",
    "Run",
    "check",
    "Check",
    "compare",
    "Comparison",
    "flows",
    "FlowsYear",
    "explain",
    "Explanation",
    "sheet",
    "Sheet",
    "bill",
    "BillStudy",
    "optimum",
    "Optimum",
    "savings",
    "Savings",
    "size",
    "Size",
    "Design",
    "offers",
    "Offers",
    "tune",
    "Tuned",
    "ladder",
    "Ladder",
    "read_rate_plan",
    "RatePlan",
    "plans",
    "Plans",
    "life",
    "Life",
    "StrategyLife",
    "risk",
    "Risk",
    "weather_year",
    "weather_file_year",
    "WeatherYears",
    "weather_get",
    "FetchedWeather",
    "load_year",
    "LoadYear",
    "modules",
    "ModuleSearch",
    "roof",
    "Roof",
    "calibrate",
    "Calibration",
    "outages",
    "Outages",
    "wear",
    "Wear",
    "wiring",
    "Wiring",
    "fleet",
    "Fleet",
    "FleetOptions",
    "report",
    "Report",
    "figure",
    "progress",
    "Bill",
    "BillLine",
    "SolarsimError",
    "InputError",
]

# Loaded when first asked for: pvlib, pandas and numba take longer to import than most commands to run.
_HOMES = {
    "solarsim.scenario.read": ("read_scenario", "demo_scenario_path", "read_rate_plan"),
    "solarsim.scenario.rate_plan.rate_plan": ("RatePlan",),
    "solarsim.scenario.model": ("Scenario",),
    "solarsim.errors": ("SolarsimError", "InputError"),
    "solarsim.home": ("home_from", "Home"),
    "solarsim.run": ("simulate", "without_system", "Run"),
    "solarsim.studies.check.check": ("check", "Check"),
    "solarsim.studies.compare.compare": ("compare", "Comparison"),
    "solarsim.studies.flows": ("flows", "FlowsYear"),
    "solarsim.studies.explain.explain": ("explain", "Explanation"),
    "solarsim.studies.sheet.sheet": ("sheet", "Sheet"),
    "solarsim.studies.bill": ("bill", "BillStudy"),
    "solarsim.studies.optimum.optimum": ("optimum", "Optimum"),
    "solarsim.studies.savings": ("savings", "Savings"),
    "solarsim.studies.plans": ("plans", "Plans"),
    "solarsim.studies.size.size": ("size", "Size"),
    "solarsim.studies.size.design": ("Design",),
    "solarsim.studies.life.life": ("life", "Life"),
    "solarsim.studies.life.strategy_life": ("StrategyLife",),
    "solarsim.studies.ladder.ladder": ("ladder", "Ladder"),
    "solarsim.studies.offers": ("offers", "Offers"),
    "solarsim.studies.risk.risk": ("risk", "Risk"),
    "solarsim.studies.weather": ("weather_year", "weather_file_year", "WeatherYears"),
    "solarsim.studies.weather_get": ("weather_get", "FetchedWeather"),
    "solarsim.studies.load": ("load_year", "LoadYear"),
    "solarsim.studies.modules": ("modules", "ModuleSearch"),
    "solarsim.studies.roof": ("roof", "Roof"),
    "solarsim.views.figure": ("figure",),
    "solarsim.views.progress": ("progress",),
    "solarsim.studies.calibrate.calibrate": ("calibrate", "Calibration"),
    "solarsim.studies.outages.outages": ("outages", "Outages"),
    "solarsim.studies.tune.tune": ("tune", "Tuned"),
    "solarsim.studies.wear": ("wear", "Wear"),
    "solarsim.studies.wiring.wiring": ("wiring", "Wiring"),
    "solarsim.studies.fleet.fleet": ("fleet", "Fleet", "FleetOptions"),
    "solarsim.studies.report.report": ("report", "Report"),
    "solarsim.ledger.bill": ("Bill", "BillLine"),
}


def __getattr__(name: str) -> Any:
    for module, names in _HOMES.items():
        if name in names:
            return getattr(import_module(module), name)
    raise AttributeError(f"module 'solarsim' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted([*globals(), *__all__])
