"""Checks of sun and sky: solar position, transposition, and the typical years pvlib carries."""

import numpy as np
import pandas as pd
import pytest
from pvlib import irradiance, solarposition

from solarsim.scenario.read import packaged_folder
from solarsim.scenario.site import WeatherFile
from solarsim.weather.label_check import label_offset_min
from solarsim.weather.read import read_weather
from solarsim.weather.typical_year import Weather
from tests.open_data import ACCIM, DIYEPW, PVLIB_SOURCE, Package, open_data

pytestmark = pytest.mark.published


def sample(name: str) -> Weather:
    """Read one of the packaged typical years."""
    source = WeatherFile(file=name, format="tm2" if name.endswith("tm2") else "tmy3")
    return read_weather(packaged_folder("weather_samples") / name, source)


def epw(package: Package, name: str) -> Weather:
    """Read an EPW file that stands in another package."""
    return read_weather(open_data(package, name), WeatherFile(file=name, format="epw"))


def test_solar_position_of_the_algorithm_s_own_appendix() -> None:
    """Reda & Andreas, NREL/TP-560-34302 (2008), appendix: printed to five decimals."""
    when = pd.DatetimeIndex(["2003-10-17 12:30:30"], tz="Etc/GMT+7")
    sun = solarposition.get_solarposition(
        when, 39.742476, -105.1786, 1830.14, pressure=82000, temperature=11, delta_t=67, method="nrel_numpy"
    )
    assert sun["apparent_zenith"].iloc[0] == pytest.approx(50.11162, abs=5e-5)
    assert sun["zenith"].iloc[0] == pytest.approx(50.12795, abs=5e-5)
    assert sun["azimuth"].iloc[0] == pytest.approx(194.34024, abs=5e-5)
    aoi = irradiance.aoi(30, 170, sun["apparent_zenith"], sun["azimuth"])
    assert aoi.iloc[0] == pytest.approx(25.18700, abs=5e-5)


def test_transposition_of_the_handbook_s_examples() -> None:
    """Duffie & Beckman, Solar Engineering of Thermal Processes, Examples 2.15.1 and 2.16.1.

    40 N, 60 deg to the south, 20 February, 9-10 h solar, I = 1.04 MJ/m2, ground 0.60: isotropic 1.171,
    HDKR 1.283 MJ/m2. The book splits the hour into 0.796 diffuse and 0.244 beam (from memory).
    """
    latitude, declination, hour_angle = np.radians(40), np.radians(-11.6), np.radians(-37.5)
    zenith = np.degrees(solarposition.solar_zenith_analytical(latitude, hour_angle, declination))
    azimuth = np.degrees(solarposition.solar_azimuth_analytical(latitude, hour_angle, declination, np.radians(zenith)))
    watts = 1e6 / 3600
    common = {
        "dni": 0.244 * watts / np.cos(np.radians(zenith)),
        "ghi": 1.04 * watts,
        "dhi": 0.796 * watts,
        "dni_extra": irradiance.get_extra_radiation(51, method="spencer"),
        "albedo": 0.60,
    }
    for model, printed in (("isotropic", 1.171), ("reindl", 1.283)):
        found = irradiance.get_total_irradiance(60, 180, zenith, azimuth, model=model, **common)
        assert found["poa_global"] / watts == pytest.approx(printed, abs=0.012)


@pytest.mark.parametrize(
    ("name", "place", "offset_h", "sums"),
    [
        ("723170TYA.CSV", (36.10, -79.95, 273), -5, (1566.2, 1476.5, 682.2)),
        ("703165TY.csv", (55.317, -160.517, 7), -9, (829.2, 819.2, 460.9)),
        ("12839.tm2", (25.80, -80.267, 2), -5, (1792.6, 1504.9, 809.5)),
    ],
)
def test_packaged_years_have_their_published_sums(
    name: str, place: tuple[float, ...], offset_h: float, sums: tuple[float, ...]
) -> None:
    """Annual GHI, DNI, DHI [kWh/m2] of the US Department of Energy's files, to the printed digit."""
    weather = sample(name)
    assert (weather.latitude_deg, weather.longitude_deg, weather.elevation_m) == pytest.approx(place, abs=5e-4)
    assert weather.utc_offset_h == offset_h
    found = [column.sum() / 1000 for column in (weather.ghi_w_m2, weather.dni_w_m2, weather.dhi_w_m2)]
    assert found == pytest.approx(sums, abs=0.05)


def test_greensboro_months() -> None:
    """Monthly GHI of the Greensboro file [kWh/m2], to the printed digit."""
    hours = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]) * 24
    month = np.repeat(np.arange(12), hours)
    found = np.bincount(month, sample("723170TYA.CSV").ghi_w_m2) / 1000
    printed = [74.85, 85.75, 131.77, 162.30, 174.72, 187.53, 188.58, 174.05, 132.81, 111.26, 73.04, 69.53]
    assert found.tolist() == pytest.approx(printed, abs=0.005)


def test_greensboro_place_name_is_read_without_quotes() -> None:
    """US Department of Energy's typical year of Greensboro: the file's first line."""
    assert sample("723170TYA.CSV").place == "Greensboro Piedmont Triad Int, NC"


def test_tm2_tenths_are_degrees_and_metres_per_second() -> None:
    """US Department of Energy's typical year of Miami; Marion & Urban, User's Manual for TMY2s (1995).

    Miami in a year: no hour below -5 C or above 40 C, mean wind of a coast, not ten times that.
    """
    miami = sample("12839.tm2")
    assert miami.temp_air_c.min() > -5
    assert miami.temp_air_c.max() < 40
    assert miami.temp_air_c.mean() == pytest.approx(24.3, abs=1.0)  # climate normal of Miami, from memory
    assert 2 < miami.wind_speed_m_s.mean() < 6


@pytest.mark.parametrize(
    ("package", "name", "offset_h", "ghi"),
    [
        (DIYEPW, "USA_IL_Chicago.OHare.Intl.AP.725300_TMY3.epw", -6, 1406.6),
        (DIYEPW, "USA_AK_Northway.AP.702910_TMY3.epw", -9, 837.3),
        (ACCIM, "optimisation_examples/Sydney.epw", 10, 1652.2),
        (PVLIB_SOURCE, "NLD_Amsterdam062400_IWEC.epw", 1, 982.5),
    ],
)
def test_epw_years_have_their_sums_and_their_labels(package: Package, name: str, offset_h: float, ghi: float) -> None:
    """EPW files of the packages diyepw and accim-samples and of pvlib's source distribution, to the printed digit."""
    weather = epw(package, name)
    assert weather.utc_offset_h == offset_h
    assert weather.ghi_w_m2.sum() / 1000 == pytest.approx(ghi, abs=0.05)
    assert label_offset_min(weather) == 0
    assert weather.notes == ()


def test_northway_keeps_its_lowest_temperature_and_its_dark_december() -> None:
    """EPW file of Northway in the package diyepw, to the printed digit."""
    northway = epw(DIYEPW, "USA_AK_Northway.AP.702910_TMY3.epw")
    assert northway.temp_air_c.min() == pytest.approx(-46, abs=0.5)
    assert northway.ghi_w_m2[334 * 24 :].sum() / 1000 == pytest.approx(3.2, abs=0.05)


@pytest.mark.parametrize("name", ["723170TYA.CSV", "703165TY.csv", "12839.tm2"])
def test_after_reading_labels_stand_at_the_start_of_the_hour(name: str) -> None:
    """US Department of Energy's typical years: GHI = DHI + DNI cos(zenith) closes at mid-interval only.

    The offset that closes GHI = DHI + DNI cos(zenith) is the middle of the labelled hour.
    """
    assert label_offset_min(sample(name)) == 0


@pytest.mark.parametrize("shift_h", [-1, 1])
def test_rows_shifted_by_an_hour_are_detected(shift_h: int) -> None:
    """US Department of Energy's typical years, shifted by an hour."""
    weather = sample("723170TYA.CSV")
    columns = {name: np.roll(getattr(weather, name), shift_h) for name in ("ghi_w_m2", "dni_w_m2", "dhi_w_m2")}
    assert label_offset_min(Weather(**{**vars(weather), **columns})) == -60 * shift_h


def test_header_with_a_wrong_time_zone_is_detected() -> None:
    """US Department of Energy's typical year of Greensboro, its time zone changed."""
    weather = sample("723170TYA.CSV")
    assert label_offset_min(Weather(**{**vars(weather), "utc_offset_h": -6.0})) == -60
