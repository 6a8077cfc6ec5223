"""From the scenario's meter to the load: a home's own solar is put back, and every note names its file."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from solarsim.load.meter.source import meter_load
from solarsim.run import Home, without_battery
from solarsim.scenario.errors import LoadError
from solarsim.scenario.meter import MeterFile
from tests.builders import scenario, timeline
from tests.load.meter.series import on_the_wall


def meter(**keys: Any) -> MeterFile:
    return MeterFile.model_validate_json(json.dumps({"file": "meter.csv", "format": "csv", "clock": "utc", **keys}))


PRODUCTION = {"file": "solar.csv", "column": "AC kWh", "clock": "utc", "labels": "start"}


def write(path: Path, head: str, start: np.ndarray[tuple[int], np.dtype[Any]], *columns: Any) -> None:
    stamps = [str(each).replace("T", " ") for each in start.astype("datetime64[s]")]
    rows = zip(stamps, *columns, strict=True)
    path.write_text(head + "\n" + "".join(",".join(map(str, row)) + "\n" for row in rows))


def test_load_of_a_home_with_solar_comes_back(tmp_path: Path, demo_home: Home) -> None:
    """What a simulated home bought, sold and made gives its load again; the inverter's self-use stays in it."""
    flows = without_battery(demo_home.scenario, demo_home).flows
    start = flows.timeline.standard - np.timedelta64(round(flows.timeline.utc_offset_h * 3600), "s")
    write(tmp_path / "meter.csv", "Start,Import kWh,Export kWh", start, flows["import_kw"], flows["export_kw"])
    write(tmp_path / "solar.csv", "Start,AC kWh", start, flows["pv_to_load_kw"] + flows["pv_to_grid_kw"])
    read = meter_load(scenario(tmp_path), meter(production=PRODUCTION), flows.timeline)
    used = flows["load_kw"] + flows["own_use_kw"]
    same = on_the_wall(start, flows.timeline.zone) == flows.timeline.wall  # the turn of the year is the next one's
    assert same.mean() > 0.99
    np.testing.assert_allclose(read.load_kw[same], used[same], atol=1e-9)
    assert read.report.impossible == ()


def test_hours_that_cannot_be_right_are_listed(tmp_path: Path) -> None:
    """More sold than bought and made: not a load; it is filled like a gap, and named."""
    start = np.datetime64("2025-01-01T05:00") + np.arange(8760).astype("m8[h]")
    sold = np.zeros(8760)
    sold[1000:1003] = 2.0
    write(tmp_path / "meter.csv", "Start,Import kWh,Export kWh", start, np.full(8760, 0.5), sold)
    write(tmp_path / "solar.csv", "Start,AC kWh", start, [0.25] * 8760)
    report = meter_load(scenario(tmp_path), meter(production=PRODUCTION), timeline(year=2025)).report
    assert [tuple(hole) for hole in report.impossible] == [("2025-02-11 16:00 EST", 3)]
    assert report.filled_hours == 3.0
    assert all(note.startswith((f"{tmp_path}/meter.csv: ", f"{tmp_path}/solar.csv: ")) for note in report.notes)


def test_production_that_misses_hours_leaves_gaps(tmp_path: Path) -> None:
    start = np.datetime64("2025-01-01T05:00") + np.arange(8760).astype("m8[h]")
    write(tmp_path / "meter.csv", "Start,Import kWh", start, [0.5] * 4380 + [0.75] * 4380)
    write(tmp_path / "solar.csv", "Start,AC kWh", start[:8700], [0.25] * 8700)
    report = meter_load(scenario(tmp_path), meter(production=PRODUCTION), timeline(year=2025)).report
    assert report.hours - report.hours_read == 60


@pytest.mark.parametrize(
    ("year", "head", "keys", "told"),
    [
        (2023, "AC kWh", {}, r"solar\.csv: is from 2023-01-01T05:00:00 to .* they must cover the same time"),
        (2025, "AC", {}, r"solar\.csv: has no column 'AC kWh'"),
        (2025, "AC kWh", {"clock": None}, r"solar\.csv: .*settle it beside the file: clock"),
    ],
)
def test_production_of_another_home_is_refused(
    tmp_path: Path, year: int, head: str, keys: dict[str, Any], told: str
) -> None:
    start = np.datetime64("2025-01-01T05:00") + np.arange(8760).astype("m8[h]")
    other = np.datetime64(f"{year}-01-01T05:00") + np.arange(8760).astype("m8[h]")
    write(tmp_path / "meter.csv", "Start,Import kWh", start, [0.5] * 4380 + [0.75] * 4380)
    write(tmp_path / "solar.csv", f"Start,{head}", other, [0.25, 0.5] * 4380)
    with pytest.raises(LoadError, match=told):
        meter_load(scenario(tmp_path), meter(production=PRODUCTION | keys), timeline(year=2025))


def test_the_last_day_that_counts_may_be_told(tmp_path: Path) -> None:
    start = np.datetime64("2023-01-01T05:00") + np.arange(3 * 8760).astype("m8[h]")
    write(tmp_path / "meter.csv", "Start,kWh", start, np.repeat([0.5, 0.75, 0.25], 8760))
    for until, kwh in (("2023-12-31", 4380.0), ("2024-12-30", 6570.0)):
        read = meter_load(scenario(tmp_path), meter(until=until), timeline(year=2023)).report
        assert str(read.last_day) == until
        assert read.read_kwh == pytest.approx(kwh, rel=0.005)
