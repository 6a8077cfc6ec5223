"""How much of modules and cells is left, where some were added later or replaced."""

import pytest

from solarsim.studies.life.ages import renewal_years, shares_left


@pytest.mark.by_hand
def test_new_cells_stand_beside_older_ones_until_all_are_replaced() -> None:
    """10 kWh; 10 more after 2 years; each loses 0.1 a year; all replaced after 4."""
    shares = shares_left(((0, 10.0), (2, 20.0)), 4, tuple(1.0 - 0.1 * age for age in range(6)))
    assert shares == pytest.approx([1.0, 0.9, (0.8 + 1.0) / 2, (0.7 + 0.9) / 2, 1.0, 0.9])
    fewer = shares_left(((0, 10.0), (1, 5.0)), None, (1.0, 0.9, 0.8))
    assert fewer == pytest.approx([1.0, 0.9, 0.8])
    assert shares_left(((0, 0.0), (1, 5.0)), None, (1.0, 0.9, 0.8)) == pytest.approx([1.0, 1.0, 0.9])


@pytest.mark.by_hand
def test_a_life_is_counted_from_the_first_that_is_there() -> None:
    """Twelve years, a life of 4: from the start; from year 1 on; anew after there was none in year 5."""
    assert renewal_years(((0, 10.0),), 4, 12) == (4, 8)
    assert renewal_years(((0, 0.0), (1, 5.0)), 4, 12) == (5, 9)
    assert renewal_years(((0, 10.0), (5, 0.0), (6, 5.0), (7, 10.0)), 4, 12) == (4, 10)
    assert renewal_years(((0, 10.0),), None, 12) == renewal_years(((0, 0.0),), 4, 12) == ()
