"""Heating and cooling by degree-hours, as the user wrote them: two kinds of house part."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from solarsim.clock.windows import Window
from solarsim.fields import Frozen, field
from solarsim.scenario.load.part import Cop, Kw, PartOfHouse

BTU_PER_WH = 3.412142  # 3600 J / 1055.056 J, the international table Btu

OutdoorC = Annotated[float, Field(ge=-50, le=60)]
BaseC = Annotated[float, Field(ge=0, le=40)]


class Setback(Window):
    """A window in which heating or cooling is set back."""

    base_c: BaseC | None = field("base temperature in these hours", "C", default=None)
    off: bool = field("whether it is off, in place of base_c", "true or false", default=False)

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if (self.base_c is None) != self.off:
            raise ValueError("a setback has either base_c or off = true")
        return self


class HeatingPoint(Frozen):
    """A point of a heat pump's datasheet."""

    at_c: OutdoorC = field("outdoor temperature", "C")
    cop: Cop = field("heat / electricity", "1")


class CoolingPoint(Frozen):
    """A point of an air conditioner's datasheet."""

    at_c: OutdoorC = field("outdoor temperature", "C")
    cop: Cop | None = field(
        "cooling / electricity, in the same unit (the EER of a European datasheet)", "1", default=None
    )
    eer_btu_per_wh: float | None = field(
        "the EER of a US datasheet, in place of cop", "Btu/Wh", ge=BTU_PER_WH, le=35, default=None
    )

    @model_validator(mode="after")
    def _one_unit(self) -> Self:
        if (self.cop is None) == (self.eer_btu_per_wh is None):
            raise ValueError("give either cop (cooling per electricity) or eer_btu_per_wh")
        return self

    @property
    def ratio(self) -> float:
        """Cooling / electricity."""
        return self.cop if self.cop is not None else (self.eer_btu_per_wh or 0.0) / BTU_PER_WH


class _Climate(PartOfHouse):
    ua_kw_per_k: float = field("heat that the home loses or gains for each degree", "kW/K", usual=(0.01, 2), gt=0, le=5)
    base_c: BaseC = field(
        "outdoor temperature at which it needs neither heating nor cooling; sun, people and appliances are in it", "C"
    )
    max_kw: Kw | None = field("highest electric power", "kW", usual=(0.2, 60), default=None)
    capacity_kw: float | None = field(
        "rated heating or cooling power at the warmer of the two points, in place of max_kw",
        "kW",
        usual=(0.5, 200),
        dimension="heat",
        gt=0,
        le=400,
        default=None,
    )
    setbacks: tuple[Setback, ...] = field("windows of less; the first that matches governs", "table", default=())

    def _most_kw(self, ratio: float) -> float:
        """Return the highest electric power [kW], for heating or cooling / electricity at the warmer point."""
        return self.max_kw if self.max_kw is not None else (self.capacity_kw or 0.0) / ratio

    @model_validator(mode="after")
    def _one_limit(self) -> Self:
        if (self.max_kw is None) == (self.capacity_kw is None):
            raise ValueError("give either max_kw (electric) or capacity_kw (heating or cooling)")
        return self


class HeatPump(_Climate):
    """Heating by degree-hours."""

    kind: Literal["heat_pump"] = field("heat_pump", "text")
    points: Annotated[tuple[HeatingPoint, ...], Field(min_length=2, max_length=2)] = field(
        "two points of the datasheet", "table"
    )
    backup: bool = field("whether resistance heat supplies what the heat pump cannot", "true or false")

    @property
    def electric_kw(self) -> float:
        """Highest electric power [kW]."""
        return self._most_kw(max(self.points, key=lambda point: point.at_c).cop)

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        cold, warm = sorted(self.points, key=lambda point: point.at_c)
        if cold.at_c == warm.at_c:
            raise ValueError(f"both points are at {cold.at_c:g} C")
        if cold.cop > warm.cop:
            raise ValueError(f"the COP at {cold.at_c:g} C is above that at {warm.at_c:g} C; are the points swapped?")
        for setback in self.setbacks:
            if setback.base_c is not None and setback.base_c > self.base_c:
                raise ValueError(f"a setback of heating to {setback.base_c:g} C is above base_c {self.base_c:g}")
        return self


class AirConditioner(_Climate):
    """Cooling by degree-hours."""

    kind: Literal["air_conditioner"] = field("air_conditioner", "text")
    points: Annotated[tuple[CoolingPoint, ...], Field(min_length=2, max_length=2)] = field(
        "two points of the datasheet", "table"
    )
    sun_m2: float = field(
        "area that would let in as much sun, of the global horizontal irradiance", "m2", ge=0, le=100, default=0.0
    )

    @property
    def electric_kw(self) -> float:
        """Highest electric power [kW]."""
        return self._most_kw(max(self.points, key=lambda point: point.at_c).ratio)

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        cool, hot = sorted(self.points, key=lambda point: point.at_c)
        if cool.at_c == hot.at_c:
            raise ValueError(f"both points are at {cool.at_c:g} C")
        if hot.ratio > cool.ratio:
            raise ValueError(f"efficiency at {hot.at_c:g} C is above that at {cool.at_c:g} C; are the points swapped?")
        for setback in self.setbacks:
            if setback.base_c is not None and setback.base_c < self.base_c:
                raise ValueError(f"a setback of cooling to {setback.base_c:g} C is below base_c {self.base_c:g}")
        return self
