"""How the inverter is programmed: base settings, and windows in which some of them differ."""

from typing import Literal, Self

from pydantic import model_validator

from solarsim.clock.windows import Window
from solarsim.fields import Frozen, LimitKw, Name, Share, field

SurplusTo = Literal["battery", "grid"]
_LEVELS = ("reserve", "solar_ceiling", "sell_down_to", "charge_from_grid_to")


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
        "hold import to this, with the battery", "kW", usual=(0.05, 250), default=None
    )
    export_limit_kw: LimitKw | None = field(
        "hold export to this; 0 is zero export", "kW", usual=(0.05, 500), default=None
    )

    def changes(self) -> dict[str, object]:
        """Return the settings that replace those of the base."""
        return self.model_dump(exclude=set(Window.model_fields), exclude_none=True)

    @model_validator(mode="after")
    def _changes_something(self) -> Self:
        if not self.changes():
            raise ValueError("the window changes no setting")
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
        "hold import to this: the battery covers demand above it, and charging from the grid stays below it;"
        " demand is never cut",
        "kW",
        usual=(0.05, 250),
        default=None,
    )
    export_limit_kw: LimitKw | None = field(
        "hold export to this; 0 is zero export", "kW", usual=(0.05, 500), default=None
    )
    zero_export_bias_kw: float = field(
        "small import that the inverter keeps while it holds export to zero", "kW", ge=0, le=1, default=0.0
    )
    windows: tuple[StrategyWindow, ...] = field("the first window that matches an hour governs it", "table", default=())

    def in_window(self, window: StrategyWindow) -> "Strategy":
        """Return the settings in force in a window: its own, and those of the base that it leaves out."""
        return self.model_copy(update={**window.changes(), "windows": ()})

    @model_validator(mode="after")
    def _levels_in_order(self) -> Self:
        in_force: dict[str, Strategy | StrategyWindow] = {"": self}
        for number, window in enumerate(self.windows, start=1):
            in_force[f"in window {number} ({window.words()}): "] = window
        problems = []
        for where, now in in_force.items():
            reserve, ceiling, sell_to, charge_to = (
                getattr(self, key) if getattr(now, key) is None else getattr(now, key) for key in _LEVELS
            )
            if reserve > ceiling:
                problems.append(f"{where}reserve {reserve} is above the solar_ceiling {ceiling}")
            if sell_to < reserve:
                problems.append(f"{where}sell_down_to {sell_to} is below the reserve {reserve}")
            if sell_to < charge_to:
                problems.append(
                    f"{where}sell_down_to {sell_to} is below charge_from_grid_to {charge_to}: it would import and"
                    " export in the same hours"
                )
        if problems:
            raise ValueError("\n".join(problems))
        return self
