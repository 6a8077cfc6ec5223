"""Resistance of copper conductors: length and size in, ohm out."""

from solarsim.scenario.roof.roof import Awg, Cable

# NEC (NFPA 70) chapter 9 table 8, stranded uncoated copper at 75 C, ohm per 1000 ft (secondary copy).
_OHM_PER_KFT: dict[Awg, float] = {
    "14": 3.14, "12": 1.98, "10": 1.24, "8": 0.778, "6": 0.491, "4": 0.308, "3": 0.245, "2": 0.194, "1": 0.154,
    "1/0": 0.122, "2/0": 0.0967, "3/0": 0.0766, "4/0": 0.0608,
}  # fmt: skip
_METERS_PER_KFT = 304.8
# Copper at 20 C, ohm mm2/m, and its rise per degree (common practice, no source); taken to the table's 75 C.
_COPPER_20_C = 0.0175
_RISE_PER_C = 0.00393
_HOT_C = 75.0


def copper_ohm(one_way_m: float, awg: Awg | None, section_mm2: float | None) -> float:
    """Return the resistance of a pair of copper conductors at 75 C.

    Parameters
    ----------
    one_way_m : float
        Length; current flows there and back [m].
    awg : str or None
        Size in American wire gauge.
    section_mm2 : float or None
        Cross-section, where there is no ``awg`` [mm2].

    Returns
    -------
    float
        [ohm]; up to a fifth less when cool.
    """
    both_ways_m = 2.0 * one_way_m
    if awg is not None:
        return _OHM_PER_KFT[awg] / _METERS_PER_KFT * both_ways_m
    return _COPPER_20_C * (1.0 + _RISE_PER_C * (_HOT_C - 20.0)) * both_ways_m / (section_mm2 or 1.0)


def cable_ohm(cable: Cable | None) -> float:
    """Return the resistance of a string's cable, both ways [ohm]; 0 where there is none."""
    return 0.0 if cable is None else copper_ohm(cable.one_way_m, cable.awg, cable.section_mm2)
