"""What happens when the grid fails: how the home stands to it, when it fails, and what else can serve.

None of these tables needs to be written: without them the grid never fails and nothing differs.
"""

from datetime import datetime
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from solarsim.clock.windows import Window
from solarsim.fields import Frozen, Money, NotNegative, Positive, Share

_YEAR_H = 8760.0
_Months12 = Annotated[tuple[NotNegative, ...], Field(min_length=12, max_length=12)]


class Motor(Frozen):
    """The largest motor that starts while the home lives on the inverter.

    Attributes
    ----------
    kw : float
        Its rated power [kW].
    start_factor : float
        Locked-rotor over rated power: what it draws as it starts, for a moment. Its nameplate tells (code
        letter); 5 to 7 for a plain induction motor, 2 to 3 with a soft starter (common practice, no
        source).
    """

    kw: Positive
    start_factor: Annotated[float, Field(ge=1, le=12)]


class Arrangement(Frozen):
    """How the home stands to the grid.

    Change ``kind`` to see the same home in another one: keys of the other kinds may stand, and say nothing.

    Attributes
    ----------
    kind : str
        ``grid_tied``: stops with the grid, as the standard against islanding demands; a battery and a generator
        that the scenario has are left out.
        ``hybrid``: on the grid, and when that fails an island behind the inverter. ``off_grid``: always an
        island; a grid or a generator can only come in.
    backed_up : str, optional
        Of a ``hybrid``: ``all`` of the home, or ``critical``, what stays on in an outage.
    transfer : str, optional
        Of a ``hybrid``: ``automatic`` or ``by_hand``.
    transfer_seconds : float, optional
        Without power until the island stands [min].
    at_home : tuple of Window
        Of a transfer by hand: when somebody is there for it. Until then the home stays dark.
    grid : str, optional
        Of ``off_grid``: ``first`` (taken where it is there), ``last`` (sun and battery first), ``none``.
    grid_from, grid_until : float, optional
        Of a grid that comes ``last``: turned to at or below this state of charge, kept until that, 0-1.
    motor : Motor, optional
        The largest motor that must start on the inverter.
    """

    kind: Literal["grid_tied", "hybrid", "off_grid"]
    backed_up: Literal["all", "critical"] | None = None
    transfer: Literal["automatic", "by_hand"] | None = None
    transfer_seconds: Annotated[float, Field(ge=0, le=3600)] | None = None
    at_home: tuple[Window, ...] = ()
    grid: Literal["first", "last", "none"] | None = None
    grid_from: Share | None = None
    grid_until: Share | None = None
    motor: Motor | None = None

    @model_validator(mode="after")
    def _keys_of_its_kind(self) -> Self:
        wanted = {"hybrid": ("backed_up", "transfer", "transfer_seconds"), "off_grid": ("grid",), "grid_tied": ()}
        for key in wanted[self.kind]:
            if getattr(self, key) is None:
                raise ValueError(f"{key} is missing: a home of kind {self.kind!r} needs it")
        if self.transfer == "by_hand" and not self.at_home:
            raise ValueError("at_home is missing: it says when somebody is there for a transfer by_hand")
        if self.at_home and self.transfer != "by_hand":
            raise ValueError("at_home says when somebody is there for a transfer by_hand, and belongs to it alone")
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
        """Whether only the critical loads stand behind the inverter."""
        return self.kind == "hybrid" and self.backed_up == "critical"

    @property
    def levels(self) -> tuple[float, float] | None:
        """At which states of charge a grid that comes last is turned to and left; None where there are none."""
        if self.kind != "off_grid" or self.grid != "last" or self.grid_from is None or self.grid_until is None:
            return None
        return self.grid_from, self.grid_until


class Generator(Frozen):
    """A generator that comes in while the home is without the grid.

    Attributes
    ----------
    kw : float
        Rated power [kW].
    start_at, stop_at : float
        Starts at or below this state of charge, runs until that, 0-1. Near full a battery takes next to
        nothing, and a generator that waits for it burns fuel for that: ``stop_at`` is at most 0.95.
    least_run_h : float
        Runs at least so long once started [h].
    charge_kw : float
        What the inverter takes of it for the battery at most, AC [kW].
    may_start : tuple of Window
        When it may run; the whole day if left out. Outside of it are the quiet hours.
    liters_per_h, liters_per_kwh : float
        Fuel at no load [l/h] and on top of it for each kWh [l/kWh]: two points of its datasheet give both.
    fuel_price : float
        [currency/l].
    """

    kw: Positive
    start_at: Share
    stop_at: Annotated[float, Field(gt=0, le=0.95)]
    least_run_h: NotNegative
    charge_kw: NotNegative
    may_start: tuple[Window, ...] = ()
    liters_per_h: NotNegative
    liters_per_kwh: NotNegative
    fuel_price: Money

    @model_validator(mode="after")
    def _levels_in_order(self) -> Self:
        if self.start_at >= self.stop_at:
            raise ValueError(f"start_at {self.start_at} must be below stop_at {self.stop_at}")
        return self


class Outage(Frozen):
    """One outage of the simulated year.

    Attributes
    ----------
    start : datetime.datetime
        Written ``from``: when it begins, by the wall clock, at a full hour.
    hours : int
        How long it lasts [h].
    """

    start: datetime = Field(alias="from")
    hours: Annotated[int, Field(ge=1, le=8760)]

    @model_validator(mode="after")
    def _full_hour(self) -> Self:
        if self.start.tzinfo is not None or (self.start.minute, self.start.second) != (0, 0):
            raise ValueError("an outage begins at a full hour of the wall clock, for example 2026-01-14T18:00")
        return self


class Frequency(Frozen):
    """How often the grid fails, and for how long (the indices of IEEE 1366).

    Attributes
    ----------
    per_year : float
        Interruptions a year of the average customer: SAIFI.
    mean_h : float
        Mean length of one: CAIDI = SAIDI / SAIFI [h].
    months : tuple of float
        Weight of each month, January to December; only their ratios count.
    """

    per_year: Annotated[float, Field(gt=0, le=100)]
    mean_h: Annotated[float, Field(gt=0, le=500)]
    months: _Months12

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
    """When the grid fails.

    Attributes
    ----------
    events : tuple of Outage
        In every run of the scenario.
    frequency : Frequency, optional
        For what the ``outages`` command draws.
    value_of_lost_load : float, optional
        What a kilowatt-hour that nothing serves is worth to the home [currency/kWh]. With it, homes that
        serve different shares of their demand can be compared: by energy cost and outage cost.
    """

    events: tuple[Outage, ...] = ()
    frequency: Frequency | None = None
    value_of_lost_load: Money | None = None
