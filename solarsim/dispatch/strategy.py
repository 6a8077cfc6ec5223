"""From a strategy to its dispatch: base settings and windows in, arrays of orders out.

The first window that holds governs a step; what it leaves out comes from the base.
"""

from math import inf

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.clock.windows import governing
from solarsim.engine.records import Dispatch
from solarsim.scenario.strategy import Strategy, StrategyWindow
from solarsim.scenario.system import Grid


def dispatch_from(
    strategy: Strategy, grid: Grid | None, timeline: Timeline, battery_v: float | None = None
) -> Dispatch:
    """Build the dispatch of a strategy on a timeline.

    Parameters
    ----------
    strategy : Strategy
        Base settings and windows.
    grid : Grid or None
        The utility's own export limit, under which every strategy stays.
    timeline : Timeline
        The year.
    battery_v : float, optional
        Nominal voltage of the battery, where the strategy has limits in ampere [V].

    Returns
    -------
    Dispatch
        One entry for each step.

    Raises
    ------
    ScenarioError
        A window never governs: the year has no such hour (no holidays, for example), or earlier windows hold in all
        of them.
    """
    in_force = governing(strategy.windows, timeline, f"strategy {strategy.name!r}")
    permitted_kw = inf if grid is None else grid.export_limit_kw
    settings = list(strategy.settings())

    def each(values: list[float]) -> NDArray[np.float64]:
        return np.asarray(np.array(values, np.float64)[in_force], np.float64)

    return Dispatch(
        surplus_to_battery=each([now.surplus_to == "battery" for now in settings]).astype(np.bool_),
        serves_load=each([now.battery_serves_load for now in settings]).astype(np.bool_),
        reserve=each([now.reserve for now in settings]),
        ceiling=each([now.solar_ceiling for now in settings]),
        charge_to=each([now.charge_from_grid_to for now in settings]),
        sell_to=each([now.sell_down_to for now in settings]),
        import_cap_kw=each([inf if now.import_cap_kw is None else now.import_cap_kw for now in settings]),
        export_limit_kw=each(
            [
                permitted_kw if now.export_limit_kw is None else min(permitted_kw, now.export_limit_kw)
                for now in settings
            ]
        ),
        bias_kw=np.full(len(timeline), strategy.zero_export_bias_kw),
        grid_charge_kw=each([now.grid_charge_kw_at(battery_v) for now in settings]),
        discharge_limit_kw=each([now.discharge_kw_at(battery_v) for now in settings]),
        sell_limit_kw=each([inf if now.sell_limit_kw is None else now.sell_limit_kw for now in settings]),
        backed_up_only=each([now.load_served == "backed_up" for now in settings]).astype(np.bool_),
        off_grid_floor=each([now.off_grid_floor for now in settings]),
        grid=np.ones(len(timeline), np.bool_),
        backed_kw=np.zeros(len(timeline)),
        generator_may_start=np.zeros(len(timeline), np.bool_),
        tank_filled=np.zeros(len(timeline), np.bool_),
    )


def raised(strategy: Strategy, reserve: float) -> Strategy:
    """Return a strategy with at least a reserve in its base and each of its windows.

    Parameters
    ----------
    strategy : Strategy
        Any.
    reserve : float
        State of charge, 0-1.

    Returns
    -------
    Strategy
        Of the same name; levels that lie below the reserve are lifted to it.
    """

    def lifted(settings: Strategy | StrategyWindow) -> dict[str, float]:
        levels = {key: getattr(settings, key) for key in ("reserve", "solar_ceiling", "sell_down_to")}
        return {key: reserve for key, level in levels.items() if level is not None and level < reserve}

    windows = tuple(window.model_copy(update=lifted(window)) for window in strategy.windows)
    return strategy.model_copy(update={**lifted(strategy), "windows": windows})
