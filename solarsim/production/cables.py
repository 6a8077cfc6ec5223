"""Resistance of a string's cable: length and size in, ohm out."""

from solarsim.scenario.roof.roof import Cable

# NEC (NFPA 70) chapter 9 table 8, stranded uncoated copper at 75 C, ohm per 1000 ft (secondary copy).
OHM_PER_KFT = {
    "14": 3.14, "12": 1.98, "10": 1.24, "8": 0.778, "6": 0.491, "4": 0.308, "3": 0.245, "2": 0.194, "1": 0.154,
    "1/0": 0.122, "2/0": 0.0967, "3/0": 0.0766, "4/0": 0.0608,
}  # fmt: skip
METRES_PER_KFT = 304.8
# Copper at 20 C, ohm mm2/m, and its rise per degree (common practice, no source); taken to the table's 75 C.
COPPER_20_C = 0.0175
RISE_PER_C = 0.00393
HOT_C = 75.0


def cable_ohm(cable: Cable | None) -> float:
    """Compute the resistance of a string's cable, there and back.

    Parameters
    ----------
    cable : Cable or None
        Length and size.

    Returns
    -------
    float
        Of hot copper, 75 C, as sizing tables have it [ohm]; a cool cable has up to a fifth less. 0 without a cable.
    """
    if cable is None:
        return 0.0
    both_ways_m = 2.0 * cable.one_way_m
    if cable.awg is not None:
        return OHM_PER_KFT[cable.awg] / METRES_PER_KFT * both_ways_m
    return COPPER_20_C * (1.0 + RISE_PER_C * (HOT_C - 20.0)) * both_ways_m / (cable.section_mm2 or 1.0)
