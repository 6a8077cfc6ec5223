"""The check against measured production: a scenario with a log in, a system factor and what each month says out."""

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import LoadError, ScenarioError, WeatherError
from solarsim.home import Home
from solarsim.load.meter import Logged, read_production_log
from solarsim.scenario.model import Scenario
from solarsim.scenario.production_log import MeasuredProduction
from solarsim.scenario.site import MonthlyMeans, WeatherFile
from solarsim.studies.calibrate.clock_check import ClockCheck, check_clock
from solarsim.studies.calibrate.expected import ExpectedYear, expected_year
from solarsim.studies.calibrate.logged_year import LoggedYear, by_month, years_from_log
from solarsim.studies.calibrate.month_remarks import remarks_of
from solarsim.studies.calibrate.system_factor import SEASON_OF, fitted, in_fit
from solarsim.weather.read import read_weather

Floats = NDArray[np.float64]
#: One standard deviation of a single month against the model, where no years of weather tell it: common practice, no
#: source. The months' own weather is known; then a typical year, in its six brighter and its six darker months.
KNOWN_WEATHER, BRIGHT_MONTH, DARK_MONTH = 0.05, 0.08, 0.13
#: Of a normal distribution: 19 months of 20 lie above so many standard deviations below the mean.
ONE_SIDED = 1.645
_JUDGED_FROM = 0.5
_LEAST_SHARE = 0.02
_FEWEST_YEARS = 3


@dataclass(frozen=True)
class LoggedMonth:
    """One month of the log beside what the fitted model expects of the same hours.

    Attributes
    ----------
    year, month : int
        Which.
    logged_kwh : float
        Measured [kWh].
    expected_kwh : float
        By the model with the fitted factor, in the hours of the log [kWh].
    covered : float
        Share of the month's expected energy in those hours, 0-1.
    spread : float
        One standard deviation that a single month commonly has, as a share of ``expected_kwh``, 0-1.
    fitted : bool
        Whether the factor was fitted to it.
    remarks : tuple of str
        What may explain the rest.
    """

    year: int
    month: int
    logged_kwh: float
    expected_kwh: float
    covered: float
    spread: float
    fitted: bool
    remarks: tuple[str, ...]

    @property
    def ratio(self) -> float | None:
        """Measured / expected; None where nothing is expected."""
        return self.logged_kwh / self.expected_kwh if self.expected_kwh > 0 else None

    @property
    def is_below(self) -> bool:
        """Whether the month lies lower than weather and model explain in 19 of 20 months."""
        ratio = self.ratio
        return ratio is not None and self.covered >= _JUDGED_FROM and ratio < 1 - ONE_SIDED * self.spread


@dataclass(frozen=True, eq=False)
class Calibration:
    """What a log says of a scenario's arrays.

    Attributes
    ----------
    scenario : Scenario
        With its log.
    home : Home
        Of the first year that was compared.
    factors : tuple of float
        One, or one for each of ``SEASONS``.
    follows : float
        See ``Fit``.
    months : tuple of LoggedMonth
        All that log and weather share, in the order of time.
    clock : ClockCheck or None
        None where the log tells no hours.
    real_weather : bool
        Whether each year was compared with its own weather.
    years_of_spread : int
        How many years of weather gave ``spread``; 0 where it is common practice.
    notes : tuple of str
        What a person should know.
    """

    scenario: Scenario
    home: Home
    factors: tuple[float, ...]
    follows: float
    months: tuple[LoggedMonth, ...]
    clock: ClockCheck | None
    real_weather: bool
    years_of_spread: int
    notes: tuple[str, ...]

    def sums(self, fitted: bool) -> tuple[float, float]:
        """Add up measured and expected energy of the months that the factor was fitted to, or of the others [kWh]."""
        chosen = [month for month in self.months if month.fitted == fitted]
        return sum(month.logged_kwh for month in chosen), sum(month.expected_kwh for month in chosen)


def calibrate(scenario: Scenario) -> Calibration:
    """Fit a system factor to a log of production.

    Parameters
    ----------
    scenario : Scenario
        With a table ``production_log``.

    Returns
    -------
    Calibration
        The factor with which the model makes in the fitted hours what was measured; a factor that the scenario has
        already is taken out first. It holds for DC power, before the limits of inputs and inverter.

    Raises
    ------
    ScenarioError
        The scenario has no log, or no arrays.
    LoadError
        The log cannot be read, shares no month with its weather or its fit, or holds so much or so little that size,
        unit or side must be wrong.
    WeatherError
        A file of the log's weather is no single calendar year, or two are of one year.
    InputError
        See ``home_from``.
    """
    log = scenario.production_log
    if log is None:
        raise ScenarioError(
            scenario.problem(
                'has no [production_log]: write its file, column and side = "ac" or "dc", or monthly_kwh and side'
            )
        )
    if not scenario.arrays:
        raise ScenarioError(scenario.problem("has a [production_log] and no [[arrays]] that could have made it"))
    timeline = scenario.site.timeline()
    logged = read_production_log(scenario, log, timeline.zone, timeline.utc_offset_h)
    years = years_from_log(logged)
    models = _models(scenario, log, years)
    shared = tuple(each for each in years if each.year in models)
    spread, spread_years = _spread(scenario, log, models[shared[0].year])
    factors, follows = fitted(scenario, log, shared, models)
    months = tuple(month for each in shared for month in _months(each, models[each.year], factors, log, spread))
    clock = None
    if logged.readings is not None:
        hourly = {each.year: models[each.year].kwh(_hourly(factors, models[each.year], log)) for each in shared}
        clock = check_clock(logged.readings, timeline.zone, timeline.utc_offset_h, hourly)
    return Calibration(
        scenario=scenario,
        home=models[shared[0].year].home,
        factors=factors,
        follows=follows,
        months=months,
        clock=clock,
        real_weather=log.weather is not None,
        years_of_spread=spread_years,
        notes=_notes(logged, years, shared, models),
    )


def _notes(
    logged: Logged, years: tuple[LoggedYear, ...], shared: tuple[LoggedYear, ...], models: dict[int, ExpectedYear]
) -> tuple[str, ...]:
    without = [str(each.year) for each in years if each not in shared]
    told = [
        *logged.notes,
        *(
            note
            for each in shared
            for note in (*models[each.year].home.weather.notes, *models[each.year].home.production.notes)
        ),
    ]
    if without:
        told.append(f"no weather of {', '.join(without)}: the log's months there are left out")
    return tuple(dict.fromkeys(told))


def _models(scenario: Scenario, log: MeasuredProduction, years: tuple[LoggedYear, ...]) -> dict[int, ExpectedYear]:
    """Give the model of each calendar year of the log that there is weather for."""
    if log.weather is None:
        typical = scenario.weather
        first = typical if isinstance(typical, MonthlyMeans) else typical.model_copy(update={"other_files": None})
        model = expected_year(scenario, log, scenario.site.calendar_year, first)
        return {each.year: model for each in years}
    files: dict[int, WeatherFile] = {}
    for source in log.weather:
        path = scenario.file(source.file)
        told = set(read_weather(path, source).year_of_month)
        if len(told) != 1:
            what = (
                f"its months are of {min(told)} to {max(told)}"
                if told
                else "it tells no year (a csv needs a column time)"
            )
            raise WeatherError(
                f"{path}: {what}; production_log.weather wants the log's own years; without it the typical year is"
                " taken"
            )
        (year,) = told
        if year in files:
            raise WeatherError(f"{path}: is of {year}, as {files[year].file} is")
        files[year] = source
    wanted = {each.year for each in years} & set(files)
    if not wanted:
        raise LoadError(
            scenario.problem(
                f"production_log: the log is of {_listed([each.year for each in years])}, its weather of"
                f" {_listed(sorted(files))}"
            )
        )
    return {year: expected_year(scenario, log, year, files[year]) for year in sorted(wanted)}


def _listed(years: list[int]) -> str:
    return ", ".join(map(str, years))


def _spread(scenario: Scenario, log: MeasuredProduction, model: ExpectedYear) -> tuple[Floats, int]:
    """Give one standard deviation of each month as a share, and how many years of weather it is from."""
    if log.weather is not None:
        return np.full(12, KNOWN_WEATHER), 0
    everywhere = np.ones(8760, np.bool_)
    first = by_month(model.kwh(1.0), everywhere)
    files = scenario.weather.files
    if len(files) >= _FEWEST_YEARS and not isinstance(scenario.weather, MonthlyMeans):
        source = scenario.weather
        others = [
            expected_year(
                scenario,
                log,
                scenario.site.calendar_year,
                source.model_copy(update={"file": name, "other_files": None}),
            )
            for name in files[1:]
        ]
        table = np.array([first, *(by_month(each.kwh(1.0), everywhere) for each in others)])
        weather = np.divide(
            table.std(axis=0, ddof=1), table.mean(axis=0), out=np.zeros(12), where=table.mean(axis=0) > 0
        )
        return np.hypot(weather, KNOWN_WEATHER), len(files)
    return np.where(first >= np.median(first), BRIGHT_MONTH, DARK_MONTH), 0


def _hourly(factors: tuple[float, ...], model: ExpectedYear, log: MeasuredProduction) -> Floats:
    monthly = np.array([factors[SEASON_OF[month] if log.by_season else 0] for month in range(1, 13)])
    return np.asarray(monthly[model.month - 1])


def _months(
    each: LoggedYear, model: ExpectedYear, factors: tuple[float, ...], log: MeasuredProduction, spread: Floats
) -> list[LoggedMonth]:
    hours = model.kwh(_hourly(factors, model, log))
    expected, whole = by_month(hours, each.covered), by_month(hours, np.ones(8760, np.bool_))
    in_it = in_fit(log, each.year)
    told = remarks_of(each, hours, model, log.weather is not None)
    return [
        LoggedMonth(
            year=each.year,
            month=place + 1,
            logged_kwh=float(each.monthly_kwh[place]),
            expected_kwh=float(expected[place]),
            covered=float(expected[place] / whole[place]) if whole[place] > 0 else 1.0,
            spread=float(spread[place]),
            fitted=bool(in_it[place]),
            remarks=told[place],
        )
        for place in each.months.tolist()
        if whole[place] <= 0 or expected[place] >= _LEAST_SHARE * whole[place]
    ]


def tilt_hint(months: tuple[LoggedMonth, ...], north: bool) -> float | None:
    """Compare the low sun's months with the high sun's: what a wrong tilt moves.

    Parameters
    ----------
    months : tuple of LoggedMonth
        Of whole logs.
    north : bool
        Whether the site lies north of the equator.

    Returns
    -------
    float or None
        Measured / expected from November to January / the same from May to July (swapped in the south), 1; None where
        either is not there, or they differ by no more than the spread of a month explains.
    """
    low = (11, 12, 1) if north else (5, 6, 7)
    high = (5, 6, 7) if north else (11, 12, 1)
    ratios = []
    for chosen in (low, high):
        there = [month for month in months if month.month in chosen and month.covered >= _JUDGED_FROM]
        due = sum(month.expected_kwh for month in there)
        if due <= 0:
            return None
        ratios.append((sum(month.logged_kwh for month in there) / due, there[0].spread / sqrt(len(there))))
    (at_low, low_spread), (at_high, high_spread) = ratios
    quotient = at_low / at_high if at_high > 0 else 1.0
    return quotient if abs(quotient - 1) > ONE_SIDED * sqrt(low_spread**2 + high_spread**2) else None
