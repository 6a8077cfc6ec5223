"""Heating and cooling by degree-hours, as the user wrote them: two kinds of house part."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from solarsim.clock.windows import Window
from solarsim.fields import Frozen
from solarsim.scenario.load.part import Cop, Kw, PartOfHouse

BTU_PER_WH = 3.412142  # 3600 J / 1055.056 J, the international table Btu

OutdoorC = Annotated[float, Field(ge=-50, le=60)]
BaseC = Annotated[float, Field(ge=0, le=40)]


class Setback(Window):
    """A window in which heating or cooling does less.

    Attributes
    ----------
    base_c : float, optional
        Base temperature in these hours [C].
    off : bool
        In place of it: it does not run.
    """

    base_c: BaseC | None = None
    off: bool = False

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if (self.base_c is None) != self.off:
            raise ValueError("a setback gives either base_c or off = true")
        return self


class HeatingPoint(Frozen):
    """A datasheet's heat out / electricity in (``cop``) at an outdoor temperature ``at_c`` [C]."""

    at_c: OutdoorC
    cop: Cop


class CoolingPoint(Frozen):
    """A datasheet's efficiency of cooling at an outdoor temperature.

    Attributes
    ----------
    at_c : float
        Outdoor temperature [C].
    cop : float, optional
        Cooling / electricity, in the same unit (a European datasheet's EER).
    eer_btu_per_wh : float, optional
        In place of it the EER of a US datasheet [Btu/Wh].
    """

    at_c: OutdoorC
    cop: Cop | None = None
    eer_btu_per_wh: Annotated[float, Field(ge=BTU_PER_WH, le=35)] | None = None

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
    ua_kw_per_k: Annotated[float, Field(gt=0, le=5)]
    base_c: BaseC
    max_kw: Kw
    setbacks: tuple[Setback, ...] = ()


class HeatPump(_Climate):
    """Heating by degree-hours.

    Attributes
    ----------
    ua_kw_per_k : float
        Heat that the house loses for each degree [kW/K].
    base_c : float
        Outdoor temperature above which the house needs no heat [C]; sun, people and appliances are in it.
    points : tuple of HeatingPoint
        Two points of the datasheet.
    max_kw : float
        Most electricity that the heat pump itself takes [kW].
    backup : bool
        Whether resistance heat gives what the heat pump cannot.
    setbacks : tuple of Setback
        The first that holds governs an hour.
    """

    kind: Literal["heat_pump"]
    points: Annotated[tuple[HeatingPoint, ...], Field(min_length=2, max_length=2)]
    backup: bool

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
    """Cooling by degree-hours.

    Attributes
    ----------
    ua_kw_per_k : float
        Heat that the house gains for each degree [kW/K].
    base_c : float
        Outdoor temperature below which the house needs no cooling [C].
    points : tuple of CoolingPoint
        Two points of the datasheet.
    max_kw : float
        Most electricity that it takes [kW].
    sun_m2 : float
        Sun that comes in, as the area that would let all of the global horizontal irradiance in [m2].
    setbacks : tuple of Setback
        The first that holds governs an hour.
    """

    kind: Literal["air_conditioner"]
    points: Annotated[tuple[CoolingPoint, ...], Field(min_length=2, max_length=2)]
    sun_m2: Annotated[float, Field(ge=0, le=100)] = 0.0

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
