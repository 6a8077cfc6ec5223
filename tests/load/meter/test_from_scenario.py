"""From the scenario's meter to the load: a home's own solar is put back, and every note names its file."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from solarsim.errors import LoadError
from solarsim.home import Home
from solarsim.load.meter import Hole, meter_load
from solarsim.run import without_battery
from solarsim.scenario.load.meter import MeterFile
from solarsim.studies.load import load_year
from solarsim.views.load import page
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
    """What a simulated home bought, sold and made gives its load again; the inverter's standby stays in it."""
    flows = without_battery(demo_home.scenario, demo_home).flows
    start = flows.timeline.standard - np.timedelta64(round(flows.timeline.utc_offset_h * 3600), "s")
    write(tmp_path / "meter.csv", "Start,Import kWh,Export kWh", start, flows["import_kw"], flows["export_kw"])
    write(tmp_path / "solar.csv", "Start,AC kWh", start, flows["pv_to_load_kw"] + flows["pv_to_grid_kw"])
    read = meter_load(scenario(tmp_path), meter(production=PRODUCTION), flows.timeline)
    used = flows["load_kw"] + flows["standby_kw"]
    same = on_the_wall(start, flows.timeline.zone) == flows.timeline.wall  # the turn of the year is the next one's
    assert same.mean() > 0.99
    np.testing.assert_allclose(read.load_kw[same], used[same], atol=1e-9)
    assert read.report.impossible == ()


@pytest.mark.by_hand
def test_steps_of_the_site_decide_how_fine_a_meter_is_taken(tmp_path: Path) -> None:
    """A kWh in the first quarter of each hour: 1 kW by hours, 4 kW and then nothing by quarter hours."""
    start = np.datetime64("2025-01-01T05:00") + 15 * np.arange(35040).astype("m8[m]")
    write(tmp_path / "meter.csv", "Start,Import kWh", start, np.tile([1.0, 0.0, 0.0, 0.0], 8760))
    for minutes, first in ((60, [1.0, 1.0]), (30, [2.0, 0.0]), (15, [4.0, 0.0])):
        home = scenario(tmp_path, load={"meter": {"file": "meter.csv", "format": "csv", "clock": "utc"}},
                        site__step_minutes=minutes, site__calendar_year=2025)  # fmt: skip
        year = load_year(home)
        assert year.load_kw[:2].tolist() == first
        assert year.load_kwh == pytest.approx(8760.0)


def test_hours_that_cannot_be_right_are_listed(tmp_path: Path) -> None:
    """More sold than bought and made: not a load; it is filled like a gap, and named."""
    start = np.datetime64("2025-01-01T05:00") + np.arange(8760).astype("m8[h]")
    sold = np.zeros(8760)
    sold[1000:1003] = 2.0
    write(tmp_path / "meter.csv", "Start,Import kWh,Export kWh", start, np.full(8760, 0.5), sold)
    write(tmp_path / "solar.csv", "Start,AC kWh", start, [0.25] * 8760)
    report = meter_load(scenario(tmp_path), meter(production=PRODUCTION), timeline(year=2025)).report
    assert report.impossible == (Hole("2025-02-11 16:00 EST", 3),)
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
        (2025, "AC kWh", {"clock": None}, r"solar\.csv: .*set clock"),
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


def sunny(folder: Path, logged_from_utc_h: int, sun_kw: float) -> None:
    """Write a home of 0.4 kW with ten even hours of sun a day, and the log of its inverter by some clock."""
    hour = np.arange(8760)
    made = np.where((hour % 24 >= 8) & (hour % 24 < 18), sun_kw, 0.0)
    net = 0.4 - made
    start = np.datetime64("2025-01-01T05:00") + hour.astype("m8[h]")
    write(folder / "meter.csv", "Start,Import kWh,Export kWh", start, np.maximum(net, 0), np.maximum(-net, 0))
    by_log = np.datetime64("2025-01-01T00:00") + (hour + logged_from_utc_h).astype("m8[h]")
    write(folder / "solar.csv", "Start,AC kWh", by_log, made)


def test_log_by_another_clock_is_told_as_that(tmp_path: Path) -> None:
    """An hour's shift puts sold energy before the sun of each day: no hole of the meter, and not named as one."""
    sunny(tmp_path, 6, 2.0)
    with pytest.raises(LoadError, match=r"production is below -0.05 kWh in 365 hours .* in the right hours$"):
        meter_load(scenario(tmp_path), meter(production=PRODUCTION), timeline(year=2025))


def test_log_without_its_nights_says_what_is_missing(tmp_path: Path) -> None:
    sunny(tmp_path, 5, 2.0)
    log = tmp_path / "solar.csv"
    head, *rows = log.read_text().splitlines()
    log.write_text("\n".join([head, *(row for row in rows if not row.endswith(",0.0"))]) + "\n")
    with pytest.raises(LoadError, match=r"^[^:]*meter.csv: 5[0-9]{3} of the 8760 hours .* write them as 0$"):
        meter_load(scenario(tmp_path), meter(production=PRODUCTION), timeline(year=2025))


def test_notes_of_the_log_speak_of_production(tmp_path: Path) -> None:
    sunny(tmp_path, 5, 2.0)
    notes = meter_load(scenario(tmp_path), meter(production=PRODUCTION), timeline(year=2025)).report.notes
    assert f"{tmp_path}/solar.csv: production is read from 'AC kWh' in kWh" in notes


def test_energy_sent_without_a_log_names_the_key(tmp_path: Path) -> None:
    sunny(tmp_path, 5, 2.0)
    with pytest.raises(LoadError, match=r"name the log of its inverter in load\.meter\.production$"):
        meter_load(scenario(tmp_path), meter(), timeline(year=2025))


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("logged_from", "told"), [(5, []), (6, ["in 183 hours", "in only 0 with the log 1 h earlier"])]
)
def test_log_that_would_fit_at_another_hour_is_doubtful(tmp_path: Path, logged_from: int, told: list[str]) -> None:
    """Half of the sun of 07:00 is sold on every other day, which a log that has it at 08:00 makes impossible."""
    hour = np.arange(8760)
    made = np.where(hour % 24 == 7, 1.0, 0.0)
    start = np.datetime64("2025-01-01T05:00") + hour.astype("m8[h]")
    bought = np.where(made > 0, 0.0, 0.4)
    write(tmp_path / "meter.csv", "Start,Import kWh,Export kWh", start, bought, made * 0.5 * (hour % 48 == 7))
    write(tmp_path / "solar.csv", "Start,AC kWh", start + np.timedelta64(logged_from - 5, "h"), made)
    warnings = meter_load(scenario(tmp_path), meter(production=PRODUCTION), timeline(year=2025)).report.warnings
    found = [each for each in warnings if "another clock" in each]
    assert [all(part in each for part in told) for each in found] == ([True] if told else [])


def test_the_longest_hole_is_named_among_many_short_ones(tmp_path: Path) -> None:
    """Twenty lost hours before three lost days: the days are named, the hours left out are counted."""
    hour = np.arange(8760)
    kept = ~((hour < 4000) & (hour % 200 == 50) | (hour >= 5000) & (hour < 5072))
    start = np.datetime64("2025-01-01T05:00") + hour[kept].astype("m8[h]")
    write(tmp_path / "meter.csv", "Start,kWh", start, (0.3 + hour % 24 / 100)[kept])
    year = load_year(scenario(tmp_path, load={"meter": {"file": "meter.csv", "format": "csv", "clock": "utc"}}))
    (told,) = [line for line in page(year) if str(line).startswith("Without a reading")]
    assert told.count("(1 h)") == 11
    assert "2025-07-28 09:00 EDT (72 h), and 9 shorter or equal gaps (9 h in total)." in told
