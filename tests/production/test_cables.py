"""Resistance of cables."""

import pytest

from solarsim.production.cables import cable_ohm, copper_ohm
from solarsim.scenario.roof.roof import Awg, Cable


@pytest.mark.published
def test_voltage_drop_of_100_ft_of_10_awg() -> None:
    """NEC chapter 9 table 8 (secondary copy): 100 ft one way, 10 AWG, 9 A at 400 V: 2.232 V, 0.558 %."""
    volts = 9 * cable_ohm(Cable(one_way_m=30.48, awg="10"))
    assert volts == pytest.approx(2.232, abs=5e-4)
    assert volts / 400 == pytest.approx(0.00558, abs=5e-6)


@pytest.mark.published
@pytest.mark.parametrize(
    ("awg", "ohm_per_kft"),
    [("14", 3.14), ("12", 1.98), ("10", 1.24), ("8", 0.778), ("6", 0.491), ("4", 0.308), ("3", 0.245), ("2", 0.194),
     ("1", 0.154), ("1/0", 0.122), ("2/0", 0.0967), ("3/0", 0.0766), ("4/0", 0.0608)],
)  # fmt: skip
def test_resistance_of_stranded_copper(awg: Awg, ohm_per_kft: float) -> None:
    """NEC chapter 9 table 8, stranded, 75 C (secondary copy): there and back over 500 ft is 1,000 ft."""
    assert copper_ohm(152.4, awg, None) == pytest.approx(ohm_per_kft)


@pytest.mark.trade
@pytest.mark.parametrize(("awg", "section_mm2"), [("14", 2.08), ("10", 5.26), ("6", 13.3), ("2", 33.6), ("4/0", 107.2)])
def test_section_and_gauge_agree(awg: str, section_mm2: float) -> None:
    """American gauges in mm2 (ASTM B258, from memory)."""
    by_gauge = cable_ohm(Cable.model_validate({"one_way_m": 20.0, "awg": awg}))
    assert by_gauge == pytest.approx(cable_ohm(Cable(one_way_m=20.0, section_mm2=section_mm2)), rel=0.03)


def test_no_cable_has_no_resistance() -> None:
    assert cable_ohm(None) == 0.0
