"""How the inverter is programmed: base settings, and windows in which some of them differ."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from solarsim.clock.windows import Window
from solarsim.fields import Frozen, Name, NotNegative, Share

SurplusTo = Literal["battery", "grid"]
_LEVELS = ("reserve", "solar_ceiling", "sell_down_to", "charge_from_grid_to")


class StrategyWindow(Window):
    """A window in which some settings replace those of the base; what it leaves out stays."""

    surplus_to: SurplusTo | None = None
    battery_serves_load: bool | None = None
    reserve: Share | None = None
    solar_ceiling: Share | None = None
    charge_from_grid_to: Share | None = None
    sell_down_to: Share | None = None
    import_cap_kw: NotNegative | None = None
    export_limit_kw: NotNegative | None = None

    def changes(self) -> dict[str, object]:
        """Give the settings that replace those of the base."""
        return self.model_dump(exclude=set(Window.model_fields), exclude_none=True)

    @model_validator(mode="after")
    def _changes_something(self) -> Self:
        if not self.changes():
            raise ValueError("the window changes no setting")
        return self


class Strategy(Frozen):
    """A named way to program the inverter.

    Attributes
    ----------
    surplus_to : str
        Where solar power goes that the home does not need: to the ``battery`` or to the ``grid`` first.
    battery_serves_load : bool
        Whether the battery may serve the home.
    reserve : float
        State of charge kept for outages, 0-1: the floor of all normal discharge.
    solar_ceiling : float
        Solar charging stops here, 0-1.
    charge_from_grid_to : float
        Charge from the grid up to here, 0-1; 0 means never.
    sell_down_to : float
        Sell from the battery down to here, 0-1; 1 means never.
    import_cap_kw : float, optional
        Hold import to this [kW]: the battery covers demand above it, even where it may not serve
        the home otherwise, and charging from the grid stays under it. Demand itself is never cut.
    export_limit_kw : float, optional
        Hold export to this [kW]; 0 is zero export.
    zero_export_bias_kw : float
        Small import that the inverter keeps while it holds export to zero [kW].
    windows : tuple of StrategyWindow
        The first window that holds governs an hour.
    """

    name: Name
    surplus_to: SurplusTo
    battery_serves_load: bool
    reserve: Share
    solar_ceiling: Share = 1.0
    charge_from_grid_to: Share = 0.0
    sell_down_to: Share = 1.0
    import_cap_kw: NotNegative | None = None
    export_limit_kw: NotNegative | None = None
    zero_export_bias_kw: Annotated[float, Field(ge=0, le=1)] = 0.0
    windows: tuple[StrategyWindow, ...] = ()

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
