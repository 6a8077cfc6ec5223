"""The roof's energy: arrays and weather in; what arrays and DC inputs get, lose to each cause and pass on, out."""

from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray

from solarsim.production.power import ArrayPower, DcPower, InputPower, RoofPower
from solarsim.results import Result, computed, fact
from solarsim.scenario.model import RoofScenario
from solarsim.scenario.needs import Need
from solarsim.studies._sun_path import SunDay, sun_days
from solarsim.weather.source import weather_for
from solarsim.weather.typical_year import Weather

#: What the command needs beyond what every scenario has.
NEEDS: tuple[Need, ...] = ()

Floats = NDArray[np.float64]
_NOTICED_KW = 1e-3
_ACTS = {
    "on the array": ("horizon", "near_shade", "incidence", "shading", "soiling", "snow"),
    "in the module": ("temperature", "rating_tolerance", "light_induced", "aging"),
    "in the wiring": ("mismatch", "cables"),
    "in operation": ("downtime", "system_factor"),
    "at the input": ("unlike_strings", "window", "current", "power"),
}
_GROUP_OF = {cause: group for group, causes in _ACTS.items() for cause in causes}


@dataclass(frozen=True, eq=False, repr=False)
class RoofLoss(Result):
    """What one cause loses of the energy of an array or an input."""

    cause: str = fact("what loses energy, as the key in [losses] or the limit of the input is called", "text")
    before_kwh: float = fact("energy before this loss acts", "kWh DC")
    monthly_lost_kwh: Floats = fact("lost_kwh by month, January to December", "kWh DC")
    lost_h: float = fact("time in which it loses more than a watt", "h")

    @computed("where it acts: on the array, in the module, in the wiring, in operation, at the input", "text")
    def group(self) -> str:
        return _GROUP_OF[self.cause]

    @computed("energy lost; below 0 where cold modules gain", "kWh DC")
    def lost_kwh(self) -> float:
        return float(self.monthly_lost_kwh.sum())

    @computed("lost_kwh / before_kwh; null where there is no energy", "1")
    def share(self) -> float | None:
        return self.lost_kwh / self.before_kwh if self.before_kwh > 0.0 else None


@dataclass(frozen=True, eq=False, repr=False)
class _Path(Result):
    """Energy before and after the losses of an array or an input."""

    _rows = "losses"

    name: str = fact("of the array, or the input's number in words", "text")
    before_losses_kwh: float = fact(
        "of an array: rating x plane-of-array irradiation; of an input: what its arrays deliver, each by itself",
        "kWh DC",
    )
    losses: tuple[RoofLoss, ...] = fact("grouped by where they act, the largest of a group first", "table")
    monthly_after_losses_kwh: Floats = fact("after_losses_kwh by month, January to December", "kWh DC")

    @computed("before_losses_kwh less all losses", "kWh DC")
    def after_losses_kwh(self) -> float:
        return float(self.monthly_after_losses_kwh.sum())

    def lost_kwh(self, cause: str) -> float:
        """Return the energy lost to a cause, 0 where it does not act [kWh]."""
        return float(sum(each.lost_kwh for each in self.losses if each.cause == cause))


@dataclass(frozen=True, eq=False, repr=False)
class ArrayEnergy(_Path):
    """The energy of one array, from the irradiance on its plane to its DC input."""

    input: int | None = fact("number of its DC input; null behind an inverter of its own", "1", kw_only=True)
    rated_kw: float = fact("power at standard test conditions", "kW DC", kw_only=True)


@dataclass(frozen=True, eq=False, repr=False)
class InputEnergy(_Path):
    """The energy of one DC input, from its arrays to the inverter."""

    input: int = fact("its number, from 1", "1", kw_only=True)
    open_circuit_max_v: float | None = fact(
        "highest open-circuit voltage of the year; null without a named module", "V", kw_only=True
    )
    working_min_v: float | None = fact("lowest working voltage while it delivers more than a watt", "V", kw_only=True)
    working_max_v: float | None = fact("highest working voltage while it delivers more than a watt", "V", kw_only=True)


@dataclass(frozen=True, eq=False, repr=False)
class Roof(Result):
    """Where the energy of the arrays goes in a year."""

    _rows = "arrays"

    described: RoofScenario
    weather: Weather
    production: DcPower
    sun_days: tuple[SunDay, ...]  # the sun's paths over the year's solstices and an equinox
    horizon_deg: Floats | None  # height of the horizon at 0, 1, ... 360 deg of azimuth; None without one
    scenario: str = fact("name of the scenario", "text")
    arrays: tuple[ArrayEnergy, ...] = fact("each array", "table")
    inputs: tuple[InputEnergy, ...] = fact("each DC input with arrays", "table")
    notes: tuple[str, ...] = fact("what a reader should know", "list")

    @computed("pv_available_kwh by month, January to December", "kWh DC")
    def monthly_pv_available_kwh(self) -> Floats:
        return np.asarray(sum((each.monthly_after_losses_kwh for each in self.inputs), np.zeros(12)))

    @computed("energy available at the inverter's DC side", "kWh DC")
    def pv_available_kwh(self) -> float:
        return float(self.monthly_pv_available_kwh.sum())


def roof(scenario: RoofScenario) -> Roof:
    """Compute what each array and each DC input loses, cause by cause.

    Parameters
    ----------
    scenario : RoofScenario
        Its arrays, inverter, losses, site and weather.

    Returns
    -------
    Roof
        Every kilowatt-hour is either lost to one named cause or available to the inverter.

    Raises
    ------
    InputError
        A file that the scenario names is wrong.

    Examples
    --------
    >>> import solarsim
    >>> south = solarsim.roof(solarsim.read_scenario()).arrays[0]
    >>> south.name, south.losses[0].group
    ('south roof', 'on the array')
    """
    from solarsim.production.dc_power import dc_power  # pvlib

    timeline = scenario.site.timeline()
    weather = weather_for(scenario, timeline)
    production = dc_power(scenario, weather, timeline)
    paths = cast(RoofPower, production.roof)  # there, unless the year is a later one
    month, step_h = timeline.standard_month[paths.up] - 1, timeline.step_h
    used, horizon = {each.input for each in paths.arrays}, scenario.site.horizon
    return Roof(
        described=scenario,
        weather=weather,
        production=production,
        sun_days=sun_days(weather, timeline),
        horizon_deg=None if horizon is None else horizon.elevation_at(np.arange(361.0)),
        scenario=scenario.name,
        arrays=tuple(_array_energy(each, month, step_h) for each in paths.arrays),
        inputs=tuple(_input_energy(each, month, step_h) for each in paths.inputs if each.number in used),
        notes=(*timeline.notes, *weather.notes, *production.notes, *scenario.notes),
    )


def _array_energy(array: ArrayPower, month: NDArray[np.int64], step_h: float) -> ArrayEnergy:
    """Return an array's energy and losses."""
    before, losses, after = _losses(array.stages, month, step_h)
    return ArrayEnergy(array.name, before, losses, after, input=array.input, rated_kw=array.rated_kw)


def _input_energy(each: InputPower, month: NDArray[np.int64], step_h: float) -> InputEnergy:
    """Return an input's energy, losses and voltages."""
    before, losses, after = _losses(each.stages, month, step_h)
    working = np.empty(0) if each.working_v is None else each.working_v[each.stages["power"] > _NOTICED_KW]
    return InputEnergy(
        f"Input {each.number}",
        before,
        losses,
        after,
        input=each.number,
        open_circuit_max_v=None if each.open_circuit_v is None else float(each.open_circuit_v.max()),
        working_min_v=float(working.min()) if working.size else None,
        working_max_v=float(working.max()) if working.size else None,
    )


def _losses(
    stages: dict[str, Floats], month: NDArray[np.int64], step_h: float
) -> tuple[float, tuple[RoofLoss, ...], Floats]:
    """Return the energy before all losses, the losses, and by month the energy after them."""

    def by_month(kw: Floats) -> Floats:
        return np.asarray(np.bincount(month, kw, minlength=12) * step_h, np.float64)

    (_, kw), *following = stages.items()
    before, losses = by_month(kw), []
    for cause, left_kw in following:
        lost_kw = kw - left_kw
        hours = float((lost_kw > _NOTICED_KW).sum()) * step_h
        losses.append(RoofLoss(cause, float(kw.sum() * step_h), by_month(lost_kw), hours))
        kw = left_kw
    groups = list(_ACTS)
    losses.sort(key=lambda each: (groups.index(each.group), -each.lost_kwh))
    return float(before.sum()), tuple(losses), by_month(kw)
