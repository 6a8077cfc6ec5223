"""The tables of the National Electrical Code (NFPA 70) that the checks read, in one place.

Numbers as printed in the editions of 2020 and 2023, read in secondary copies; those marked "from memory" were not seen
in print. The editions of 2017 and 2026 are taken to hold the same numbers. Local code decides, and may amend them.
"""

from typing import get_args

from solarsim.scenario.roof.roof import Awg

#: Conductor sizes, thinnest first.
SIZES: tuple[Awg, ...] = get_args(Awg)

#: Table 690.7(A): factor of the open-circuit voltage of crystalline modules, from the temperature down.
COLD_FACTORS: tuple[tuple[float, float], ...] = (
    (20.0, 1.02), (15.0, 1.04), (10.0, 1.06), (5.0, 1.08), (0.0, 1.10), (-5.0, 1.12), (-10.0, 1.14),
    (-15.0, 1.16), (-20.0, 1.18), (-25.0, 1.20), (-30.0, 1.21), (-35.0, 1.23), (-40.0, 1.25),
)  # fmt: skip

#: Table 310.16: ampacity of copper in raceway or cable at 30 C, for insulation of 60, 75 and 90 C [A].
AMPACITY: dict[Awg, tuple[float, float, float]] = {
    "14": (15, 20, 25), "12": (20, 25, 30), "10": (30, 35, 40), "8": (40, 50, 55), "6": (55, 65, 75),
    "4": (70, 85, 95), "3": (85, 100, 115), "2": (95, 115, 130), "1": (110, 130, 145), "1/0": (125, 150, 170),
    "2/0": (145, 175, 195), "3/0": (165, 200, 225), "4/0": (195, 230, 260),
}  # fmt: skip

#: Insulation temperatures of the columns of ``AMPACITY`` [C].
INSULATION_C = (60, 75, 90)

#: Table 310.15(B)(1): factor of ampacity up to an ambient temperature, by column; 0 where none is allowed.
AMBIENT_FACTORS: tuple[tuple[float, tuple[float, float, float]], ...] = (
    (30.0, (1.00, 1.00, 1.00)), (35.0, (0.91, 0.94, 0.96)), (40.0, (0.82, 0.88, 0.91)), (45.0, (0.71, 0.82, 0.87)),
    (50.0, (0.58, 0.75, 0.82)), (55.0, (0.41, 0.67, 0.76)), (60.0, (0.0, 0.58, 0.71)), (65.0, (0.0, 0.47, 0.65)),
    (70.0, (0.0, 0.33, 0.58)),
)  # fmt: skip

#: 310.15(B)(2): added to the ambient of a raceway closer than 23 mm to a roof in the sun [C] (from memory).
ON_ROOF_C = 33.0

#: Table 310.15(C)(1): factor of ampacity by current-carrying conductors in one raceway, up to (from memory).
FILL_FACTORS: tuple[tuple[int, float], ...] = ((3, 1.0), (6, 0.8), (9, 0.7), (20, 0.5), (30, 0.45), (40, 0.4))

#: 240.4(D): highest overcurrent protection of small copper conductors [A].
SMALL_CONDUCTORS: dict[Awg, float] = {"14": 15.0, "12": 20.0, "10": 30.0}

#: Chapter 9, Table 8: area [circular mils] (6 and 4 AWG as printed, the others from memory).
CIRCULAR_MILS: dict[Awg, float] = {
    "14": 4110, "12": 6530, "10": 10380, "8": 16510, "6": 26240, "4": 41740, "3": 52620, "2": 66360, "1": 83690,
    "1/0": 105600, "2/0": 133100, "3/0": 167800, "4/0": 211600,
}  # fmt: skip

#: Table 250.122: copper equipment grounding conductor by rating of the overcurrent device, up to [A].
EQUIPMENT_GROUND: tuple[tuple[float, Awg], ...] = (
    (15.0, "14"), (20.0, "12"), (60.0, "10"), (100.0, "8"), (200.0, "6"), (300.0, "4"), (400.0, "3"), (500.0, "2"),
    (600.0, "1"), (800.0, "1/0"), (1000.0, "2/0"), (1200.0, "3/0"),
)  # fmt: skip

#: 240.6(A): standard ratings of fuses and circuit breakers [A].
STANDARD_A: tuple[float, ...] = (
    15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500,
    600,
)  # fmt: skip
