"""What every key is made of: what a number beyond its range probably is."""

import pytest

from solarsim.fields import likely_unit


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("value", "unit", "credible", "told"),
    [
        (6000.0, "kW", (0.2, 250.0), "; 6000 W is written 6"),
        (0.006, "kW", (0.2, 250.0), "; 0.006 MW is written 6"),
        (0.41, "W", (20.0, 2000.0), "; 0.41 kW is written 410"),
        (1010000.0, "kWh", (1.0, 60000.0), "; 1.01e+06 Wh is written 1010"),
        (60000.0, "MWh", (0.5, 10000.0), "; 60000 kWh is written 60"),
        (20.0, "1", (0.0, 1.0), "; 20% is written 0.2"),
        (-0.34, "1/C", (-0.006, -0.001), "; -0.34%/C is written -0.0034"),
        (2800.0, "Ah", (2.0, 1200.0), "; 280 if it is 10 times too large"),
        (28000.0, "Ah", (2.0, 1200.0), "; 280 if it is 100 times too large"),
        (280000.0, "Ah", (2.0, 1200.0), "; 280000 mAh is written 280"),
        (68.0, "C", (-10.0, 45.0), "; 68 F is written 20"),  # (68 - 32) x 5 / 9
        (18.0, "kWh/km", (0.08, 0.6), "; 18 kWh/100 km is written 0.18"),
        (5.4, "kWh/m2", (0.0, 3.0), "; 5.4 MJ/m2 is written 1.5"),  # 3.6 MJ are 1 kWh
        (31.0, "currency/kWh", (0.0, 2.0), "; 31 cents is written 0.31"),
        (336.0, "h", (0.05, 72.0), "; 336 min is written 5.6"),
        (1e12, "kW", (0.2, 250.0), ""),
        (200.0, "1", (1.0, 100.0), ""),  # a count has no percent
        (95.0, "deg", (0.0, 90.0), ""),
    ],
)
def test_a_number_is_explained_by_another_unit_or_by_nothing(
    value: float, unit: str, credible: tuple[float, float], told: str
) -> None:
    assert likely_unit(value, unit, *credible) == told
