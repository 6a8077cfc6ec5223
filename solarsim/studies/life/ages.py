"""How much of modules and cells is left: their numbers by stage and their lives in; a share for each year out."""

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import NamedTuple

from solarsim.home import Home

Sizes = tuple[tuple[int, float], ...]
_MORE = 1.0 + 1e-9


class LaterHomes(NamedTuple):
    """The homes from a later year on.

    Attributes
    ----------
    from_year : int
        The first year with them, from 2.
    homes : sequence of Home
        One for each weather, as those of the first year.
    """

    from_year: int
    homes: Sequence[Home]


@lru_cache(maxsize=64)
def left_by_age(lost_per_year: float, years: int) -> tuple[float, ...]:
    """Return the share that is left by age where each year loses the same share of what was left.

    Parameters
    ----------
    lost_per_year : float
        Share that is lost each year.
    years : int
        How many ages, from new on [years].

    Returns
    -------
    tuple of float
        The first is 1.
    """
    return tuple((1.0 - lost_per_year) ** age for age in range(years))


def sizes_of(stages: Iterable[LaterHomes]) -> tuple[Sizes, Sizes]:
    """Return the number of modules and the energy of the battery, by stage.

    Parameters
    ----------
    stages : iterable of LaterHomes
        From the home as written, which begins in year 1.

    Returns
    -------
    tuple
        Modules, then battery [kWh]: for each stage the years that are over when it begins, and the size.
    """
    firsts = [(stage.from_year - 1, stage.homes[0]) for stage in stages]
    modules = tuple((first, float(_modules_of(home))) for first, home in firsts)
    return modules, tuple((first, home.limits.capacity_kwh) for first, home in firsts)


def renewal_years(sizes: Sizes, life: int | None, years: int) -> tuple[int, ...]:
    """Return when all modules or cells are new again, as ``payments.replacement_years`` has it.

    Parameters
    ----------
    sizes : tuple of tuple
        Years that are over when a size begins, and the size.
    life : int or None
        Years after which all are replaced together; None for never.
    years : int
        How many.

    Returns
    -------
    tuple of int
        Years that are over then [years]. A life begins with the first of them that is there, anew after there was
        none.
    """
    found, bought = [], None
    for year in range(years if life else 0):
        size = [each for start, each in sizes if start <= year][-1]
        bought = (year if bought is None else bought) if size else None
        if life and bought is not None and year > bought and (year - bought) % life == 0:
            found.append(year)
    return tuple(found)


@lru_cache(maxsize=64)
def shares_left(sizes: Sizes, life: int | None, left: tuple[float, ...]) -> tuple[float, ...]:
    """Return what is left of modules or cells in each year, where some were added later.

    Parameters
    ----------
    sizes : tuple of tuple
        Years that are over when a size begins, and the size; the first begins at 0.
    life : int or None
        Years after which all are replaced together; None for never.
    left : tuple of float
        Share that is left by age in full years: one for each year.

    Returns
    -------
    tuple of float
        One share for each year; 1 where there are none.
    """
    shares: list[float] = []
    renewed = renewal_years(sizes, life, len(left))
    vintages: list[tuple[int, float]] = []  # year in which it was new, size
    for year in range(len(left)):
        size = [each for start, each in sizes if start <= year][-1]
        there = sum(each for _, each in vintages)
        if year in renewed:
            vintages = [(year, size)]
        elif size > there * _MORE:
            vintages.append((year, size - there))
        elif size * _MORE < there:
            vintages = [(new, each * size / there) for new, each in vintages]
        if len(vintages) == 1:
            shares.append(left[year - vintages[0][0]])
        else:
            shares.append(sum(each * left[year - new] for new, each in vintages) / size if size else 1.0)
    return tuple(shares)


def _modules_of(home: Home) -> float:
    """Return the number of modules of a home."""
    return float(sum(each.modules_in_series * each.strings for each in home.scenario.arrays))
