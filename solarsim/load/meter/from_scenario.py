"""From the scenario's meter to the load: which reader a file needs, and a home's own solar put back."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.errors import LoadError
from solarsim.load.meter._hours import MeterHours, hours_from
from solarsim.load.meter._year import MeterLoad, load_from_meter
from solarsim.load.meter.csv.reader import read_meter_csv
from solarsim.load.meter.green_button.reader import read_green_button
from solarsim.load.meter.readings import named
from solarsim.scenario.load.meter import MeterFile
from solarsim.scenario.model import LoadScenario


def meter_load(scenario: LoadScenario, meter: MeterFile, timeline: Timeline) -> MeterLoad:
    """Read a meter's file, and the production log beside it, onto the simulated year.

    Parameters
    ----------
    scenario : LoadScenario
        Knows where its files are.
    meter : MeterFile
        The files and how to read them.
    timeline : Timeline
        The year.

    Returns
    -------
    MeterLoad
        Load of each step, and what was read; every warning and note begins with its file.

    Raises
    ------
    LoadError
        A file is wrong or leaves something open; fewer than 350 days were read; more than a tenth of the hours is
        missing or impossible; energy was exported and no production is given; or the two files do not cover the same
        time.
    """
    path = scenario.file(meter.file)
    with _named_in_errors(path):
        readings = read_green_button(path) if meter.format == "green_button" else read_meter_csv(path, meter)
        hours = hours_from(readings, timeline.zone, round(1.0 / timeline.step_h))
    production_kw: NDArray[np.float64] | None = None
    notes_of_log: list[str] = []
    if meter.production is not None:
        log = scenario.file(meter.production.file)
        with _named_in_errors(log):
            made = hours_from(read_meter_csv(log, meter.production.as_meter(), "production"), timeline.zone)
            production_kw = _on_hours_of(hours, made)
        notes_of_log = named(made.notes, log)
    with _named_in_errors(path):
        read = load_from_meter(hours, timeline, production_kw, meter.until)
    notes = (*named(read.report.notes, path), *notes_of_log)
    warnings = tuple(named(read.report.warnings, path))
    return replace(read, report=replace(read.report, warnings=warnings, notes=notes))


def _on_hours_of(meter: MeterHours, made: MeterHours) -> NDArray[np.float64]:
    """Lay production [kWh, that is kW] onto the hours of the meter; NaN where it was not logged."""
    place = (made.start_utc - meter.start_utc[0]) // np.timedelta64(1, "h")
    inside = (place >= 0) & (place < meter.start_utc.size)
    if not inside.any():
        raise LoadError(
            f"is from {made.start_utc[0]} to {made.start_utc[-1]} UTC, the meter from {meter.start_utc[0]} to"
            f" {meter.start_utc[-1]}: they must cover the same time"
        )
    production_kw = np.full(meter.start_utc.size, np.nan)
    production_kw[place[inside]] = made.import_kwh[inside]
    return production_kw


@contextmanager
def _named_in_errors(path: Path) -> Iterator[None]:
    """Name the file in every problem that does not name it yet."""
    try:
        yield
    except LoadError as error:
        raise LoadError(*named(error.problems, path)) from None
