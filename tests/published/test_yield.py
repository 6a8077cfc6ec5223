"""Checks of yield: the whole way from a weather file to kWh per kW."""

import numpy as np
import pandas as pd
import pytest
from numpy.typing import NDArray
from pvlib import iam, irradiance, solarposition, temperature

from solarsim.production._plane import plane_irradiance
from solarsim.production._sun import sun_over
from solarsim.production.dc_power import dc_power
from solarsim.production.power import DcPower
from solarsim.scenario.read import packaged_folder
from solarsim.scenario.site import WeatherFile
from solarsim.weather.read import read_weather
from solarsim.weather.typical_year import Weather
from tests.builders import scenario, timeline
from tests.open_data import ACCIM, DIYEPW, PVLIB_SOURCE, open_data

INVERTER = 0.96
PLAIN_LOSSES = 0.86


def weather_of(path: object, kind: str) -> Weather:
    return read_weather(path, WeatherFile.model_validate({"file": "x", "format": kind}))  # type: ignore[arg-type]


def plain_yield(
    weather: Weather, zone: str, tilt: float, azimuth: float, mounting: str = "rack"
) -> NDArray[np.float64]:
    """Our production with 14 % losses and a 96 % inverter [kWh per kW in each hour]."""
    home = scenario(
        arrays__0__tilt_deg=tilt,
        arrays__0__azimuth_deg=azimuth,
        arrays__0__mounting=mounting,
        inverter__inputs=[{"max_kw": 50.0}],
    )
    found: DcPower = dc_power(home, weather, timeline(zone))
    return np.asarray(found.dc_kw / found.rated_kw * PLAIN_LOSSES * INVERTER)


def plain_model_yield(weather: Weather, zone: str, tilt: float, azimuth: float) -> float:
    """Yield of our plane irradiance without glass and with Faiman's cell temperature [kWh per kW]."""
    home = scenario(arrays__0__tilt_deg=float(tilt), arrays__0__azimuth_deg=azimuth)
    sun = sun_over(weather, timeline(zone))
    plane = plane_irradiance(home.arrays[0], weather, sun, "haydavies", 0.2)
    cell = temperature.faiman(plane.incident_w_m2, weather.temp_air_c[sun.up], weather.wind_speed_m_s[sun.up])
    per_kw = plane.incident_w_m2 / 1000 * (1 - 0.004 * (cell - 25)) * PLAIN_LOSSES * INVERTER
    return float(per_kw.sum())


@pytest.mark.published
@pytest.mark.parametrize(
    ("name", "kind", "zone", "tilt", "printed"),
    [
        ("723170TYA.CSV", "tmy3", "America/New_York", 30, 1397),
        ("12839.tm2", "tm2", "America/New_York", 25, 1484),
        ("703165TY.csv", "tmy3", "America/Anchorage", 40, 869),
    ],
)
def test_plain_model_s_yield_from_our_plane_of_array_irradiance(
    name: str, kind: str, zone: str, tilt: float, printed: float
) -> None:
    """US Department of Energy's typical years under a plain model of our own (Hay-Davies, Faiman, -0.4 %/K).

    Plain-model regression: Hay-Davies, Faiman, -0.4 %/K, 14 % losses, 96 % inverter, no glass loss.

    Ours differs from it by the glass and by the cell temperature model only: with those two put
    back, the sun, the labels and the transposition must give the same within 0.5 %.
    """
    weather = weather_of(packaged_folder("weather_samples") / name, kind)
    assert plain_model_yield(weather, zone, tilt, 180.0) == pytest.approx(printed, rel=0.005)


@pytest.mark.published
def test_sydney_year_best_and_worst_month() -> None:
    """Table in AS/NZS 5033 as a manufacturer prints it (secondary copy): 3.94 kWh/kW/day, 4.83, 2.82.

    Sydney, true north, tilt = latitude: 3.94 kWh/kW/day, best month 4.83, worst 2.82.

    Table in AS/NZS 5033 reproduced by a manufacturer (secondary copy). A typical-year file of another
    period is not the table's climate, and we take the glass off too: 6 % on the year, 10 % on a month.
    """
    weather = weather_of(open_data(ACCIM, "optimisation_examples/Sydney.epw"), "epw")
    where = timeline("Australia/Sydney")
    hourly = plain_yield(weather, "Australia/Sydney", 33.9, 0.0)
    days = np.bincount(where.standard_month - 1) / 24
    daily = np.bincount(where.standard_month - 1, hourly) / days
    assert hourly.sum() / 365 == pytest.approx(3.94, rel=0.06)
    assert daily.max() == pytest.approx(4.83, rel=0.10)
    assert daily.min() == pytest.approx(2.82, rel=0.10)


@pytest.mark.published
def test_amsterdam_by_orientation_and_the_national_average() -> None:
    """Van Sark et al., 29th EU PVSEC (2014): 875 kWh/kWp; by orientation a plain model of our own.

    Plain model on the Amsterdam file: south 926, south-east 869, east 728 kWh/kWp (own regression).

    van Sark et al., 29th EU PVSEC (2014): 875 kWh/kWp national average over all orientations.
    With the same sub-models ours gives the same within 1 %; as it stands it takes off the glass and
    warms the cells by another model, 4 to 6 % in all.
    """
    weather = weather_of(open_data(PVLIB_SOURCE, "NLD_Amsterdam062400_IWEC.epw"), "epw")
    plain = [plain_model_yield(weather, "Europe/Amsterdam", 35, azimuth) for azimuth in (180.0, 135.0, 90.0)]
    assert plain == pytest.approx([926, 869, 728], rel=0.01)
    ours = [plain_yield(weather, "Europe/Amsterdam", 35, azimuth).sum() for azimuth in (180.0, 135.0, 90.0)]
    assert ours == pytest.approx([926, 869, 728], rel=0.06)
    assert ours[0] == pytest.approx(875, rel=0.03)


@pytest.mark.trade
def test_sunny_western_roof_in_march_july_and_january() -> None:
    """Common practice, no source: about 142 kWh per kW in March, about 192 in the best summer month.

    In January a zero-export system logged 70 kWh per kW: a lower bound, since what could not be
    used was never made. Mount Shasta typical year, a roof of 20 deg to the south, the demo's losses.
    """
    weather = weather_of(open_data(DIYEPW, "USA_CA_Mount.Shasta.725957_TMYx.epw"), "epw")
    where = timeline("America/Los_Angeles")
    home = scenario(
        arrays__0__tilt_deg=20.0,
        arrays__0__mounting="roof",
        arrays__0__temperature_coefficient_per_c=-0.0034,
        production__transposition="perez_driesse",
        losses={"array": {"soiling": 0.02, "shading": 0.02}, "wiring": {"mismatch": 0.015, "cables": 0.02},
                "module": {"light_induced": 0.015, "rating_tolerance": 0.005}},
    )  # fmt: skip
    found = dc_power(home, weather, where)
    hourly = found.dc_kw / found.rated_kw
    monthly = np.bincount(where.standard_month - 1, hourly)
    assert monthly[2] == pytest.approx(142, rel=0.10)
    assert monthly[5:8].max() == pytest.approx(192, rel=0.10)
    assert monthly[0] > 70


@pytest.mark.second_opinion
@pytest.mark.parametrize(
    ("sky_model", "pvlib_model", "mounting", "sapm"),
    [
        ("hay_davies", "haydavies", "rack", "open_rack_glass_polymer"),
        ("perez_driesse", "perez-driesse", "roof", "close_mount_glass_glass"),
    ],
)
def test_hourly_power_equals_pvlib_strung_together_by_hand(
    sky_model: str, pvlib_model: str, mounting: str, sapm: str
) -> None:
    """The same models called one by one in pvlib, with the half-hour shift written out."""
    weather = weather_of(packaged_folder("weather_samples") / "723170TYA.CSV", "tmy3")
    where = timeline()
    home = scenario(
        arrays__0__azimuth_deg=250.0,
        arrays__0__mounting=mounting,
        production__transposition=sky_model,
        inverter__inputs=[{"max_kw": 50.0}],
    )
    middle = pd.DatetimeIndex(where.utc_start + np.timedelta64(30, "m"), tz="UTC")
    sun = solarposition.get_solarposition(middle, 36.1, -79.95, altitude=273)
    zenith, azimuth = sun["apparent_zenith"].to_numpy(), sun["azimuth"].to_numpy()
    sky = irradiance.get_total_irradiance(
        30, 250, zenith, azimuth, weather.dni_w_m2, weather.ghi_w_m2, weather.dhi_w_m2,
        dni_extra=irradiance.get_extra_radiation(middle).to_numpy(), albedo=0.2, model=pvlib_model,
    )  # fmt: skip
    glass = iam.marion_diffuse("physical", 30)
    through = sky["poa_direct"] * iam.physical(irradiance.aoi(30, 250, zenith, azimuth))
    through = through + sky["poa_sky_diffuse"] * glass["sky"] + sky["poa_ground_diffuse"] * glass["ground"]
    parameters = temperature.TEMPERATURE_MODEL_PARAMETERS["sapm"][sapm]
    cell = temperature.sapm_cell(sky["poa_global"], weather.temp_air_c, weather.wind_speed_m_s, **parameters)
    expected = 4.0 * through / 1000 * (1 - 0.004 * (cell - 25))
    ours = dc_power(home, weather, where).dc_kw
    high = zenith < 75  # away from sunrise and sunset, where ours takes the sun-up part of the hour
    np.testing.assert_allclose(ours[high], expected[high], rtol=1e-9)
    assert ours.sum() == pytest.approx(np.nan_to_num(expected).clip(min=0).sum(), rel=0.005)
