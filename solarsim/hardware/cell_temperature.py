"""The cells' temperature: outdoor temperature and place of the bank in; limits of each step and heater power out.

Ambient air: indoors the room's temperature; in an unheated garage the outdoor temperature, lagging behind it by a day
(common practice, no source); outdoors the outdoor temperature itself. The cells lag behind that air by their heat
capacity and the surface of their housing, as one lump (a first-order lag, exact for air that is constant within a
step). The mean of a step decides its limits.

Not modeled: heat from the cells' own losses, sun on the housing, cells of one bank unlike each other. The first makes
the cold limits apply a little more often than in reality.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.engine.records import Cells, Limits, cells_at_ease
from solarsim.scenario.battery.battery import Battery
from solarsim.scenario.battery.chemistry import BUILDS

Floats = NDArray[np.float64]
_GARAGE_LAG_H = 24.0
_SURFACE_W_PER_M2_K = 5.0  # still air inside and outside a thin housing; common practice, no source


class Bank(NamedTuple):
    """A bank over the year.

    Attributes
    ----------
    temperature_c : array of float, optional
        Mean of each step in the cells [C]; None where no chemistry was named.
    cells : Cells
        What it allows and needs.
    """

    temperature_c: Floats | None
    cells: Cells


def bank_over_year(battery: Battery | None, limits: Limits, outdoor_c: Floats) -> Bank:
    """Compute a bank's temperature, and what it allows and needs in each step.

    Parameters
    ----------
    battery : Battery or None
        The bank.
    limits : Limits
        Hardware.
    outdoor_c : array of float
        Mean of each step [C].

    Returns
    -------
    Bank
        Without limits of temperature where the bank names no chemistry.
    """
    ease = cells_at_ease(limits, outdoor_c.size)
    if battery is None or battery.chemistry is None or battery.kwh == 0.0:
        return Bank(None, ease)
    loss_w_per_k, lag_h = _thermal(battery)
    air_c = np.full(outdoor_c.size, battery.room_c) if battery.place == "indoor" else outdoor_c
    if battery.place == "garage":
        air_c, _ = _lagged(air_c, _GARAGE_LAG_H, limits.step_h)
    heater = battery.heater
    rise_c, hold_c = (0.0, 0.0) if heater is None else (heater.w / loss_w_per_k, heater.below_c)
    cell_c, duty = _lagged(air_c, lag_h, limits.step_h, rise_c, hold_c)
    heater_kw = duty * (0.0 if heater is None else heater.w / 1000.0)
    return Bank(
        cell_c,
        Cells(
            charge_kw=_charge_limit(battery, limits.charge_kw, cell_c),
            discharge_kw=np.where(
                (cell_c > battery.discharge_min_c) & (cell_c < battery.discharge_max_c), limits.discharge_kw, 0.0
            ),
            heater_kw=heater_kw,
        ),
    )


def _charge_limit(battery: Battery, most_kw: float, cell_c: Floats) -> Floats:
    """Return the charge limit at a cell temperature: none outside the limits, slow while cold [kW]."""
    slow_kw = min(most_kw, battery.charge_slow_c_rate * battery.kwh)
    allowed = np.where(cell_c < battery.charge_slow_below_c, slow_kw, most_kw)
    return np.where((cell_c > battery.charge_min_c) & (cell_c < battery.charge_max_c), allowed, 0.0)


def _thermal(battery: Battery) -> tuple[float, float]:
    """Return loss [W/K] and lag [h] of a bank: a cube of its volume, its surface, its heat capacity."""
    build = BUILDS[battery.chemistry or ""]
    surface_m2 = 6.0 * (battery.kwh * build.liters / 1000.0) ** (2.0 / 3.0)
    loss_w_per_k = _SURFACE_W_PER_M2_K * surface_m2
    return loss_w_per_k, battery.kwh * build.wh_per_k / loss_w_per_k


def _lagged(
    air_c: Floats, lag_h: float, step_h: float, rise_c: float = 0.0, hold_c: float = 0.0
) -> tuple[Floats, Floats]:
    """Return the mean temperature of a body that follows the air, and its heater's duty; the year is a circle."""
    # ``rise_c`` is how far the heater lifts the body above the air in the long run, ``hold_c`` what it holds.
    kept = float(np.exp(-step_h / lag_h))
    mean_kept = lag_h / step_h * (1.0 - kept)
    body, mean_c, duty = float(air_c.mean()), np.empty(air_c.size), np.zeros(air_c.size)
    around = air_c.tolist()
    for _ in range(2):  # the second round begins where the first one ended
        for i, air in enumerate(around):
            share = 0.0
            if rise_c > 0.0:
                needed = hold_c - (air + (body - air) * kept)
                share = min(1.0, max(0.0, needed / (rise_c * (1.0 - kept))))
            target = air + share * rise_c
            mean_c[i], duty[i] = target + (body - target) * mean_kept, share
            body = target + (body - target) * kept
    return mean_c, duty
