"""Why a step of an island leaves backed-up demand unserved: numbers that are added, since several may hold."""

#: The battery or the inverter:
AT_CUTOFF, AT_OFF_GRID_FLOOR, WAITS_TO_RESTART = 1, 2, 4
AT_INVERTER_RATING, AT_BATTERY_LIMIT, BLOCKED_BY_TEMPERATURE = 8, 16, 32
#: The generator does not run, or its output does not suffice:
QUIET_HOURS, TANK_EMPTY, ABOVE_START_LEVEL, AT_GENERATOR_RATING = 64, 128, 256, 512
REASONS = (
    AT_CUTOFF, AT_OFF_GRID_FLOOR, WAITS_TO_RESTART, AT_INVERTER_RATING, AT_BATTERY_LIMIT, BLOCKED_BY_TEMPERATURE,
    QUIET_HOURS, TANK_EMPTY, ABOVE_START_LEVEL, AT_GENERATOR_RATING,
)  # fmt: skip
