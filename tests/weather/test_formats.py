"""Every format that holds a year, by real files of pvlib's source distribution; other formats are named."""

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from solarsim.errors import WeatherError
from solarsim.weather._formats.common import at_middle, mean_of_halves
from solarsim.weather._formats.known import format_of
from solarsim.weather.label_check import label_offset_min
from tests.open_data import PVLIB_SOURCE, open_data
from tests.weather.test_read import GREENSBORO, chicago, plain_csv, read

PVGIS = "tests/data/tmy_45.000_8.000_2005_2023"


def real(name: str) -> Path:
    return open_data(PVLIB_SOURCE, name)


@pytest.mark.by_hand
def test_instants_become_hours_by_straight_lines() -> None:
    """A ramp of 4 an hour read at the hour is 2 higher in its middle; halves 0, 1, 4, 3 make means of 1.5 and 2.5."""
    ramp = np.array([0.0, 4.0, 8.0])
    assert at_middle(ramp, 0.0)[:2].tolist() == [2.0, 6.0]
    assert at_middle(ramp, 0.5).tolist() == [0.0, 4.0, 8.0]
    assert at_middle(ramp, 0.25)[:2].tolist() == [1.0, 5.0]
    assert at_middle(ramp, 0.75)[1:].tolist() == [3.0, 7.0]
    assert mean_of_halves(np.array([0.0, 1.0, 4.0, 3.0])).tolist() == [1.5, 2.5]


@pytest.mark.published
@pytest.mark.parametrize("version", ["psm3", "psm4"])
def test_half_hours_of_the_national_solar_radiation_database_are_read(version: str) -> None:
    """Files of the NSRDB in pvlib's source distribution: sums of their own columns.

    Sums of the file's own columns / 2; labels that fit the sun to 10 minutes; the place of its second line.
    """
    path = real(f"tests/data/test_read_{version}.csv")
    weather = read(path, "psm")
    rows = pd.read_csv(path, skiprows=2)
    for ours, theirs in (("ghi_w_m2", "GHI"), ("dni_w_m2", "DNI"), ("dhi_w_m2", "DHI"), ("temp_air_c", "Temperature")):
        assert getattr(weather, ours).sum() == pytest.approx(rows[theirs].sum() / 2, rel=1e-9)
    assert (weather.latitude_deg, weather.longitude_deg, weather.utc_offset_h) == (40.53, -108.54, -7.0)
    assert weather.elevation_m == 2168.0
    assert label_offset_min(weather) == 0
    assert weather.notes == ()


@pytest.mark.published
@pytest.mark.parametrize(("file", "minute"), [("test_psm4_full_disc_2023.csv", 0), ("test_psm4_tmy-2023.csv", 30)])
def test_hours_of_the_same_source_are_read_from_the_full_and_the_half_hour(
    tmp_path: Path, file: str, minute: int
) -> None:
    """Files of the NSRDB in pvlib's source distribution: the sun fits the middle of the hour.

    Tables without their first two lines, whose place pvlib's tests state; the sun fits the middle of the hour.
    """
    table = pd.read_csv(real(f"tests/data/{file}"), index_col=0)
    assert set(table["Minute"]) == {minute}
    head = "Source,Location ID,Latitude,Longitude,Time Zone,Elevation\nNSRDB,1,40.515,-108.54,-7,2100\n"
    path = tmp_path / "year.csv"
    path.write_text(head + table.to_csv(index=False))
    weather = read(path, "psm")
    assert weather.dni_w_m2.sum() == pytest.approx(table["DNI"].sum())
    assert label_offset_min(weather) == 0
    assert weather.notes == ()


@pytest.mark.published
def test_typical_year_in_utc_is_read_as_csv_and_as_json() -> None:
    """PVGIS files in pvlib's source distribution: sums of their own columns.

    Both of one place, equal; sums of the file's own columns; irradiance 0.1761 h after the hour, by its header.
    """
    table, record = (read(real(f"{PVGIS}.{kind}"), "pvgis") for kind in ("csv", "json"))
    for name in ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "temp_air_c", "wind_speed_m_s"):
        np.testing.assert_allclose(getattr(table, name), getattr(record, name))
    hours = json.loads(real(f"{PVGIS}.json").read_text())["outputs"]["tmy_hourly"]
    assert table.ghi_w_m2.sum() == pytest.approx(sum(hour["G(h)"] for hour in hours))
    assert table.wind_speed_m_s.sum() == pytest.approx(sum(hour["WS10m"] for hour in hours))
    assert (table.latitude_deg, table.longitude_deg, table.elevation_m, table.utc_offset_h) == (45.0, 8.0, 250.0, 0.0)
    assert table.year_of_month[:4] == (2018, 2007, 2009, 2013)  # the header's list of months
    assert label_offset_min(table) == 0
    # Two days and more without any light in May stand in the file itself, and are named.
    (note,) = table.notes
    assert "ghi_w_m2 has no sun in 35 hours of daylight, from 16 May 13:00 to 19 May 09:00" in note


def test_each_format_is_told_by_its_first_lines() -> None:
    texts = {
        "tmy3": GREENSBORO.read_text(),
        "tm2": GREENSBORO.with_name("12839.tm2").read_text(),
        "epw": chicago(),
        "csv": plain_csv(),
        "psm": "Source,Location ID,City\nNSRDB,1,-\n",
        "pvgis": "Latitude (decimal degrees): 45.000\n",
    }
    assert {kind: format_of(text) for kind, text in texts.items()} == {kind: kind for kind in texts}
    assert format_of("hello\nworld\n") is None


@pytest.mark.parametrize("kind", ["tmy3", "tm2", "psm", "pvgis", "csv"])
def test_a_file_of_another_format_is_refused_with_the_right_name(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "year.csv"
    path.write_text(chicago())
    with pytest.raises(WeatherError, match=rf'year.csv: is of format epw, not {kind}; write format = "epw"'):
        read(path, kind)


@pytest.mark.published
@pytest.mark.parametrize(
    ("file", "name"),
    [
        ("surfrad-slv16001.dat", "SURFRAD"),
        ("bsrn-lr0100-pay0616.dat", "BSRN"),
        ("SRML-day-EUPO1801.txt", "SRML"),
        ("cams_radiation_monthly.csv", "CAMS"),
        ("CRNS0101-05-2019-AZ_Tucson_11_W.txt", "CRN"),
    ],
)
def test_minute_and_daily_data_are_named_and_refused(file: str, name: str) -> None:
    """Real files of pvlib's source distribution: each is named."""
    with pytest.raises(WeatherError, match=f"is a {name} file, which holds less than a year or lacks columns"):
        read(real(f"tests/data/{file}"), "csv")
