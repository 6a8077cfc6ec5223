"""Frontiers: designs in; those that no cheaper one equals in NPV, bill or backup, and the backup of these, out."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from math import inf

from solarsim.studies.size._designs import Several
from solarsim.studies.size.design import Design, npv_of, some_of

_MOST_BACKED, _MOST_BY_HARDWARE = 12, 24  # designs whose backup is computed: of each frontier, by their hardware


def frontier(designs: Sequence[Design], value: Callable[[Design], float]) -> Iterator[Design]:
    """Yield the designs of a higher value than every one that costs no more."""
    highest = -inf
    for each in sorted(designs, key=lambda each: (each.upfront_cost, -value(each))):
        if value(each) > highest:
            highest = value(each)
            yield each


def lower_bill(design: Design) -> float:
    """Return what is higher for a lower energy cost."""
    return -inf if design.energy_cost is None else -design.energy_cost


def longer_backup(design: Design) -> float:
    """Return the backup duration; minus infinity where it is not known, and where there is none."""
    return design.backup_duration_h or -inf


def backed(
    several: Several, designs: tuple[Design, ...], best: Design | None
) -> tuple[tuple[Design, ...], Design | None]:
    """Return all designs and the best, with the backup of those that are or may be on a frontier.

    More hardware never shortens the backup, so only designs may be on its frontier that have more of something than
    every one that costs no more. Of many some are computed, evenly apart in cost.
    """
    edges = [each for value in (npv_of, lower_bill) for each in some_of(tuple(frontier(designs, value)), _MOST_BACKED)]
    edges += some_of(_with_more_hardware(designs), _MOST_BY_HARDWARE)
    chosen = list({id(each): each for each in edges}.values())
    again = several.map([(each.changes, "backup") for each in chosen], chunk=2)
    known = {
        id(old): replace(old, backup_duration_h=new.backup_duration_h)
        for old, new in zip(chosen, again, strict=True)
        if isinstance(new, Design)
    }
    return tuple(known.get(id(each), each) for each in designs), None if best is None else known.get(id(best), best)


def _with_more_hardware(designs: Sequence[Design]) -> list[Design]:
    """Return, cheapest first, the designs with a battery that have more of something than every cheaper one."""
    found: list[Design] = []
    for each in sorted(designs, key=lambda each: (each.upfront_cost, -each.usable_kwh, -each.kw_dc, -each.kw_ac)):
        sizes = (each.usable_kwh, each.kw_dc, each.kw_ac)
        others = ((other.usable_kwh, other.kw_dc, other.kw_ac) for other in found)
        if each.usable_kwh > 0.0 and not any(all(map(float.__le__, sizes, other)) for other in others):
            found.append(each)
    return found
