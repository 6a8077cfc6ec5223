"""Hot water and well water: liters of a day in, the electricity of heater and pump out.

A tank holds one day's need. What is drawn is missing from it until the heater or the pump, in the hours in which it may
run and with the power it has, brings it back. What is missing beyond a day's need is given up: the shower stays cold.
"""

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.clock.windows import steps_in_any
from solarsim.load._days import DAYS, day_of_step, of_each_day
from solarsim.load._part_load import PartLoad, refill
from solarsim.scenario.load.appliances import WaterHeater, WellPump

KWH_PER_LITER_K = 4.186 / 3600  # specific heat of water 4.186 kJ/(kg K), one liter weighs 1 kg
KWH_PER_LITER_M = 9.81 / 3.6e6  # 1 kg lifted by 1 m against 9.81 m/s2

# Shares of a day's water by wall-clock hour. Our own invention, drawn from what is commonly seen in
# homes (common practice, no source): showers in the morning, the kitchen and baths in the evening.
# fmt: off
#    hour 0  1  2  3  4  5   6   7   8  9 10 11 12 13 14 15 16 17  18  19  20 21 22 23
_PERCENT = {
    "morning":
        (1, 0, 0, 0, 1, 6, 17, 22, 13, 6, 3, 2, 2, 2, 1, 1, 1, 2,  4,  5,  4, 3, 2, 2),
    "evening":
        (2, 1, 0, 0, 0, 1,  3,  5,  4, 3, 2, 2, 3, 2, 2, 2, 3, 6, 12, 16, 13, 9, 6, 3),
    "morning_and_evening":
        (1, 0, 0, 0, 1, 4, 10, 13,  8, 5, 3, 3, 3, 2, 2, 2, 3, 5,  9, 10,  7, 4, 3, 2),
}
# fmt: on
#: name -> share of each hour of the day, sums to 1
WATER_USE: dict[str, NDArray[np.float64]] = {
    **{name: np.array(percent) / 100 for name, percent in _PERCENT.items()},
    "even": np.full(24, 1 / 24),
}


def water_heater_load(heater: WaterHeater, timeline: Timeline) -> PartLoad:
    """Heat the day's water; the need is counted as electricity.

    Not modeled: the tank's size and losses (include them in the efficiency), mixing, how the COP of a heat-pump water
    heater changes with the air around it.
    """
    liters, inlet_c = np.array(heater.liters_of_month), np.array(heater.inlet_c_of_month)
    heat_kwh = liters * (heater.set_c - inlet_c) * KWH_PER_LITER_K
    return _from_tank(heater, heat_kwh / heater.heat_per_electricity, heater.heater_kw, timeline)


def well_pump_load(pump: WellPump, timeline: Timeline) -> PartLoad:
    """Lift the day's water; the need is counted as electricity.

    Not modeled: starts and their current, how head and efficiency change with flow and with the well's level.
    """
    lift_kwh = np.array(pump.liters_of_month) * pump.head_m * KWH_PER_LITER_M
    return _from_tank(pump, lift_kwh / pump.efficiency, pump.power_w / 1000, timeline)


def _from_tank(
    part: WaterHeater | WellPump, day_kwh_of_month: NDArray[np.float64], most_kw: float, timeline: Timeline
) -> PartLoad:
    day = day_of_step(timeline)
    need_kwh = day_kwh_of_month[of_each_day(timeline.month, timeline) - 1]
    share = WATER_USE[part.water_use][timeline.minute_of_day // 60]
    # A day's shares are of the hours it has: 23 or 25 where the clock changes.
    drawn_kwh = need_kwh[day] * share / np.bincount(day, share, minlength=DAYS)[day]
    may_run = steps_in_any(part.windows, timeline, "windows")
    # Between yesterday's hours of heating and today's, what is missing is of both days.
    room_kwh = np.maximum(need_kwh, np.roll(need_kwh, 1))[day] * (1 + 1e-9)
    back = refill(drawn_kwh, np.where(may_run, most_kw * timeline.step_h, 0.0), room_kwh)
    return PartLoad(
        load_kw=back.delivered_kwh / timeline.step_h,
        counted_as="electricity",
        need_kwh=float(need_kwh.sum()),
        delivered_kwh=float(back.delivered_kwh.sum()),
        unmet_kwh=back.unmet_kwh,
    )
