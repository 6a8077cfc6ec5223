"""Panels and ports: breakers and busbars in; what another source may add, out."""

from collections.abc import Sequence

from solarsim.electrical.strings import CONTINUOUS


def ac_current_a(kw: float, volts: float, phases: int = 1) -> float:
    """Return the current of a power at unity power factor.

    Parameters
    ----------
    kw : float
        [kW].
    volts : float
        From conductor to conductor [V].
    phases : int
        1 (split phase too) or 3.

    Returns
    -------
    float
        [A].

    Examples
    --------
    >>> round(ac_current_a(7.6, 240.0), 1)
    31.7
    """
    return 1000.0 * kw / (volts * (3.0**0.5 if phases == 3 else 1.0))


def busbar_load_a(main_a: float, inverters_a: Sequence[float]) -> float:
    """Return the main breaker and 125 % of the inverters' currents, which 120 % of the busbar must carry.

    Parameters
    ----------
    main_a : float
        Rating of the main breaker [A].
    inverters_a : sequence of float
        Output currents of the inverters that feed the panel [A].

    Returns
    -------
    float
        [A]. NEC 705.12(B): only where the inverters' breakers are at the opposite end of the busbar.
    """
    return main_a + CONTINUOUS * sum(inverters_a)


def dc_current_a(ac_kw: float, efficiency: float, volts: float) -> float:
    """Return what an inverter draws from a battery for an output.

    Parameters
    ----------
    ac_kw : float
        Output [kW].
    efficiency : float
        At that output, 0-1.
    volts : float
        Lowest voltage of the battery at which it still delivers it [V].

    Returns
    -------
    float
        [A].
    """
    return 1000.0 * ac_kw / efficiency / volts


def current_shares(cell_ah: Sequence[float], current_a: float) -> list[float]:
    """Return how unlike strings in parallel share a current: in proportion to their capacity.

    Parameters
    ----------
    cell_ah : sequence of float
        Capacity of each string, equal ones one by one [Ah].
    current_a : float
        Of the bank [A].

    Returns
    -------
    list of float
        [A]; resistance is taken to fall with capacity (common practice, no source).
    """
    whole = sum(cell_ah)
    return [current_a * ah / whole for ah in cell_ah]
