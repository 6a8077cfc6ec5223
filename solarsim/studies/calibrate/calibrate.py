"""Measured against expected production: a scenario with a log in; a system factor and the deviation by month out."""

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import LoadError, WeatherError
from solarsim.home import Home
from solarsim.load.meter import Logged, read_production_log
from solarsim.results import Result, computed, fact
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import ARRAYS_TO_COMPARE, PRODUCTION_LOG, require
from solarsim.scenario.production_log import MeasuredProduction
from solarsim.scenario.roof.roof import SEASONS
from solarsim.scenario.site import MonthlyMeans, WeatherFile
from solarsim.studies.calibrate._clock_check import ClockCheck, check_clock
from solarsim.studies.calibrate._expected import ExpectedYear, expected_year
from solarsim.studies.calibrate._logged_year import LoggedYear, by_month, years_from_log
from solarsim.studies.calibrate._month_remarks import remarks_of
from solarsim.studies.calibrate._system_factor import SEASON_OF, fitted, in_fit
from solarsim.weather.read import read_weather

#: What the command needs beyond what every scenario has.
NEEDS = (PRODUCTION_LOG, ARRAYS_TO_COMPARE)

Floats = NDArray[np.float64]
#: Standard deviation of a single month against the model, where years of weather are too few: common practice, no
#: source. With the weather of the months themselves; with a typical year, in its six brighter and six darker months.
KNOWN_WEATHER, BRIGHT_MONTH, DARK_MONTH = 0.05, 0.08, 0.13
#: Of a normal distribution, 95% is above so many standard deviations below the mean (any handbook table).
ONE_SIDED = 1.645
_JUDGED_FROM = 0.5
_LEAST_SHARE = 0.02
_FEWEST_YEARS = 3


@dataclass(frozen=True, eq=False, repr=False)
class LoggedMonth(Result):
    """One month of the log, and what the model expects of the same hours, without and with the factor."""

    year: int = fact("calendar year", "1")
    month: int = fact("1 to 12", "1")
    logged_kwh: float = fact("measured, in hours for which there is weather", "kWh")
    expected_kwh: float = fact("model without any system factor, in the hours of the log", "kWh")
    calibrated_kwh: float = fact("model with the system factor found here, in the same hours", "kWh")
    covered: float = fact("share of the month's expected energy in the hours of the log", "1")
    spread: float = fact("standard deviation of a single month, as a share of calibrated_kwh", "1")
    fitted: bool = fact("whether the factor was fitted to this month", "true or false")
    remarks: tuple[str, ...] = fact("possible reasons for a deviation", "list")

    @computed("logged_kwh / expected_kwh; null where nothing is expected", "1")
    def ratio(self) -> float | None:
        return _ratio(self.logged_kwh, self.expected_kwh)

    @computed("logged_kwh / calibrated_kwh; null where nothing is expected", "1")
    def ratio_to_calibrated(self) -> float | None:
        return _ratio(self.logged_kwh, self.calibrated_kwh)

    @computed("whether ratio_to_calibrated is below that of 95% of months, by weather and model", "true or false")
    def below(self) -> bool:
        ratio = self.ratio_to_calibrated
        return ratio is not None and self.covered >= _JUDGED_FROM and ratio < 1 - ONE_SIDED * self.spread


@dataclass(frozen=True, eq=False, repr=False)
class LoggedSum(Result):
    """Several months of the log."""

    logged_kwh: float = fact("measured", "kWh")
    expected_kwh: float = fact("model without any system factor, in the hours of the log", "kWh")
    calibrated_kwh: float = fact("model with the system factor found here, in the same hours", "kWh")

    @computed("logged_kwh / expected_kwh; null where nothing is expected", "1")
    def ratio(self) -> float | None:
        return _ratio(self.logged_kwh, self.expected_kwh)

    @computed("logged_kwh / calibrated_kwh; null where nothing is expected", "1")
    def ratio_to_calibrated(self) -> float | None:
        return _ratio(self.logged_kwh, self.calibrated_kwh)


@dataclass(frozen=True, eq=False, repr=False)
class Calibration(Result):
    """A log of production beside what a scenario expects."""

    _rows = "logged_months"

    inputs: Scenario  # as the user wrote it
    log: MeasuredProduction  # its table
    home: Home  # of the first year that was compared
    factors: tuple[float, ...]  # one, or one for each of ``SEASONS``
    scenario: str = fact("name of the scenario", "text")
    sensitivity: float = fact("relative change of energy for that of the factor; 1 where nothing limits it", "1")
    real_weather: bool = fact("whether each year was compared with its own weather, not a typical one", "true or false")
    years_of_spread: int = fact("years of weather that gave the spread; 0 where it is common practice", "1")
    logged_months: tuple[LoggedMonth, ...] = fact("each month for which there are log and weather", "table")
    clock: ClockCheck | None = fact("check of the logger's clock; null without hourly readings", "record")
    notes: tuple[str, ...] = fact("what a reader should know", "list")

    @computed("where the log was taken: ac or dc", "text")
    def side(self) -> str:
        return self.log.side

    @computed("strategy that limited the production; null: none", "text")
    def strategy(self) -> str | None:
        return self.log.strategy

    @computed("DC power of the arrays / what the model expects; null where each season has one", "1")
    def system_factor(self) -> float | None:
        return self.factors[0] if len(self.factors) == 1 else None

    @computed("the same for each season, by its key in the scenario; null where there is one factor", "1")
    def system_factor_by_season(self) -> dict[str, float] | None:
        return None if len(self.factors) == 1 else dict(zip(SEASONS, self.factors, strict=True))

    @computed("of the months to which the factor was fitted", "record")
    def fitted_sum(self) -> LoggedSum:
        return self._sum(fitted=True)

    @computed("of the other months, which the model predicts", "record")
    def predicted_sum(self) -> LoggedSum:
        return self._sum(fitted=False)

    @computed(
        "logged / calibrated in the three months around the winter solstice, over the same in summer; null where the"
        " spread of the months explains the difference, and where each season has a factor",
        "1",
    )
    def winter_to_summer(self) -> float | None:
        if len(self.factors) > 1:
            return None
        return _winter_to_summer(self.logged_months, self.home.weather.latitude_deg > 0)

    def _sum(self, fitted: bool) -> LoggedSum:
        chosen = [month for month in self.logged_months if month.fitted == fitted]
        keys = ("logged_kwh", "expected_kwh", "calibrated_kwh")
        return LoggedSum(*(sum(getattr(month, key) for month in chosen) for key in keys))


def _ratio(logged_kwh: float, model_kwh: float) -> float | None:
    """Return measured energy over the model's; None where the model has none."""
    return logged_kwh / model_kwh if model_kwh > 0 else None


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

    Examples
    --------
    >>> import solarsim
    >>> found = solarsim.calibrate(solarsim.read_scenario())
    >>> found.side, [month.month for month in found.logged_months if month.below]
    ('dc', [9])
    """
    require(scenario, *NEEDS)
    log = scenario.production_log
    assert log is not None  # noqa: S101  # for the type checker: require refuses
    timeline = scenario.site.timeline()
    logged = read_production_log(scenario, log, timeline.zone, timeline.utc_offset_h)
    years = years_from_log(logged)
    models = _models(scenario, log, years)
    shared = tuple(each for each in years if each.year in models)
    spread, spread_years = _spread(scenario, log, models[shared[0].year])
    factors, sensitivity = fitted(scenario, log, shared, models)
    months = tuple(month for each in shared for month in _months(each, models[each.year], factors, log, spread))
    clock = None
    if logged.readings is not None:
        hourly = {each.year: models[each.year].kwh(_hourly(factors, models[each.year], log)) for each in shared}
        stated_min = log.clock_ahead_min or 0
        clock = check_clock(logged.readings, timeline.zone, timeline.utc_offset_h, stated_min, hourly)
    return Calibration(
        inputs=scenario,
        log=log,
        home=models[shared[0].year].home,
        factors=factors,
        scenario=scenario.name,
        sensitivity=sensitivity,
        real_weather=log.weather is not None,
        years_of_spread=spread_years,
        logged_months=months,
        clock=clock,
        notes=_notes(logged, years, shared, models),
    )


def _notes(
    logged: Logged, years: tuple[LoggedYear, ...], shared: tuple[LoggedYear, ...], models: dict[int, ExpectedYear]
) -> tuple[str, ...]:
    """Return what a reader should know of log, weather and production."""
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
        told.append(f"no weather for {', '.join(without)}: the log's months of these years are left out")
    return tuple(dict.fromkeys(told))


def _models(scenario: Scenario, log: MeasuredProduction, years: tuple[LoggedYear, ...]) -> dict[int, ExpectedYear]:
    """Return the model of each calendar year of the log for which there is weather."""
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
                else "it states no year (a CSV needs a column time)"
            )
            raise WeatherError(
                f"{path}: {what}; production_log.weather must be of the log's own years; without it, a typical year is"
                " used"
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
    """Return years as text."""
    return ", ".join(map(str, years))


def _spread(scenario: Scenario, log: MeasuredProduction, model: ExpectedYear) -> tuple[Floats, int]:
    """Return each month's standard deviation as a share, and from how many years of weather it was computed."""
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
    """Return the factor of each hour."""
    monthly = np.array([factors[SEASON_OF[month] if log.by_season else 0] for month in range(1, 13)])
    return np.asarray(monthly[model.month - 1])


def _months(
    each: LoggedYear, model: ExpectedYear, factors: tuple[float, ...], log: MeasuredProduction, spread: Floats
) -> list[LoggedMonth]:
    """Return the months of one year of the log."""
    plain, hours = model.kwh(1.0), model.kwh(_hourly(factors, model, log))
    expected, whole = by_month(plain, each.covered), by_month(plain, np.ones(8760, np.bool_))
    calibrated = by_month(hours, each.covered)
    in_it = in_fit(log, each.year)
    told = remarks_of(each, hours, model, log.weather is not None)
    return [
        LoggedMonth(
            year=each.year,
            month=place + 1,
            logged_kwh=float(each.monthly_kwh[place]),
            expected_kwh=float(expected[place]),
            calibrated_kwh=float(calibrated[place]),
            covered=float(expected[place] / whole[place]) if whole[place] > 0 else 1.0,
            spread=float(spread[place]),
            fitted=bool(in_it[place]),
            remarks=told[place],
        )
        for place in each.months.tolist()
        if whole[place] <= 0 or expected[place] >= _LEAST_SHARE * whole[place]
    ]


def _winter_to_summer(months: tuple[LoggedMonth, ...], north: bool) -> float | None:
    """Return winter's deviation / summer's, which a wrong tilt changes; None where it is no more than noise."""
    low = (11, 12, 1) if north else (5, 6, 7)
    high = (5, 6, 7) if north else (11, 12, 1)
    ratios = []
    for chosen in (low, high):
        there = [month for month in months if month.month in chosen and month.covered >= _JUDGED_FROM]
        due = sum(month.calibrated_kwh for month in there)
        if due <= 0:
            return None
        ratios.append((sum(month.logged_kwh for month in there) / due, there[0].spread / sqrt(len(there))))
    (at_low, low_spread), (at_high, high_spread) = ratios
    quotient = at_low / at_high if at_high > 0 else 1.0
    return quotient if abs(quotient - 1) > ONE_SIDED * sqrt(low_spread**2 + high_spread**2) else None
