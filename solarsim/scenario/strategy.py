"""How the inverter is programmed: base settings, and windows in which some of them differ."""

from collections.abc import Iterator
from math import inf
from typing import Literal, Self

from pydantic import model_validator

from solarsim.clock.windows import Window
from solarsim.errors import ordinal
from solarsim.fields import Frozen, LimitA, LimitKw, Name, Share, field

SurplusTo = Literal["battery", "grid"]
LoadServed = Literal["home", "backed_up"]
_LEVELS = ("reserve", "solar_ceiling", "sell_down_to", "charge_from_grid_to", "off_grid_floor")
_IN_TWO_UNITS = (("grid_charge_kw", "grid_charge_a"), ("discharge_limit_kw", "discharge_limit_a"))


def _check_units(table: "Strategy | StrategyWindow") -> None:
    """Refuse a limit that is written in both of its units."""
    for pair in _IN_TWO_UNITS:
        if all(getattr(table, key) is not None for key in pair):
            raise ValueError(f"{pair[0]} and {pair[1]} are the same limit in two units: keep one of them")


class StrategyWindow(Window):
    """A window in which some settings replace those of the base; what it leaves out stays."""

    surplus_to: SurplusTo | None = field("where surplus solar goes first: battery or grid", "text", default=None)
    battery_serves_load: bool | None = field("whether the battery may serve the home", "true or false", default=None)
    reserve: Share | None = field("state of charge kept for outages", "1", default=None)
    solar_ceiling: Share | None = field("state of charge at which solar charging stops", "1", default=None)
    charge_from_grid_to: Share | None = field(
        "charge from the grid up to this state of charge; 0 for never", "1", default=None
    )
    sell_down_to: Share | None = field(
        "export from the battery down to this state of charge; 1 for never", "1", default=None
    )
    import_cap_kw: LimitKw | None = field(
        "limit import to this, with the battery", "kW", usual=(0.05, 250), default=None
    )
    export_limit_kw: LimitKw | None = field(
        "limit export to this; 0 is zero export", "kW", usual=(0.05, 500), default=None
    )
    grid_charge_kw: LimitKw | None = field(
        "charge from the grid at no more than this", "kW", usual=(0.05, 250), default=None
    )
    grid_charge_a: LimitA | None = field("the same in ampere, in place of kW", "A", usual=(1, 2000), default=None)
    discharge_limit_kw: LimitKw | None = field("discharge at no more than this", "kW", usual=(0.05, 250), default=None)
    discharge_limit_a: LimitA | None = field("the same in ampere, in place of kW", "A", usual=(1, 2000), default=None)
    sell_limit_kw: LimitKw | None = field(
        "sell from the battery at no more than this", "kW", usual=(0.05, 250), default=None
    )
    load_served: LoadServed | None = field("what the battery serves: home or backed_up", "text", default=None)
    off_grid_floor: Share | None = field("state of charge kept without the grid", "1", default=None)

    def changes(self) -> dict[str, object]:
        """Return the settings that replace those of the base."""
        return self.model_dump(exclude=set(Window.model_fields), exclude_none=True)

    @model_validator(mode="after")
    def _changes_something(self) -> Self:
        if not self.changes():
            raise ValueError("the window changes no setting")
        _check_units(self)
        return self


class Strategy(Frozen):
    """A named way to program the inverter: base settings, and windows in which some of them differ."""

    name: Name = field("the strategy, for tables and --strategy", "text")
    surplus_to: SurplusTo = field("where surplus solar goes first: battery or grid", "text")
    battery_serves_load: bool = field("whether the battery may serve the home", "true or false")
    reserve: Share = field("state of charge kept for outages: the floor of all normal discharge", "1")
    solar_ceiling: Share = field("state of charge at which solar charging stops", "1", default=1.0)
    charge_from_grid_to: Share = field("charge from the grid up to this state of charge; 0 for never", "1", default=0.0)
    sell_down_to: Share = field("export from the battery down to this state of charge; 1 for never", "1", default=1.0)
    import_cap_kw: LimitKw | None = field(
        "limit import to this: the battery covers demand above it, and charging from the grid stays below it;"
        " demand is never cut",
        "kW",
        usual=(0.05, 250),
        default=None,
    )
    export_limit_kw: LimitKw | None = field(
        "limit export to this; 0 is zero export", "kW", usual=(0.05, 500), default=None
    )
    zero_export_bias_kw: float = field(
        "small import that the inverter keeps while it holds export to zero", "kW", ge=0, le=1, default=0.0
    )
    grid_charge_kw: LimitKw | None = field(
        "charge from the grid at no more than this, at the battery's terminals; default: what the hardware allows",
        "kW",
        usual=(0.05, 250),
        default=None,
    )
    grid_charge_a: LimitA | None = field(
        "the same limit in ampere at the battery's nominal voltage, in place of kW", "A", usual=(1, 2000), default=None
    )
    discharge_limit_kw: LimitKw | None = field(
        "discharge at no more than this at the battery's terminals while the grid is there; default: what the"
        " hardware allows",
        "kW",
        usual=(0.05, 250),
        default=None,
    )
    discharge_limit_a: LimitA | None = field(
        "the same limit in ampere at the battery's nominal voltage, in place of kW", "A", usual=(1, 2000), default=None
    )
    sell_limit_kw: LimitKw | None = field(
        "export from the battery at no more than this while it sells; solar power is exported on top",
        "kW",
        usual=(0.05, 250),
        default=None,
    )
    load_served: LoadServed = field(
        "what of the load the battery serves while the grid is there: home (all that the sensor at the meter sees) or"
        " backed_up (only what the inverter supplies in an outage)",
        "text",
        default="home",
    )
    off_grid_floor: Share = field(
        "state of charge at which the battery stops in an outage or off the grid; never below battery.low_cutoff",
        "1",
        default=0.0,
    )
    windows: tuple[StrategyWindow, ...] = field("the first window that matches an hour governs it", "table", default=())

    def in_window(self, window: StrategyWindow) -> "Strategy":
        """Return the settings in force in a window: its own, and those of the base that it leaves out."""
        changes = window.changes()
        for pair in _IN_TWO_UNITS:  # a limit of the window replaces the base's, whatever unit that is in
            if any(key in changes for key in pair):
                changes = {**dict.fromkeys(pair), **changes}
        return self.model_copy(update={**changes, "windows": ()})

    def settings(self) -> Iterator["Strategy"]:
        """Yield the settings in force in each window, then the base."""
        yield from (self.in_window(window) for window in self.windows)
        yield self

    def grid_charge_kw_at(self, battery_v: float | None) -> float:
        """Return the power limit of charging from the grid.

        Parameters
        ----------
        battery_v : float or None
            Nominal voltage of the battery [V].

        Returns
        -------
        float
            [kW]; infinite where there is none.
        """
        return _limit_kw(self.grid_charge_kw, self.grid_charge_a, battery_v)

    def discharge_kw_at(self, battery_v: float | None) -> float:
        """Return the power limit of discharging.

        Parameters
        ----------
        battery_v : float or None
            Nominal voltage of the battery [V].

        Returns
        -------
        float
            [kW]; infinite where there is none.
        """
        return _limit_kw(self.discharge_limit_kw, self.discharge_limit_a, battery_v)

    @property
    def has_currents(self) -> bool:
        """Whether a limit is in ampere, so that the battery's voltage must be known."""
        tables: tuple[Strategy | StrategyWindow, ...] = (self, *self.windows)
        return any(each is not None for now in tables for each in (now.grid_charge_a, now.discharge_limit_a))

    @model_validator(mode="after")
    def _levels_in_order(self) -> Self:
        _check_units(self)
        in_force: dict[str, Strategy | StrategyWindow] = {"": self}
        for number, window in enumerate(self.windows, start=1):
            in_force[f"in the {ordinal(number)} window ({window.words()}): "] = window
        problems = []
        for where, now in in_force.items():
            reserve, ceiling, sell_to, charge_to, off_grid_floor = (
                getattr(self, key) if getattr(now, key) is None else getattr(now, key) for key in _LEVELS
            )
            if reserve > ceiling:
                problems.append(f"{where}reserve {reserve} is above the solar_ceiling {ceiling}")
            if sell_to < reserve:
                problems.append(f"{where}sell_down_to {sell_to} is below the reserve {reserve}")
            if off_grid_floor > reserve:
                problems.append(
                    f"{where}off_grid_floor {off_grid_floor} is above the reserve {reserve}: the battery could stand"
                    " below it when the grid fails"
                )
            if sell_to < charge_to:
                problems.append(
                    f"{where}sell_down_to {sell_to} is below charge_from_grid_to {charge_to}: it would import and"
                    " export in the same hours"
                )
        if problems:
            raise ValueError("\n".join(problems))
        return self


def _limit_kw(limit_kw: float | None, limit_a: float | None, battery_v: float | None) -> float:
    """Return a limit in kW, whichever unit it is written in."""
    if limit_a is not None and battery_v is not None:
        return limit_a * battery_v / 1000.0
    return inf if limit_kw is None else limit_kw
