"""What uses electricity in the home: each part of the load as the user wrote it.

A part is one table with a key ``kind``. Every part has its ``name`` and is ``critical`` or
not, which means that it stays on in an outage. A default is always "there is none of it".
Which hour each part runs is computed in ``solarsim.load``.
"""

from collections import Counter
from collections.abc import Sequence
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from solarsim.clock.windows import Window
from solarsim.fields import Frozen, Months12Kwh, Share, field
from solarsim.scenario.load.heating_cooling import AirConditioner, HeatPump
from solarsim.scenario.load.part import Cop, Kw, PartOfHouse, Watts

__all__ = [
    "AirConditioner",
    "Appliance",
    "ElectricCar",
    "HeatPump",
    "HousePart",
    "HouseParts",
    "Household",
    "WaterHeater",
    "WellPump",
    "repeated_names",
]

Liters = Annotated[float, Field(ge=0, le=100_000)]
InletC = Annotated[float, Field(ge=0, le=40)]
WaterUse = Literal["morning", "evening", "morning_and_evening", "even"]


class UseWindow(Window):
    """A window in which an appliance runs."""

    duty: Share = field("share of the window's time in which it draws its power", "1")


class Appliance(PartOfHouse):
    """What draws a fixed power at given times: refrigerator, stove, lights, router."""

    kind: Literal["appliance"] = field("appliance", "text")
    power_w: Watts = field("power while it runs", "W", usual=(1, 50_000))
    always_duty: Share | None = field("share of the whole year in which it runs", "1", default=None)
    windows: tuple[UseWindow, ...] = field(
        "when it runs, in place of always_duty; the first window that matches governs", "table", default=()
    )

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if (self.always_duty is None) == (not self.windows):
            raise ValueError("give either always_duty or windows")
        return self


class Household(PartOfHouse):
    """All that is not listed by itself, as kWh and a daily shape."""

    kind: Literal["shape"] = field("shape", "text")
    annual_kwh: float | None = field(
        "the year's sum; every day uses the same", "kWh", usual=(1, 600_000), ge=0, le=1_800_000, default=None
    )
    monthly_kwh: Months12Kwh | None = field(
        "January to December by the wall clock, in place of annual_kwh", "kWh", usual=(0.1, 60_000), default=None
    )
    shape: Literal["evenings", "home_all_day"] = field("daily shape: evenings or home_all_day", "text")

    @model_validator(mode="after")
    def _one_sum(self) -> Self:
        if (self.annual_kwh is None) == (self.monthly_kwh is None):
            raise ValueError("give either annual_kwh or monthly_kwh")
        return self


class KmPerDay(Frozen):
    """How far a car is driven in a day."""

    weekday: float = field("on a weekday", "km", ge=0, le=1500)
    weekend: float = field("on a weekend day or holiday", "km", ge=0, le=1500)


class ElectricCar(PartOfHouse):
    """A car that is charged at home."""

    kind: Literal["electric_car"] = field("electric_car", "text")
    km_per_day: KmPerDay = field("distance, spread evenly over the hours in which it is not plugged in", "table")
    kwh_per_km: float = field("consumption from the car's battery", "kWh/km", usual=(0.08, 0.6), gt=0, le=1)
    charging_efficiency: float = field("energy into the car's battery / energy from the outlet", "1", gt=0.5, le=1)
    charger_kw: Kw = field("highest power from the outlet", "kW", usual=(0.5, 50))
    battery_kwh: float = field("usable energy of the car's battery", "kWh", usual=(3, 250), gt=0, le=500)
    plugged_in: Annotated[tuple[Window, ...], Field(min_length=1)] = field("when it is plugged in at home", "table")
    waits_for: tuple[Window, ...] = field(
        "hours that it waits for while plugged in; it charges outside them only what they cannot hold",
        "table",
        default=(),
    )


class _Water(PartOfHouse):
    liters_per_day: Liters | None = field("water used in a day", "l", usual=(2, 20_000), default=None)
    liters_per_day_by_month: Annotated[tuple[Liters, ...], Field(min_length=12, max_length=12)] | None = field(
        "the same for January to December, in place of liters_per_day", "l", default=None
    )
    water_use: WaterUse = field("when it is used: morning, evening, morning_and_evening or even", "text")
    windows: tuple[Window, ...] = field("when it may run; default: at any time", "table", default=())

    @model_validator(mode="after")
    def _one_use(self) -> Self:
        if (self.liters_per_day is None) == (self.liters_per_day_by_month is None):
            raise ValueError("give either liters_per_day or liters_per_day_by_month")
        return self

    @property
    def liters_of_month(self) -> tuple[float, ...]:
        """Water of a day in January to December [l]."""
        return self.liters_per_day_by_month or (self.liters_per_day or 0.0,) * 12


class WaterHeater(_Water):
    """Hot water from a tank that holds a day's use."""

    kind: Literal["water_heater"] = field("water_heater", "text")
    inlet_c: InletC | None = field("temperature of the cold water", "C", default=None)
    inlet_c_by_month: Annotated[tuple[InletC, ...], Field(min_length=12, max_length=12)] | None = field(
        "the same for January to December, in place of inlet_c", "C", default=None
    )
    set_c: float = field("temperature of the hot water", "C", gt=0, le=95)
    efficiency: float | None = field(
        "heat into the water used / electricity, of a resistance heater; includes the tank's losses",
        "1",
        gt=0.3,
        le=1,
        default=None,
    )
    cop: Cop | None = field("the same of a heat-pump water heater, in place of efficiency", "1", default=None)
    heater_kw: Kw = field("highest electric power", "kW", usual=(0.2, 50))

    @model_validator(mode="after")
    def _one_of_each(self) -> Self:
        problems = []
        if (self.inlet_c is None) == (self.inlet_c_by_month is None):
            problems.append("give either inlet_c or inlet_c_by_month")
        elif max(self.inlet_c_of_month) >= self.set_c:
            problems.append(f"water comes in at {max(self.inlet_c_of_month):g} C, not below set_c {self.set_c:g}")
        if (self.efficiency is None) == (self.cop is None):
            problems.append("give either efficiency or cop")
        if problems:
            raise ValueError("\n".join(problems))
        return self

    @property
    def inlet_c_of_month(self) -> tuple[float, ...]:
        """Temperature of cold water in January to December [C]."""
        return self.inlet_c_by_month or (self.inlet_c or 0.0,) * 12

    @property
    def heat_per_electricity(self) -> float:
        """Heat into the drawn water / electricity."""
        return self.efficiency or self.cop or 1.0


class WellPump(_Water):
    """A pump that lifts the home's water into a tank that holds a day's use."""

    kind: Literal["well_pump"] = field("well_pump", "text")
    head_m: float = field(
        "height from the water in the well to the tank, with the tank's pressure and the pipe's losses",
        "m",
        gt=0,
        le=600,
    )
    efficiency: float = field("hydraulic energy / electricity, of pump and motor together", "1", gt=0.05, le=0.95)
    power_w: Watts = field("rated electric power", "W", usual=(20, 50_000))


HousePart = Annotated[
    Appliance | Household | ElectricCar | HeatPump | AirConditioner | WaterHeater | WellPump,
    Field(discriminator="kind"),
]


def repeated_names(parts: Sequence[HousePart]) -> list[str]:
    """Return names that more than one part has.

    Parameters
    ----------
    parts : sequence of HousePart
        The parts of the home.

    Returns
    -------
    list of str
        One line for each such name.
    """
    counts = Counter(part.name for part in parts)
    return [f"two parts are named {name!r}" for name in sorted(counts) if counts[name] > 1]


def _names_differ(parts: tuple[HousePart, ...]) -> tuple[HousePart, ...]:
    problems = repeated_names(parts)
    if problems:
        raise ValueError("\n".join(problems))
    return parts


#: What ``load.parts`` of a scenario holds.
HouseParts = Annotated[tuple[HousePart, ...], Field(min_length=1), AfterValidator(_names_differ)]
