"""Conductors: a size and where it runs in; ampacity, protection and equipment grounding conductor out.

Copper only, by the tables of the NEC; what a conductor loses is in ``production.cables``.
"""

from typing import NamedTuple

from solarsim.electrical.nec_tables import (
    AMBIENT_FACTORS,
    AMPACITY,
    CIRCULAR_MILS,
    EQUIPMENT_GROUND,
    FILL_FACTORS,
    INSULATION_C,
    ON_ROOF_C,
    SIZES,
    SMALL_CONDUCTORS,
    STANDARD_A,
)
from solarsim.electrical.strings import CONTINUOUS
from solarsim.scenario.roof.roof import Awg

_ROUNDING = 1e-9


class Run(NamedTuple):
    """Where a conductor runs.

    Attributes
    ----------
    insulation_c, terminals_c : int
        Rating of the insulation, and of the terminals at both ends: 60, 75 or 90 [C].
    ambient_c : float
        Highest air temperature around it [C].
    on_roof : bool
        In a raceway closer than 23 mm to a roof in the sun.
    in_raceway : int
        Current-carrying conductors in the same raceway or cable.
    parallel : int
        Equal conductors side by side for each pole.
    """

    insulation_c: int
    terminals_c: int
    ambient_c: float
    on_roof: bool
    in_raceway: int
    parallel: int = 1


def ampacity_a(awg: Awg, column_c: int, parallel: int = 1) -> float:
    """Return the ampacity at 30 C of air.

    Parameters
    ----------
    awg : str
        Size.
    column_c : int
        Rating of insulation or terminals: 60, 75 or 90 [C].
    parallel : int
        Equal conductors side by side.

    Returns
    -------
    float
        NEC Table 310.16 [A].
    """
    return parallel * AMPACITY[awg][INSULATION_C.index(column_c)]


def adjusted_ampacity_a(awg: Awg, run: Run) -> float:
    """Return the ampacity after the factors for ambient temperature and for conductors beside it.

    Parameters
    ----------
    awg : str
        Size.
    run : Run
        Where it runs.

    Returns
    -------
    float
        [A]; 0 where the tables allow none.
    """
    ambient_c = run.ambient_c + (ON_ROOF_C if run.on_roof else 0.0)
    column = INSULATION_C.index(run.insulation_c)
    ambient = next((factors[column] for up_to_c, factors in AMBIENT_FACTORS if ambient_c <= up_to_c), 0.0)
    fill = next((factor for up_to, factor in FILL_FACTORS if run.in_raceway <= up_to), 0.35)
    return ampacity_a(awg, run.insulation_c, run.parallel) * ambient * fill


def greatest_protection_a(awg: Awg, run: Run) -> float:
    """Return the greatest overcurrent protection of a conductor.

    Parameters
    ----------
    awg : str
        Size.
    run : Run
        Where it runs.

    Returns
    -------
    float
        The next standard rating above its ampacity (NEC 240.4(B)), for small conductors at most that of 240.4(D) [A].
    """
    allowed = min(adjusted_ampacity_a(awg, run), ampacity_a(awg, run.terminals_c, run.parallel))
    rounded = next((size for size in STANDARD_A if size >= allowed - _ROUNDING), allowed) if allowed > 0.0 else 0.0
    return min(rounded, SMALL_CONDUCTORS.get(awg, rounded))


def carries(awg: Awg, run: Run, current_a: float, protection_a: float | None) -> bool:
    """Return whether a conductor passes both tests of a continuous current, and its protection fits.

    Parameters
    ----------
    awg : str
        Size.
    run : Run
        Where it runs.
    current_a : float
        The circuit's current [A].
    protection_a : float or None
        Its fuse or breaker [A]; None where there is none.

    Returns
    -------
    bool
        125 % of the current at the terminals' column, without factors; the current itself with them.
    """
    at_terminals = ampacity_a(awg, min(run.terminals_c, run.insulation_c), run.parallel)
    protected = protection_a is None or protection_a <= greatest_protection_a(awg, run) + _ROUNDING
    return CONTINUOUS * current_a <= at_terminals and current_a <= adjusted_ampacity_a(awg, run) and protected


def smallest_that_carries(run: Run, current_a: float, protection_a: float | None) -> Awg | None:
    """Return the thinnest conductor that passes ``carries``.

    Parameters
    ----------
    run : Run
        Where it runs.
    current_a : float
        The circuit's current [A].
    protection_a : float or None
        Its fuse or breaker [A].

    Returns
    -------
    str or None
        Size; None where not even 4/0 does.
    """
    return next((awg for awg in SIZES if carries(awg, run, current_a, protection_a)), None)


def equipment_ground(protection_a: float, needed: Awg | None = None, used: Awg | None = None) -> Awg | None:
    """Return the least equipment grounding conductor; NEC 250.122(A) and (B).

    Parameters
    ----------
    protection_a : float
        Rating of the circuit's overcurrent device [A].
    needed, used : str, optional
        Size that the circuit needs, and the one it has: where it was enlarged, the grounding conductor grows in
        proportion, but never beyond the circuit's own conductors.

    Returns
    -------
    str or None
        Size; None above the table.

    Examples
    --------
    >>> equipment_ground(60.0), equipment_ground(60.0, "6", "4")
    ('10', '8')
    """
    least = next((awg for up_to, awg in EQUIPMENT_GROUND if protection_a <= up_to), None)
    if least is None or needed is None or used is None or SIZES.index(used) <= SIZES.index(needed):
        return least
    area = CIRCULAR_MILS[least] * CIRCULAR_MILS[used] / CIRCULAR_MILS[needed]
    grown = next((awg for awg in SIZES if area <= CIRCULAR_MILS[awg] * (1.0 + 1e-3)), used)
    return SIZES[min(SIZES.index(grown), max(SIZES.index(used), SIZES.index(least)))]
