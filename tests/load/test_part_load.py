"""The store that puts needs off."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solarsim.load._part_load import refill

KWH = st.integers(0, 8).map(lambda eighths: eighths / 8)
YEARS = st.lists(st.tuples(KWH, KWH), min_size=1, max_size=40)


@pytest.mark.by_hand
def test_what_is_taken_comes_back_when_it_may() -> None:
    # Taken 2 and 1 while nothing may come back; then at most 2 in each of two steps: 2, and the rest of 1.
    back = refill(np.array([2.0, 1.0, 0.0, 0.0]), np.array([0.0, 0.0, 2.0, 2.0]), np.full(4, 9.0))
    assert back.delivered_kwh.tolist() == [0.0, 0.0, 2.0, 1.0]
    assert back.unmet_kwh.tolist() == [0.0] * 4


@pytest.mark.by_hand
def test_year_begins_with_what_its_end_left() -> None:
    # The 3 taken in the last step come back in the first two of the same year.
    back = refill(np.array([0.0, 0.0, 3.0]), np.array([2.0, 2.0, 0.0]), np.full(3, 9.0))
    assert back.delivered_kwh.tolist() == [2.0, 1.0, 0.0]


@pytest.mark.by_hand
def test_store_that_can_miss_no_more_gives_up() -> None:
    # 5 taken with room for 4: 1 is given up, and the 4 come back in the two steps of 2.
    back = refill(np.array([5.0, 0.0, 0.0]), np.array([0.0, 2.0, 2.0]), np.full(3, 4.0))
    assert back.unmet_kwh.tolist() == [1.0, 0.0, 0.0]
    assert back.delivered_kwh.tolist() == [0.0, 2.0, 2.0]


@given(YEARS, st.integers(1, 24).map(lambda eighths: eighths / 8))
def test_balance_closes_and_nothing_is_put_off_that_could_come_back(
    year: list[tuple[float, float]], room: float
) -> None:
    """Numbers are whole eighths, so that every sum is exact."""
    taken, most = np.array(year).T
    back = refill(taken, most, np.full(taken.size, room))
    assert taken.sum() == back.delivered_kwh.sum() + back.unmet_kwh.sum()
    assert (back.delivered_kwh <= most).all()
    missing = np.cumsum(taken - back.delivered_kwh - back.unmet_kwh)
    start = -min(0.0, float(missing.min())) if taken.sum() <= most.sum() else room - float(missing.max())
    missing += start
    assert missing.min() >= 0.0
    assert missing.max() <= room
    assert (back.delivered_kwh[missing > 0] == most[missing > 0]).all()
    assert (missing[back.unmet_kwh > 0] == room).all()


@given(YEARS)
def test_more_room_never_gives_up_more(year: list[tuple[float, float]]) -> None:
    taken, most = np.array(year).T
    given_up = [refill(taken, most, np.full(taken.size, room)).unmet_kwh.sum() for room in (0.5, 1.0, 2.0)]
    assert given_up == sorted(given_up, reverse=True)
