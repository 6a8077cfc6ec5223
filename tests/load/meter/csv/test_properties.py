"""Promises for every meter CSV: whatever its dress, the same series; whatever its bytes, a reading or a reason."""

from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solarsim.errors import LoadError
from solarsim.load.meter import Readings, read_meter_csv
from solarsim.scenario.load.meter import MeterCsv
from tests.load.meter.files import plain, wall

ORDERS = {
    "ymd": ["%Y-%m-%d", "%Y/%m/%d", "%Y.%m.%d", "%Y%m%d", "%y-%m-%d"],
    "dmy": ["%d.%m.%Y", "%d/%m/%Y", "%d-%m-%y", "%d-%b-%Y"],
    "mdy": ["%m/%d/%Y", "%m-%d-%y", "%b %d, %Y"],
}
UNITS = {"kwh": "kWh", "wh": "Wh", "kw": "kW", "w": "W"}


@dataclass(frozen=True)
class Dress:
    """How a series is written."""

    delimiter: str
    decimal: str
    order: str
    date: str
    clock: str
    step_min: int
    unit: str
    columns: int
    labels: str
    above: tuple[str, ...]
    unit_row: bool
    newest_first: bool
    encoding: str


@st.composite
def dresses(draw: st.DrawFn) -> Dress:
    """Draw how a series is written."""
    order = draw(st.sampled_from(sorted(ORDERS)))
    return Dress(
        delimiter=draw(st.sampled_from(",;\t|")),
        decimal=draw(st.sampled_from(".,")),
        order=order,
        date=draw(st.sampled_from(ORDERS[order])),
        clock=draw(st.sampled_from(["%H:%M", "%H:%M:%S", "%I:%M %p", "%I:%M:%S %p"])),
        step_min=draw(st.sampled_from([15, 30, 60])),
        unit=draw(st.sampled_from(sorted(UNITS))),
        columns=draw(st.sampled_from([1, 2])),
        labels=draw(st.sampled_from(["start", "end"])),
        above=tuple(draw(st.lists(st.sampled_from(["", "Name;Müller", "Meter,4711", "from 1 May 2024"]), max_size=4))),
        unit_row=draw(st.booleans()),
        newest_first=draw(st.booleans()),
        encoding=draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "latin-1"])),
    )


def cell(text: str, dress: Dress) -> str:
    return f'"{text}"' if dress.delimiter in text else text


def dressed(first: pd.Timestamp, thousandths: list[tuple[int, int]], dress: Dress) -> bytes:
    """Write a series of import and export as a file."""
    unit = UNITS[dress.unit]
    heads = ["Date", "Time"] if dress.columns == 2 else ["Time"]
    units = [unit, unit]
    names = ["Import", "Export"] if dress.unit_row else [f"Import {unit}", f"Export [{unit}]"]
    rows = []
    for number, pair in enumerate(thousandths):
        stamp = first + pd.Timedelta(minutes=dress.step_min * (number + (dress.labels == "end")))
        time = [stamp.strftime(dress.date), stamp.strftime(dress.clock)]
        texts = [f"{value / 1000:.3f}".replace(".", dress.decimal) for value in pair]
        rows.append([*(time if dress.columns == 2 else [" ".join(time)]), *texts])
    if dress.newest_first:
        rows.reverse()
    table = [[*heads, *names], *([["", *([""] * (dress.columns - 1)), *units]] if dress.unit_row else []), *rows]
    text = [*dress.above, *(dress.delimiter.join(cell(each, dress) for each in row) for row in table)]
    return ("\r\n".join(text) + "\r\n").encode(dress.encoding)


def read_bytes(content: bytes, **settled: Any) -> Readings:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "meter.csv"
        path.write_bytes(content)
        return read_meter_csv(path, MeterCsv(**settled))


@given(
    dresses(),
    st.datetimes(pd.Timestamp("2001-01-01"), pd.Timestamp("2049-12-31")),
    st.lists(st.tuples(st.integers(0, 9_999_999), st.integers(0, 9_999)), min_size=2, max_size=60),
)
def test_the_same_series_in_any_dress(dress: Dress, first: Any, thousandths: list[tuple[int, int]]) -> None:
    """With order, clock and labels settled, times are those written and every sum is kept."""
    begins = pd.Timestamp(first).floor("h")
    readings = read_bytes(
        dressed(begins, thousandths, dress),
        clock="utc",
        kind="interval",
        labels=dress.labels,
        date_order=dress.order,
        decimal=dress.decimal,
    )
    kwh = np.array(thousandths) / 1000 * (1e-3 if dress.unit in ("wh", "w") else 1.0)
    kwh = kwh * (dress.step_min / 60 if dress.unit in ("kw", "w") else 1.0)
    expected = pd.date_range(begins, periods=len(thousandths), freq=f"{dress.step_min}min")
    np.testing.assert_array_equal(readings.start, expected.to_numpy().astype("datetime64[s]"))
    np.testing.assert_allclose(readings.import_kwh, kwh[:, 0], rtol=1e-12)
    np.testing.assert_allclose(readings.export_kwh, kwh[:, 1], rtol=1e-12)
    assert set(readings.duration_s.tolist()) == {dress.step_min * 60}
    assert readings.import_kwh.sum() == pytest.approx(kwh[:, 0].sum(), rel=1e-12)


@given(
    st.sampled_from(["America/New_York", "Europe/Madrid", "Australia/Adelaide", "Asia/Kolkata", "Africa/Cairo"]),
    st.integers(1, 360),
    st.integers(2, 12),
    st.sampled_from([15, 30, 60]),
    st.booleans(),
)
def test_a_wall_clock_is_given_back_as_it_stands(zone: str, day: int, days: int, step: int, newest_first: bool) -> None:
    stamps = wall(zone, str(pd.Timestamp("2023-12-31") + pd.Timedelta(days=day)), days, step)
    rows = [f"{stamp},{0.1 + number % 7}" for number, stamp in enumerate(stamps)]
    text = "\n".join(["Start,kWh", *(rows[::-1] if newest_first else rows)])
    readings = read_bytes(text.encode(), clock="wall")
    np.testing.assert_array_equal(readings.start, np.array([np.datetime64(stamp, "s") for stamp in stamps]))
    assert readings.import_kwh.tolist() == [0.1 + number % 7 for number in range(len(stamps))]


@given(
    st.lists(
        st.tuples(st.integers(0, 700), st.text(max_size=3) | st.sampled_from(list(',;\t|".\n:-+T24/'))), max_size=6
    )
)
def test_a_broken_file_is_read_or_refused_with_a_reason(changes: list[tuple[int, str]]) -> None:
    text = plain()
    for place, new in changes:
        text = text[:place] + new + text[place + 1 :]
    try:
        readings = read_bytes(text.encode("utf-8", "surrogatepass"), clock="utc")
    except LoadError as error:
        assert all("meter.csv: " in line for line in error.problems)  # noqa: PT017  both ends are good
    else:
        assert np.isfinite(readings.import_kwh).all()
        assert (np.diff(readings.start) > np.timedelta64(0)).all()


@given(st.binary(max_size=300))
def test_any_bytes_are_refused_with_a_reason(content: bytes) -> None:
    with pytest.raises(LoadError, match=r"meter\.csv: "):
        read_bytes(content)
