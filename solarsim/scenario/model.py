"""The scenario as a whole: every table of the file, and what they must agree on."""

from pathlib import Path
from typing import Annotated, Self

from pydantic import Field, PrivateAttr, model_validator

from solarsim.scenario.errors import UnknownNameError, nearest
from solarsim.scenario.strategy import Strategy
from solarsim.scenario.system import (
    Array,
    Battery,
    Costs,
    Grid,
    Inverter,
    Load,
    Losses,
    Name,
    Production,
    Site,
    WeatherFile,
)
from solarsim.scenario.tariff import Tariff
from solarsim.scenario.windows import Frozen

__all__ = ["Scenario"]


class Scenario(Frozen):
    """One home, its rate plan, and every strategy to be compared."""

    name: Name
    description: str = ""
    site: Site
    weather: WeatherFile
    production: Production
    losses: Losses
    arrays: tuple[Array, ...] = ()
    inverter: Inverter
    battery: Battery | None = None
    load: Load
    grid: Grid | None = None
    tariff: Tariff
    costs: Costs | None = None
    strategies: Annotated[tuple[Strategy, ...], Field(min_length=1)]
    _folder: Path = PrivateAttr(default=Path("."))

    def file(self, name: str) -> Path:
        """Find a file that the scenario names: relative to the scenario file's own folder."""
        return self._folder / Path(name).expanduser()

    def strategy(self, name: str) -> Strategy:
        """Find a strategy by its name.

        Raises
        ------
        UnknownNameError
            The scenario has no such strategy.
        """
        for strategy in self.strategies:
            if strategy.name == name:
                return strategy
        raise UnknownNameError(
            f"strategy {name!r} is not in scenario {self.name!r}"
            + nearest(name, [each.name for each in self.strategies])
        )

    @model_validator(mode="after")
    def _parts_agree(self) -> Self:
        problems = [*self._name_problems(), *self._input_problems(), *self._battery_problems()]
        if problems:
            raise ValueError("\n".join(problems))
        return self

    def _name_problems(self) -> list[str]:
        problems = []
        for key, names in (
            ("arrays", [array.name for array in self.arrays]),
            ("strategies", [strategy.name for strategy in self.strategies]),
        ):
            problems += [f"{key}: two are named {name!r}" for name in sorted({n for n in names if names.count(n) > 1})]
        return problems

    def _input_problems(self) -> list[str]:
        count = len(self.inverter.inputs)
        return [
            f"arrays: {array.name!r} is on input {array.input}, but the inverter has inputs 1 to {count}"
            for array in self.arrays
            if array.input > count
        ]

    def _battery_problems(self) -> list[str]:
        battery, inverter = self.battery, self.inverter
        if battery is None:
            return []
        problems = []
        for way, limits in (
            (
                "charge",
                (battery.max_charge_a, battery.max_charge_kw, inverter.battery_charge_a, inverter.battery_charge_kw),
            ),
            (
                "discharge",
                (
                    battery.max_discharge_a,
                    battery.max_discharge_kw,
                    inverter.battery_discharge_a,
                    inverter.battery_discharge_kw,
                ),
            ),
        ):
            if all(limit is None for limit in limits):
                problems.append(
                    f"battery: nothing limits its {way}: give battery.max_{way}_a or _kw,"
                    f" or inverter.battery_{way}_a or _kw"
                )
        if battery.volts is None and (inverter.battery_charge_a or inverter.battery_discharge_a):
            problems.append("battery: limits in ampere at the inverter's battery port need battery.nominal_v")
        return problems + [
            f"strategies: {strategy.name!r} keeps a reserve of {reserve}, below the battery's hard_minimum"
            f" {battery.hard_minimum}"
            for strategy in self.strategies
            for reserve in (strategy.reserve, *(window.reserve for window in strategy.windows))
            if reserve is not None and reserve < battery.hard_minimum
        ]
