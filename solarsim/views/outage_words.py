"""Words that the page and the figure of outages share."""

from solarsim.studies.outages.outages import Outages, Variant

SHOWN_H = (4, 8, 24, 72)
_WHY = {
    "low_cutoff": "battery at low cutoff",
    "off_grid_floor": "battery at off_grid_floor",
    "waits_to_restart": "battery below restart_at",
    "inverter_rating": "above inverter rating",
    "battery_power": "above battery power limit",
    "battery_temperature": "battery too cold or hot",
    "generator_quiet_hours": "generator quiet hours",
    "generator_tank_empty": "generator tank empty",
    "above_generator_start": "battery above start_at",
    "generator_rating": "above generator rating",
    "no_one_at_home": "no one at home to transfer",
    "grid_tied": "inverter stops with the grid",
}


def can_island(result: Outages) -> bool:
    """Return whether anything is served in an outage."""
    return result.arrangement != "grid_tied"


def has_generator(result: Outages) -> bool:
    """Return whether the home has a generator."""
    return result.home.scenario.generator_in_use is not None


def variant_words(variant: Variant, result: Outages) -> str:
    """Return the name of a variant, for a table or a legend."""
    words = ["reserve as set" if variant.keeps_reserve else "no reserve"]
    if has_generator(result):
        words.append("generator" if variant.with_generator else "no generator")
    return ", ".join(words)


def why_words(why: tuple[str, ...]) -> str:
    """Return reasons in a few words, for a table."""
    return "; ".join(_WHY[each] for each in why)
