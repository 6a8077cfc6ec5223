"""An electric car that is charged at home: kilometers and plugged-in hours in, wall power of each step out.

The car is driven in the hours in which it is not plugged in. The energy it used is known when it is plugged in, and is
charged in the hours of that stay: first those it waits for, then those right after, then those before. What does not
fit into a stay is carried over to the next.
"""

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import DAY_KINDS, Timeline
from solarsim.clock.windows import steps_in_any
from solarsim.errors import ScenarioError
from solarsim.load._days import DAYS, day_of_step, of_each_day
from solarsim.load._part_load import PartLoad, refill
from solarsim.scenario.load.appliances import ElectricCar


def car_load(car: ElectricCar, timeline: Timeline) -> PartLoad:
    """Charge the car; what its battery cannot hold is given up: the car is then charged elsewhere.

    Energy given up is counted in the first step of the stay that follows. Holidays have the kilometers of the weekend.
    Not modeled: power that falls as the battery fills, more use in the cold, what the parked car draws, a charge limit
    that the owner sets below full, discharging into the house.
    """
    plugged = steps_in_any(car.plugged_in, timeline, "plugged_in")
    wanted = np.zeros_like(plugged)
    if car.waits_for:
        wanted = steps_in_any(car.waits_for, timeline, "waits_for")
        if not (plugged & wanted).any():
            raise ScenarioError("waits_for: the car is never plugged in during these hours")
    driven_kwh = _driven_kwh(car, plugged, timeline) / car.charging_efficiency
    need_kwh = float(driven_kwh.sum())
    load_kw, unmet_kwh = np.zeros(len(timeline)), np.zeros(len(timeline))
    if need_kwh == 0:
        return PartLoad(load_kw, "electricity", 0.0, 0.0, unmet_kwh)

    # The year is a circle: it is rotated until a stay at home begins it.
    arrives = plugged & ~np.roll(plugged, 1)
    turn = int(arrives.argmax())
    plugged, wanted, arrives = (np.roll(each, -turn) for each in (plugged, wanted, arrives))
    driven_kwh = np.roll(driven_kwh, -turn)
    stay = np.cumsum(arrives) - 1
    count = int(stay[-1]) + 1
    before_kwh = np.bincount((stay[~plugged] + 1) % count, driven_kwh[~plugged], minlength=count).astype(np.float64)

    step_kwh = car.charger_kw * timeline.step_h
    fits_kwh = np.bincount(stay[plugged], minlength=count).astype(np.float64) * step_kwh
    charged_kwh, given_up_kwh = _stay_by_stay(before_kwh, fits_kwh, car.battery_kwh / car.charging_efficiency)
    rotated_kwh = charged_kwh[stay[plugged]] - _rank(stay[plugged], wanted[plugged]) * step_kwh
    load_kw[plugged] = np.clip(rotated_kwh, 0.0, step_kwh) / timeline.step_h
    unmet_kwh[arrives] = given_up_kwh
    return PartLoad(
        load_kw=np.roll(load_kw, turn),
        counted_as="electricity",
        need_kwh=need_kwh,
        delivered_kwh=float(charged_kwh.sum()),
        unmet_kwh=np.roll(unmet_kwh, turn),
    )


def _driven_kwh(car: ElectricCar, plugged: NDArray[np.bool_], timeline: Timeline) -> NDArray[np.float64]:
    """Spread each day's drive over the steps in which the car is not plugged in; energy out of its battery."""
    day = day_of_step(timeline)
    weekday = of_each_day(timeline.day_kind, timeline) == DAY_KINDS.index("weekday")
    km = np.where(weekday, car.km_per_day.weekday, car.km_per_day.weekend)
    away_steps = np.bincount(day[~plugged], minlength=DAYS)
    stuck = np.flatnonzero((km > 0) & (away_steps == 0))
    if stuck.size:
        date = timeline.wall[day == stuck[0]][-1].astype("datetime64[D]")
        raise ScenarioError(
            f"plugged_in: the car is plugged in all day on {date}, but driven {km[stuck[0]]:g} km;"
            " leave the hours of the drive out of plugged_in"
        )
    each_kwh = km * car.kwh_per_km / np.maximum(away_steps, 1)
    return np.where(plugged, 0.0, each_kwh[day])


def _stay_by_stay(
    before_kwh: NDArray[np.float64], fits_kwh: NDArray[np.float64], battery_kwh: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return what is charged in each stay, and what the battery could not hold."""
    # Two steps for each stay: the drive, in which nothing is charged, and the stay, in which nothing is used.
    drive_and_stay = np.zeros((2, before_kwh.size, 2))
    drive_and_stay[0, :, 0], drive_and_stay[1, :, 1] = before_kwh, fits_kwh
    taken, most = drive_and_stay.reshape(2, -1)
    back = refill(taken, most, np.full(taken.size, battery_kwh))
    return back.delivered_kwh[1::2], back.unmet_kwh[::2]


def _rank(stay: NDArray[np.int64], wanted: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return the order, from 0, in which the hours of each stay are used."""
    time = np.arange(stay.size)
    first_wanted = np.full(int(stay[-1]) + 1, stay.size)
    waiting, earliest = np.unique(stay[wanted], return_index=True)
    first_wanted[waiting] = time[wanted][earliest]
    preference = np.where(wanted, 0, np.where(time > first_wanted[stay], 1, 2))
    begins = np.searchsorted(stay, stay)
    rank = np.empty(stay.size, np.int64)
    rank[np.lexsort((time, preference, stay))] = time
    return rank - begins
