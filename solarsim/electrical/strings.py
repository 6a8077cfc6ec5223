"""Strings: a module's datasheet and design temperatures in; voltages, currents, fuses and string lengths out."""

from solarsim.electrical.nec_tables import COLD_FACTORS, STANDARD_A
from solarsim.production.string_voltage import STANDARD_C

CONTINUOUS = (
    1.25  #: 690.8(A)(1) for irradiance above 1000 W/m2, and 690.8(B), 210.19, 215.2, 705.28 for continuous load
)
_ROUNDING = 1e-9


def cold_factor(low_c: float) -> float | None:
    """Return the factor of NEC Table 690.7(A) for crystalline modules.

    Parameters
    ----------
    low_c : float
        Lowest expected temperature [C].

    Returns
    -------
    float or None
        1 from 25 C on; None below -40 C, where the table ends.
    """
    if low_c >= STANDARD_C:
        return 1.0
    return next((factor for from_c, factor in COLD_FACTORS if low_c >= from_c), None)


def hot_maximum_power_v(v_mp_v: float, p_mp_per_c: float, cell_c: float) -> float:
    """Return a module's voltage at maximum power when its cells are hot.

    Parameters
    ----------
    v_mp_v : float
        At standard test conditions [V].
    p_mp_per_c : float
        Temperature coefficient of maximum power, as a share [1/C]. It stands for that of the voltage: the current at
        maximum power hardly changes (common practice, no source).
    cell_c : float
        [C].

    Returns
    -------
    float
        [V].
    """
    return v_mp_v * (1.0 + p_mp_per_c * (cell_c - STANDARD_C))


def circuit_current_a(i_sc_a: float, strings: int, rear_gain: float = 0.0) -> float:
    """Return the current for which a PV circuit is designed: NEC 690.8(A)(1).

    Parameters
    ----------
    i_sc_a : float
        A module's short-circuit current at standard test conditions [A].
    strings : int
        In parallel.
    rear_gain : float
        What the rear of a bifacial module adds, as a share of the front's current.

    Returns
    -------
    float
        125 % of the sum [A]. Conductors and fuses are sized for another 125 % of it.

    Examples
    --------
    >>> round(circuit_current_a(11.2, 1), 2)
    14.0
    """
    return CONTINUOUS * strings * i_sc_a * (1.0 + rear_gain)


def fault_current_a(i_sc_a: float, strings: int, backfeed_a: float, rear_gain: float, standard: str) -> float:
    """Return the current that can flow backward through a string with a fault.

    Parameters
    ----------
    i_sc_a : float
        Of a module at standard test conditions [A].
    strings : int
        In parallel on the input, the faulty one included.
    backfeed_a : float
        What the inverter's input can feed back [A].
    rear_gain : float
        As in ``circuit_current_a``.
    standard : str
        ``nec`` (690.9(A), currents of 690.8) or ``iec`` (62548: short-circuit currents as they are).

    Returns
    -------
    float
        [A].
    """
    factor = CONTINUOUS if standard == "nec" else 1.0
    return factor * (strings - 1) * i_sc_a * (1.0 + rear_gain) + backfeed_a


def string_fuse_range_a(i_sc_a: float, most_a: float, rear_gain: float, standard: str) -> tuple[float, float]:
    """Return the least and the greatest rating of a string's fuse.

    Parameters
    ----------
    i_sc_a : float
        Of a module at standard test conditions [A].
    most_a : float
        The module's maximum series fuse [A].
    rear_gain : float
        As in ``circuit_current_a``.
    standard : str
        ``nec`` (690.9(B): at least 1.25 x 1.25 x I_sc) or ``iec`` (62548: above 1.5 and below 2.4 x I_sc).

    Returns
    -------
    tuple of float
        [A], [A]; the greatest is below the least where no fuse fits.

    Examples
    --------
    >>> [round(each, 2) for each in string_fuse_range_a(12.28, 20.0, 0.0, "iec")]
    [18.42, 20.0]
    """
    current = i_sc_a * (1.0 + rear_gain)
    if standard == "nec":
        return CONTINUOUS * CONTINUOUS * current, most_a
    return 1.5 * current, min(2.4 * current, most_a)


def standard_size_a(least_a: float) -> float | None:
    """Return the smallest standard rating of fuses and breakers that is not below a current; NEC 240.6(A).

    Parameters
    ----------
    least_a : float
        [A].

    Returns
    -------
    float or None
        [A]; None above the largest of the list.

    Examples
    --------
    >>> standard_size_a(17.5)
    20
    """
    return next((size for size in STANDARD_A if size >= least_a - _ROUNDING), None)
