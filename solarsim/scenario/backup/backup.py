"""How the home is connected to the grid, when the grid fails, and what else can serve.

None of these tables needs to be written: without them the grid never fails and nothing differs.
"""

from datetime import datetime
from typing import Annotated, Literal, Self, TypeVar

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, model_validator

from solarsim.clock.windows import Window
from solarsim.fields import Frozen, LimitKw, PowerKw, Price, Share, field

_YEAR_H = 8760.0
_Power = TypeVar("_Power", float, NDArray[np.float64])
_Weights12 = Annotated[tuple[Annotated[float, Field(ge=0, le=1000)], ...], Field(min_length=12, max_length=12)]


class Motor(Frozen):
    """The largest motor that starts while the inverter alone supplies the home."""

    kw: float = field("rated power", "kW", usual=(0.05, 50), gt=0, le=200)
    start_factor: float = field(
        "locked-rotor power / rated power, from the nameplate's code letter; 5 to 7 for a plain induction motor,"
        " 2 to 3 with a soft starter (common practice, no source)",
        "1",
        ge=1,
        le=12,
    )


class Arrangement(Frozen):
    """How the home is connected to the grid; keys of the other kinds may stay and have no effect."""

    kind: Literal["grid_tied", "hybrid", "off_grid"] = field(
        "grid_tied (stops with the grid; battery and generator are left out), hybrid (becomes an island when"
        " the grid fails) or off_grid (always an island)",
        "text",
    )
    backed_up: Literal["all", "critical"] | None = field(
        "of a hybrid: all of the home, or only the critical load", "text", default=None
    )
    transfer: Literal["automatic", "by_hand"] | None = field("of a hybrid: automatic or by_hand", "text", default=None)
    transfer_seconds: float | None = field("of a hybrid: transfer time without power", "s", ge=0, le=3600, default=None)
    at_home: tuple[Window, ...] = field(
        "for transfer by hand: when someone is home to do it; until then the home has no power", "table", default=()
    )
    grid: Literal["first", "last", "none"] | None = field(
        "of off_grid: first (used where it is there), last (after solar and battery) or none", "text", default=None
    )
    grid_from: Share | None = field(
        "of a grid that comes last: connected at or below this state of charge", "1", default=None
    )
    grid_until: Share | None = field(
        "of a grid that comes last: disconnected at this state of charge", "1", default=None
    )
    motor: Motor | None = field("the largest motor that must start on the inverter", "table", default=None)

    @model_validator(mode="after")
    def _keys_of_its_kind(self) -> Self:
        wanted = {"hybrid": ("backed_up", "transfer", "transfer_seconds"), "off_grid": ("grid",), "grid_tied": ()}
        for key in wanted[self.kind]:
            if getattr(self, key) is None:
                raise ValueError(f"{key} is missing: a home of kind {self.kind!r} needs it")
        if self.transfer == "by_hand" and not self.at_home:
            raise ValueError("at_home is missing: a transfer by_hand needs to know when somebody is home")
        if self.at_home and self.transfer != "by_hand":
            raise ValueError("at_home is only for a transfer by_hand: when somebody is home to do it")
        if self.grid == "last" and (self.grid_from is None or self.grid_until is None):
            raise ValueError("grid_from and grid_until are missing: a grid that comes last needs both of them")
        if (self.grid_from is None) != (self.grid_until is None):
            raise ValueError("grid_from and grid_until belong together")
        if self.grid_from is not None and self.grid_until is not None and self.grid_from >= self.grid_until:
            raise ValueError(f"grid_from {self.grid_from} must be below grid_until {self.grid_until}")
        return self

    @property
    def has_grid(self) -> bool:
        """Whether there is a grid at all."""
        return self.kind != "off_grid" or self.grid != "none"

    @property
    def islands(self) -> bool:
        """Whether anything is served while the grid is out."""
        return self.kind != "grid_tied"

    @property
    def critical_only(self) -> bool:
        """Whether only the critical load is backed up by the inverter."""
        return self.kind == "hybrid" and self.backed_up == "critical"

    def served_without_grid(self, demand: _Power, critical: _Power) -> _Power:
        """Return what of a demand is backed up, from the part of it that is critical."""
        if not self.islands:
            return 0.0 * demand
        return critical if self.critical_only else demand

    @property
    def levels(self) -> tuple[float, float] | None:
        """At which states of charge a grid that comes last is turned to and left; None where there are none."""
        if self.kind != "off_grid" or self.grid != "last" or self.grid_from is None or self.grid_until is None:
            return None
        return self.grid_from, self.grid_until


class Generator(Frozen):
    """A generator that runs while the home is without the grid."""

    kw: PowerKw = field("rated power", "kW", usual=(0.5, 300))
    start_at: Share = field("state of charge at or below which it starts", "1")
    stop_at: float = field(
        "state of charge at which it stops; at most 0.95, since a nearly full battery charges slowly and the"
        " fuel is wasted",
        "1",
        gt=0,
        le=0.95,
    )
    least_run_h: float = field("shortest time that it runs once started", "h", usual=(0.01, 12), ge=0, le=168)
    charge_kw: LimitKw = field(
        "highest AC power that the inverter draws from it to charge the battery", "kW", usual=(0.1, 250)
    )
    may_start: tuple[Window, ...] = field("when it may run; default: at any time", "table", default=())
    tank_liters: float | None = field(
        "fuel in a full tank, which it has whenever the grid fails; default: it never runs empty",
        "l",
        usual=(5, 1000),
        gt=0,
        le=20_000,
        default=None,
    )
    refill: tuple[Window, ...] = field(
        "when the tank is also filled while the grid is out; default: not until the grid is back",
        "table",
        default=(),
    )
    liters_per_h: float = field("fuel at no load", "l/h", usual=(0.05, 30), ge=0, le=100)
    liters_per_kwh: float = field(
        "fuel for each kWh on top of liters_per_h: two points of the datasheet give both",
        "l/kWh",
        usual=(0.1, 1.0),
        ge=0,
        le=5,
    )
    fuel_price: Price = field("price per liter", "currency/l", usual=(0, 5))

    @model_validator(mode="after")
    def _levels_in_order(self) -> Self:
        if self.start_at >= self.stop_at:
            raise ValueError(f"start_at {self.start_at} must be below stop_at {self.stop_at}")
        return self

    @model_validator(mode="after")
    def _tank_of_some_hours(self) -> Self:
        if self.tank_liters is None and self.refill:
            raise ValueError("refill has no effect without tank_liters: a tank of no stated size never runs empty")
        full_l = self.liters_per_h + self.liters_per_kwh * self.kw
        if self.tank_liters is not None and self.tank_liters < full_l:
            raise ValueError(
                f"tank_liters {self.tank_liters:g} is less than the generator burns in one hour at {self.kw:g} kW"
                f" ({full_l:g} l)"
            )
        return self


class Outage(Frozen):
    """One outage of the simulated year."""

    start: datetime = field("when it begins, by the wall clock, at a full hour", "date and time", alias="from")
    hours: int = field("duration", "h", ge=1, le=8760)

    @model_validator(mode="after")
    def _full_hour(self) -> Self:
        if self.start.tzinfo is not None or (self.start.minute, self.start.second) != (0, 0):
            raise ValueError("an outage begins at a full hour of the wall clock, for example 2026-01-14T18:00")
        return self


class Frequency(Frozen):
    """How often the grid fails, and for how long (the indices of IEEE 1366)."""

    per_year: float = field("interruptions a year of the average customer: SAIFI", "1", gt=0, le=100)
    mean_h: float = field("mean length of one: CAIDI = SAIDI / SAIFI", "h", usual=(0.05, 72), gt=0, le=500)
    months: _Weights12 = field("weight of each month, January to December; only their ratios count", "1")

    @model_validator(mode="after")
    def _some_month(self) -> Self:
        if not any(self.months):
            raise ValueError("months: all weights are 0")
        if self.per_year * self.mean_h >= _YEAR_H:
            raise ValueError(
                f"per_year {self.per_year:g} x mean_h {self.mean_h:g} is a whole year or more without the grid;"
                " a home that has none is off_grid"
            )
        return self


class Outages(Frozen):
    """When the grid fails."""

    events: tuple[Outage, ...] = field("outages in every run of the scenario", "table", default=())
    frequency: Frequency | None = field(
        "how often and how long, for the outages that the command outages draws", "table", default=None
    )
    value_of_lost_load: Annotated[Price, Field(gt=0)] | None = field(
        "value of an unserved kWh to the home; homes that serve different shares of their demand need it"
        " to be compared",
        "currency/kWh",
        usual=(0, 200),
        default=None,
    )
