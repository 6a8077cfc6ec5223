"""What was found: a scenario with its weather and load in; its contents and each of its files in words out."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TypeVar

from solarsim.errors import InputError
from solarsim.home import Home
from solarsim.load.meter.production_log import read_production_log
from solarsim.results import Result, fact
from solarsim.scenario.contents import NamedFile, named_files
from solarsim.scenario.model import BillScenario, LoadScenario, Scenario, WeatherScenario
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from solarsim.studies.load import LoadYear
from solarsim.studies.weather import WeatherYears, YearOfWeather

_T = TypeVar("_T")
_NEAR_MIN = 20


@dataclass(frozen=True, repr=False)
class FileFound(Result):
    """One file that the scenario names."""

    key: str = fact("key of the scenario that names it", "text")
    file: str = fact("its name, as written", "text")
    found: str | None = fact("what was found in it; null where it could not be read", "text")


def contents_of(
    scenario: WeatherScenario, weather: WeatherYears | None, load: LoadYear | None, home: Home | None
) -> Iterator[str]:
    """Yield what a scenario describes."""
    site = scenario.site
    yield f"Site: {site.name}, {site.time_zone}, {site.calendar_year}, steps of {site.step_minutes} min"
    if weather is not None and not scenario.weather.files:
        yield f"Weather: made from monthly means; {_weather_words(weather.years[0])}"
    if load is not None and isinstance(scenario, LoadScenario):
        source = "parts alone" if scenario.load.source is None else scenario.load.source
        parts = len(scenario.load.parts or ())
        yield f"Load: {load.load_kwh:,.0f} kWh a year from {source}" + (f", with {parts} parts" if parts else "")
    if isinstance(scenario, BillScenario):
        yield f"Rate plan: {_plan_words(scenario.rate_plan)}"
    if home is not None and isinstance(scenario, Scenario):
        yield from _hardware(scenario, home)


def _hardware(scenario: Scenario, home: Home) -> Iterator[str]:
    """Yield arrays, inverter, battery and strategies."""
    modules = sum(each.modules_in_series * each.strings for each in scenario.arrays)
    yield f"Arrays: {len(scenario.arrays)}, {modules} modules, {home.production.rated_kw:.2f} kWdc"
    yield f"Inverter: {scenario.inverter.ac_kw:g} kWac"
    battery = scenario.battery_in_use
    yield "Battery: none" if battery is None else f"Battery: {battery.kwh:.1f} kWh nameplate"
    yield f"Strategies: {', '.join(repr(each.name) for each in scenario.strategies)}"


def files_found(
    scenario: WeatherScenario, weather: WeatherYears | None, load: LoadYear | None, problems: list[str]
) -> Iterator[FileFound]:
    """Yield every file with what was found in it; files that no other reading has touched are read here."""
    words: dict[NamedFile, str] = {}
    for year in () if weather is None else weather.years:
        words |= {NamedFile(key, year.source): _weather_words(year) for key in ("weather.file", "weather.other_files")}
    for named in named_files(scenario):
        yield FileFound(named.key, named.name, words.get(named) or _found_in(scenario, named, load, problems))


def _found_in(scenario: WeatherScenario, named: NamedFile, load: LoadYear | None, problems: list[str]) -> str | None:
    """Return what is in a file of load, prices, plans or production."""
    if named.key.startswith("load."):
        return None if load is None else _load_words(named, load)
    if named.key == "plans.files":
        plan = tried(problems, lambda: scenario.rate_plan_of(named.name) if isinstance(scenario, Scenario) else None)
        return None if plan is None else _plan_words(plan)
    if named.key == "rate_plan" and isinstance(scenario, BillScenario):
        return _plan_words(scenario.rate_plan)
    if named.key == "rate_plan.export.file" and isinstance(scenario, BillScenario):
        prices = scenario.rate_plan.export.hourly
        return f"{len(prices):,} prices, {min(prices):g} to {max(prices):g} {scenario.rate_plan.currency}/kWh"
    if named.key == "production_log.file" and isinstance(scenario, Scenario):
        return _log_words(scenario, problems)
    return "read" if named.key == "precipitation.file" else None


def _log_words(scenario: Scenario, problems: list[str]) -> str | None:
    """Return what a production log holds."""
    log, timeline = scenario.production_log, scenario.site.timeline()
    if log is None:
        return None
    logged = tried(problems, lambda: read_production_log(scenario, log, timeline.zone, timeline.utc_offset_h))
    if logged is None:
        return None
    first, last = (str(logged.start[at])[:10] for at in (0, -1))
    return f"{logged.kwh.sum():,.0f} kWh by the {logged.every}, {first} to {last}"


def _load_words(named: NamedFile, load: LoadYear) -> str:
    report = load.meter
    if report is None or named.key != "load.meter.file":
        return "read"
    return (
        f"{report.first_day} to {report.last_day}, {report.hours_read:,} of {report.hours:,} hours read,"
        f" {report.read_kwh:,.0f} kWh"
    )


def _weather_words(year: YearOfWeather) -> str:
    place, off_min = year.place, year.label_offset_min
    clock = "clock not checked" if off_min is None else f"labels {off_min:+d} min off the sun"
    return (
        f"{place.name}, {place.latitude_deg:.2f}, {place.longitude_deg:.2f}, {place.elevation_m:.0f} m; GHI"
        f" {year.annual.ghi_kwh_m2:,.0f} kWh/m2, {year.annual.temp_min_c:.0f} to {year.annual.temp_max_c:.0f} C,"
        f" {'clock fits the sun' if off_min is not None and abs(off_min) < _NEAR_MIN else clock}"
    )


def _plan_words(plan: RatePlan) -> str:
    rates = ", ".join(repr(each.name) for each in plan.rates)
    return f"{plan.name!r}, {plan.currency}; rates {rates}; export: {plan.export.pay}"


def tried(problems: list[str], make: Callable[[], _T]) -> _T | None:
    """Return what a function makes; None where the user's input is wrong, which is kept."""
    try:
        return make()
    except InputError as error:
        problems.extend(error.problems)
        return None
