"""Ampacities, voltage drop and grounding conductors against printed tables, and what must hold for any of them."""

import pytest
from hypothesis import given
from hypothesis import strategies as draw

from solarsim.electrical.conductors import (
    Run,
    adjusted_ampacity_a,
    ampacity_a,
    carries,
    equipment_ground,
    greatest_protection_a,
    smallest_that_carries,
)
from solarsim.electrical.nec_tables import AMBIENT_FACTORS, SIZES
from solarsim.production.cables import copper_ohm
from solarsim.scenario.roof.roof import Awg

AT_EASE = Run(insulation_c=90, terminals_c=75, ambient_c=30.0, on_roof=False, in_raceway=2)


@pytest.mark.published
@pytest.mark.parametrize(
    ("awg", "printed"),
    list(zip(
        SIZES,
        (
            (15, 20, 25), (20, 25, 30), (30, 35, 40), (40, 50, 55), (55, 65, 75), (70, 85, 95), (85, 100, 115),
            (95, 115, 130), (110, 130, 145), (125, 150, 170), (145, 175, 195), (165, 200, 225), (195, 230, 260),
        ),
        strict=True,
    )),
)  # fmt: skip
def test_ampacities(awg: Awg, printed: tuple[int, int, int]) -> None:
    """NEC Table 310.16, copper (secondary copy)."""
    assert tuple(ampacity_a(awg, column) for column in (60, 75, 90)) == printed


@pytest.mark.published
def test_ambient_factors() -> None:
    """NEC Table 310.15(B)(1), 31-35 to 66-70 C (secondary copy)."""
    printed = [
        (0.91, 0.94, 0.96), (0.82, 0.88, 0.91), (0.71, 0.82, 0.87), (0.58, 0.75, 0.82), (0.41, 0.67, 0.76),
        (0, 0.58, 0.71), (0, 0.47, 0.65), (0, 0.33, 0.58),
    ]  # fmt: skip
    assert [factors for up_to_c, factors in AMBIENT_FACTORS if up_to_c > 30.0] == printed


@pytest.mark.by_hand
def test_adjusted_ampacity() -> None:
    """10 AWG, 90 C, 34 C of air, four conductors: 40 x 0.96 x 0.8 = 30.72 A; on the roof 67 C: 40 x 0.58 x 0.8."""
    run = AT_EASE._replace(ambient_c=34.0, in_raceway=4)
    assert adjusted_ampacity_a("10", run) == pytest.approx(30.72)
    assert adjusted_ampacity_a("10", run._replace(on_roof=True)) == pytest.approx(18.56)
    assert adjusted_ampacity_a("10", run._replace(ambient_c=71.0)) == 0.0


@pytest.mark.published
def test_voltage_drop() -> None:
    """NEC chapter 9 Table 8: 100 ft one way, 10 AWG, 9 A at 400 V: 2.232 V = 0.558 %."""
    drop_v = 9.0 * copper_ohm(30.48, "10", None)
    assert drop_v == pytest.approx(2.232, abs=5e-4)
    assert drop_v / 400.0 == pytest.approx(0.00558, abs=5e-6)


@pytest.mark.published
@pytest.mark.parametrize(("awg", "most_a"), [("14", 15), ("12", 20), ("10", 30)])
def test_protection_of_small_conductors(awg: Awg, most_a: float) -> None:
    """NEC 240.4(D) (from memory): at most 15, 20, 30 A whatever the insulation."""
    assert greatest_protection_a(awg, AT_EASE) == most_a


@pytest.mark.published
@pytest.mark.parametrize(
    ("protection_a", "awg"),
    [(15, "14"), (20, "12"), (60, "10"), (100, "8"), (200, "6"), (300, "4"), (400, "3"), (500, "2"), (600, "1"),
     (800, "1/0"), (1000, "2/0"), (1200, "3/0")],
)  # fmt: skip
def test_equipment_grounding_conductors(protection_a: float, awg: Awg) -> None:
    """NEC Table 250.122, copper (secondary copy)."""
    assert equipment_ground(protection_a) == awg
    assert equipment_ground(1200.1) is None


@pytest.mark.published
def test_grounding_conductor_grows_with_its_circuit() -> None:
    """NEC 250.122(B): 60 A, conductors enlarged from 6 to 4 AWG for voltage drop: 10 AWG grows to 8."""
    assert equipment_ground(60.0, "6", "4") == "8"
    assert equipment_ground(60.0, "6", "6") == "10"


@given(draw.sampled_from(SIZES), draw.floats(1, 300), draw.floats(1, 50))
def test_longer_or_thinner_never_loses_less(awg: Awg, one_way_m: float, more_m: float) -> None:
    assert copper_ohm(one_way_m + more_m, awg, None) > copper_ohm(one_way_m, awg, None)
    for thinner in SIZES[: SIZES.index(awg)]:
        assert copper_ohm(one_way_m, thinner, None) > copper_ohm(one_way_m, awg, None)


@given(draw.floats(1, 120), draw.floats(-10, 60), draw.booleans(), draw.integers(1, 12))
def test_the_size_that_would_do_carries_and_the_next_thinner_does_not(
    current_a: float, ambient_c: float, on_roof: bool, in_raceway: int
) -> None:
    run = AT_EASE._replace(ambient_c=ambient_c, on_roof=on_roof, in_raceway=in_raceway)
    size = smallest_that_carries(run, current_a, None)
    if size is None:
        assert not carries("4/0", run, current_a, None)
        return
    assert carries(size, run, current_a, None)
    place = SIZES.index(size)
    assert place == 0 or not carries(SIZES[place - 1], run, current_a, None)
