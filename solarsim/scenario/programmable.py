"""What an inverter's menu accepts: time slots, days, seasons, levels."""

from solarsim.fields import Frozen, field


class Programmable(Frozen):
    """What can be programmed into the inverter; strategies that need more are reported."""

    slots: int = field("time slots in one table", "1", ge=1, le=96)
    fill_day: bool = field(
        "whether the slots must fill 24 h; if not, the base settings apply outside them", "true or false"
    )
    days_of_week: bool = field("whether a slot may be for some days of the week", "true or false")
    seasons: int = field(
        "tables between which the inverter switches by date; 1: one table for the whole year", "1", ge=1, le=366
    )
    reserve_in_slots: bool = field(
        "whether each slot has its own reserve; if not, one reserve for all", "true or false"
    )
    level_step: float = field("step of all states of charge", "1", gt=0, le=0.5)
