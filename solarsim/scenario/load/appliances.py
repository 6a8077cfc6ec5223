"""What stands in the house and uses electricity: each part of the load as the user wrote it.

A part is one table with a key ``kind``. Every part says its ``name`` and whether it is
``critical``, which means that it stays on in an outage. A default is always "there is none of it".
Which hour each part runs is computed in ``solarsim.load``.
"""

from collections import Counter
from collections.abc import Sequence
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from solarsim.clock.windows import Window
from solarsim.fields import Frozen, Months12, Share
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

Litres = Annotated[float, Field(ge=0, le=100_000)]
InletC = Annotated[float, Field(ge=0, le=40)]
WaterUse = Literal["morning", "evening", "morning_and_evening", "even"]


class UseWindow(Window):
    """A window in which an appliance runs, and the share of that time in which it draws its power."""

    duty: Share


class Appliance(PartOfHouse):
    """Whatever draws a fixed power at given times: fridge, cooker, lights, router.

    Attributes
    ----------
    power_w : float
        What it draws while it runs [W].
    always_duty : float, optional
        It stands on the whole year and runs this share of the time, 0-1 (a fridge).
    windows : tuple of UseWindow
        In place of ``always_duty``: when it runs, each window with its own ``duty``. The first
        window that holds governs an hour; in all other hours it is off.
    """

    kind: Literal["appliance"]
    power_w: Watts
    always_duty: Share | None = None
    windows: tuple[UseWindow, ...] = ()

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if (self.always_duty is None) == (not self.windows):
            raise ValueError("give either always_duty or windows")
        return self


class Household(PartOfHouse):
    """All that is not listed by itself, as kWh and the shape of a day.

    Attributes
    ----------
    annual_kwh : float, optional
        The year's sum [kWh]; every day uses the same.
    monthly_kwh : tuple of float, optional
        In place of it January to December, by the wall clock as bills are [kWh].
    shape : str
        Which documented daily shape (``solarsim.load.shapes``) spreads each month.
    """

    kind: Literal["shape"]
    annual_kwh: Annotated[float, Field(ge=0, le=1e6)] | None = None
    monthly_kwh: Months12 | None = None
    shape: Literal["evenings", "home_all_day"]

    @model_validator(mode="after")
    def _one_sum(self) -> Self:
        if (self.annual_kwh is None) == (self.monthly_kwh is None):
            raise ValueError("give either annual_kwh or monthly_kwh")
        return self


class KmPerDay(Frozen):
    """How far a car goes in a day [km]: on a weekday, and on a weekend day or holiday."""

    weekday: Annotated[float, Field(ge=0, le=1500)]
    weekend: Annotated[float, Field(ge=0, le=1500)]


class ElectricCar(PartOfHouse):
    """A car that is charged at home.

    Attributes
    ----------
    km_per_day : KmPerDay
        It is driven evenly through the hours of the day in which it is not plugged in [km].
    kwh_per_km : float
        From the car's battery [kWh/km].
    charging_efficiency : float
        Energy into the car's battery / energy from the wall, 0-1.
    charger_kw : float
        Most that it draws from the wall [kW].
    battery_kwh : float
        Usable energy of the car's battery [kWh]: more than this can never be missing from it.
    plugged_in : tuple of Window
        When it is plugged in at home.
    waits_for : tuple of Window
        It waits for these hours while it is plugged in, and charges outside only what they cannot hold.
    """

    kind: Literal["electric_car"]
    km_per_day: KmPerDay
    kwh_per_km: Annotated[float, Field(gt=0, le=1)]
    charging_efficiency: Annotated[float, Field(gt=0.5, le=1)]
    charger_kw: Kw
    battery_kwh: Annotated[float, Field(gt=0, le=500)]
    plugged_in: Annotated[tuple[Window, ...], Field(min_length=1)]
    waits_for: tuple[Window, ...] = ()


class _Water(PartOfHouse):
    liters_per_day: Litres | None = None
    liters_per_day_by_month: Annotated[tuple[Litres, ...], Field(min_length=12, max_length=12)] | None = None
    water_use: WaterUse
    windows: tuple[Window, ...] = ()

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
    """Hot water from a tank that holds a day's need.

    Attributes
    ----------
    liters_per_day, liters_per_day_by_month : float, or tuple of float
        Hot water drawn in a day [l]; one of the two.
    water_use : str
        When it is drawn (tables in ``solarsim.load.water``).
    inlet_c, inlet_c_by_month : float, or tuple of float
        Temperature of cold water [C]; one of the two.
    set_c : float
        Temperature of hot water [C].
    efficiency, cop : float
        Heat into the drawn water / electricity: ``efficiency`` up to 1 of a resistance heater, or
        ``cop`` of a heat-pump water heater; one of the two. What the tank loses belongs into it.
    heater_kw : float
        Most electricity that it takes [kW].
    windows : tuple of Window
        When it may heat; none means at any time.
    """

    kind: Literal["water_heater"]
    inlet_c: InletC | None = None
    inlet_c_by_month: Annotated[tuple[InletC, ...], Field(min_length=12, max_length=12)] | None = None
    set_c: Annotated[float, Field(gt=0, le=95)]
    efficiency: Annotated[float, Field(gt=0.3, le=1)] | None = None
    cop: Cop | None = None
    heater_kw: Kw

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
    """A pump that lifts the house's water into a tank that holds a day's need.

    Attributes
    ----------
    liters_per_day, liters_per_day_by_month : float, or tuple of float
        Water used in a day [l]; one of the two.
    water_use : str
        When it is used (tables in ``solarsim.load.water``).
    head_m : float
        Height from the water in the well to the tank, with the tank's pressure and the pipe's losses [m].
    efficiency : float
        Hydraulic energy / electricity of pump and motor together, 0-1.
    power_w : float
        Rated electric power [W].
    windows : tuple of Window
        When it may run; none means at any time.
    """

    kind: Literal["well_pump"]
    head_m: Annotated[float, Field(gt=0, le=600)]
    efficiency: Annotated[float, Field(gt=0.05, le=0.95)]
    power_w: Watts


HousePart = Annotated[
    Appliance | Household | ElectricCar | HeatPump | AirConditioner | WaterHeater | WellPump,
    Field(discriminator="kind"),
]


def repeated_names(parts: Sequence[HousePart]) -> list[str]:
    """Find names that more than one part has.

    Parameters
    ----------
    parts : sequence of HousePart
        What stands in the house.

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
