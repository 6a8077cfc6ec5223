"""Power of one array by itself: irradiance on its plane in, kilowatts after each loss out."""

import numpy as np
from numpy.typing import NDArray
from pvlib import pvsystem, temperature

from solarsim.production._iv_addition import Curve, best_point
from solarsim.production._modules import KnownModule
from solarsim.production._plane import PlaneIrradiance
from solarsim.production._sun import Sun
from solarsim.production.cables import cable_ohm
from solarsim.production.power import ArrayPower
from solarsim.scenario.roof.losses import Losses
from solarsim.scenario.roof.roof import Array
from solarsim.weather.typical_year import Weather

Floats = NDArray[np.float64]
# King et al., SAND2004-3535, table 1, as pvlib carries it.
MOUNTING = {"roof": "close_mount_glass_glass", "rack": "open_rack_glass_polymer"}


def array_power(
    array: Array,
    module: KnownModule | None,
    plane: PlaneIrradiance,
    through: dict[str, Floats | float],
    losses: Losses,
    system_factor: Floats,
    weather: Weather,
    sun: Sun,
) -> ArrayPower:
    """Return the power of one array after each loss, in the order of the light's way."""
    # Losses of light act on the light, all others on the current at every voltage. Cell temperature after King et al.
    # (SAND2004-3535, 2004). With a rating only: rating x effective irradiance / 1000 W/m2 x (1 + coefficient x
    # (cell - 25 C)).
    rated_kw = array.modules_in_series * array.strings * (module.w if module else array.module_w or 0.0) / 1000.0
    per_w_m2 = rated_kw / 1000.0
    stages = {cause: per_w_m2 * light for cause, light in plane.shaded_w_m2.items()}
    light = plane.effective_w_m2
    stages["incidence"] = per_w_m2 * light
    for cause, share in through.items():
        light = light * share
        stages[cause] = per_w_m2 * light
    parameters = temperature.TEMPERATURE_MODEL_PARAMETERS["sapm"][MOUNTING[array.mounting]]
    cell_c = temperature.sapm_cell(
        plane.incident_w_m2, weather.temp_air_c[sun.up], weather.wind_speed_m_s[sun.up], **parameters
    )
    curve = None
    if module is None:
        kw = pvsystem.pvwatts_dc(light, cell_c, rated_kw, array.temperature_coefficient_per_c)
    else:
        curve = module.diodes.curve(light, cell_c)
        kw = _kw(curve) * array.modules_in_series * array.strings
    kw = stages["temperature"] = np.maximum(np.asarray(kw, np.float64), 0.0)
    kw = stages["system_factor"] = kw * system_factor  # before the cable, whose loss follows the current
    for cause, lost in electrical_shares(losses).items():
        kw = stages[cause] = kw * (1.0 - lost)
    if curve is not None:
        kept = np.maximum(share_kept(losses) * system_factor, 1e-9)
        curve = curve.strings(array.modules_in_series, array.strings, kept, cable_ohm(array.cable))
        if array.cable is not None:
            stages["cables"] = np.minimum(_kw(curve), kw)
    return ArrayPower(array.name, array.input, rated_kw, stages, curve)


def _kw(curve: Curve) -> Floats:
    volts, current = best_point([curve])
    return volts * current / 1000.0


def electrical_shares(losses: Losses) -> dict[str, float]:
    """Return the shares of power that are lost behind the cells, by cause; that of age is compounded."""
    age = 0.0 if losses.module.age is None else 1.0 - (1.0 - losses.module.age.loss_per_year) ** losses.module.age.years
    return {
        "rating_tolerance": losses.module.rating_tolerance,
        "light_induced": losses.module.light_induced,
        "aging": losses.module.aging + age,  # one of them is 0
        "mismatch": losses.wiring.mismatch,
        "downtime": losses.operation.downtime,
        "cables": losses.wiring.cables,
    }


def share_kept(losses: Losses) -> float:
    """Return the share of the cells' power that reaches the inverter."""
    return float(np.prod([1.0 - share for share in electrical_shares(losses).values()]))
