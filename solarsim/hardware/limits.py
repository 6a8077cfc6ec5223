"""The hardware as the engine's numbers: inverter and battery in, one record out."""

from math import inf
from typing import Literal

from solarsim.engine.records import GRID_ALONE, Limits, Switching
from solarsim.hardware.curve_fit import curve_from
from solarsim.scenario.backup.backup import Arrangement, Generator
from solarsim.scenario.battery.battery import Battery
from solarsim.scenario.system import Inverter

_HOURS_PER_MONTH = 720.0


def limits_from(inverter: Inverter, battery: Battery | None, step_h: float) -> Limits:
    """Build the engine's limits.

    Parameters
    ----------
    inverter : Inverter
        Rating, loss curve, standby, battery port.
    battery : Battery or None
        The bank; None is a bank of zero size.
    step_h : float
        Length of a step [h].

    Returns
    -------
    Limits
        The lowest of bank and port limits in each direction.

    Raises
    ------
    ScenarioError
        See ``curve_from``.
    """
    curve = curve_from(inverter.efficiency, inverter.ac_kw)
    standby_kw = inverter.standby_w / 1000.0
    if battery is None or battery.kwh == 0.0:
        return Limits(step_h, curve, standby_kw, 0.0, 0.0, 1.0, 1.0, 0.0, 0.0)
    return Limits(
        step_h=step_h,
        curve=curve,
        standby_kw=standby_kw,
        capacity_kwh=battery.kwh,
        minimum_kwh=battery.low_cutoff * battery.kwh,
        one_way=battery.one_way_efficiency,
        kept=(1.0 - battery.self_discharge_per_month) ** (step_h / _HOURS_PER_MONTH),
        charge_kw=min(power_limits(inverter, battery, "charge").values(), default=inf),
        taper_kwh=(1.0 - battery.taper_from) * battery.kwh,
        peukert=battery.peukert,
        rated_kw=battery.kwh / battery.rated_h,
        discharge_kw=min(power_limits(inverter, battery, "discharge").values(), default=inf),
    )


def switching_from(arrangement: Arrangement | None, generator: Generator | None, battery: Battery | None) -> Switching:
    """Build the levels at which generator and grid come in.

    Parameters
    ----------
    arrangement : Arrangement or None
        Levels of a grid that comes last.
    generator : Generator or None
        Its levels, powers, tank and fuel.
    battery : Battery or None
        Where it restarts after its low cutoff.

    Returns
    -------
    Switching
        Without either, that of a home on the grid.
    """
    levels = GRID_ALONE
    if generator is not None:
        levels = levels._replace(
            generator_kw=generator.kw,
            generator_start=generator.start_at,
            generator_stop=generator.stop_at,
            generator_least_h=generator.least_run_h,
            generator_charge_kw=generator.charge_kw,
            tank_liters=inf if generator.tank_liters is None else generator.tank_liters,
            liters_per_h=generator.liters_per_h,
            liters_per_kwh=generator.liters_per_kwh,
        )
    if arrangement is not None and arrangement.levels is not None:
        grid_from, grid_until = arrangement.levels
        levels = levels._replace(grid_from=grid_from, grid_until=grid_until)
    if battery is not None and battery.restart_at is not None and battery.restart_at > battery.low_cutoff:
        levels = levels._replace(battery_restart=battery.restart_at)
    return levels


def power_limits(inverter: Inverter, battery: Battery, way: Literal["charge", "discharge"]) -> dict[str, float]:
    """Return what bank and port allow in one direction.

    Parameters
    ----------
    inverter : Inverter
        Its battery port.
    battery : Battery
        The bank.
    way : str
        ``charge`` or ``discharge``.

    Returns
    -------
    dict of str to float
        Each limit by its key in the scenario, at the battery's terminals [kW].
    """
    volts = battery.volts or 0.0
    limits_a = {
        f"battery.max_{way}_a": getattr(battery, f"max_{way}_a"),
        f"inverter.battery_{way}_a": getattr(inverter, f"battery_{way}_a"),
    }
    limits_kw = {
        f"battery.max_{way}_kw": getattr(battery, f"max_{way}_kw"),
        f"battery.{way}_c_rate": battery.rate_kw(way),
        f"inverter.battery_{way}_kw": getattr(inverter, f"battery_{way}_kw"),
        **{key: None if limit_a is None else limit_a * volts / 1000.0 for key, limit_a in limits_a.items()},
    }
    return {key: limit_kw for key, limit_kw in limits_kw.items() if limit_kw is not None}
