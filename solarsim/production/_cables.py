"""Resistance of a string's cable: length and size in, ohm out."""

from solarsim.scenario.roof.roof import Cable

# NEC (NFPA 70) chapter 9 table 8, stranded uncoated copper at 75 C, ohm per 1000 ft (secondary copy).
_OHM_PER_KFT = {
    "14": 3.14, "12": 1.98, "10": 1.24, "8": 0.778, "6": 0.491, "4": 0.308, "3": 0.245, "2": 0.194, "1": 0.154,
    "1/0": 0.122, "2/0": 0.0967, "3/0": 0.0766, "4/0": 0.0608,
}  # fmt: skip
_METERS_PER_KFT = 304.8
# Copper at 20 C, ohm mm2/m, and its rise per degree (common practice, no source); taken to the table's 75 C.
_COPPER_20_C = 0.0175
_RISE_PER_C = 0.00393
_HOT_C = 75.0


def cable_ohm(cable: Cable | None) -> float:
    """Return the resistance of a string's cable, both ways, of copper at 75 C [ohm]; up to a fifth less when cool."""
    if cable is None:
        return 0.0
    both_ways_m = 2.0 * cable.one_way_m
    if cable.awg is not None:
        return _OHM_PER_KFT[cable.awg] / _METERS_PER_KFT * both_ways_m
    return _COPPER_20_C * (1.0 + _RISE_PER_C * (_HOT_C - 20.0)) * both_ways_m / (cable.section_mm2 or 1.0)
