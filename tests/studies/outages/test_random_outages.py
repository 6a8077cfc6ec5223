"""Drawn outages: what is drawn follows the utility's indices, and what is unserved is what they say. By hand."""

from pathlib import Path

import numpy as np
import pytest

from solarsim.scenario.backup.backup import Frequency
from solarsim.studies.outages._island import island_of
from solarsim.studies.outages._random_outages import LONGEST_H, Drawn, draw_outages, unserved_in
from tests.builders import timeline
from tests.homes_without_grid import EVEN_MONTHS, HYBRID, steady, storm_home

WHERE = timeline()


def frequency(per_year: float, mean_h: float, months: list[float] = EVEN_MONTHS) -> Frequency:
    return Frequency(per_year=per_year, mean_h=mean_h, months=tuple(months))


@pytest.mark.published
def test_drawn_years_have_the_indices_that_they_were_drawn_from() -> None:
    """SAIDI = SAIFI x CAIDI (IEEE 1366); the United States of 2017: 1.4 interruptions, 336 of 470 minutes (EIA).

    20,000 years: the mean of a Poisson number of geometric lengths lies within four standard errors.
    """
    years = 20_000
    drawn = draw_outages(frequency(1.4, 336 / 60), WHERE, years, seed=7)
    assert drawn.start.size / years == pytest.approx(1.4, abs=4 * np.sqrt(1.4 / years))
    # Of a geometric number of mean m the second moment is 2 m m - m.
    error_h = np.sqrt(1.4 * (2 * 5.6**2 - 5.6) / years)
    assert drawn.steps.sum() / years == pytest.approx(470 / 60, abs=4 * error_h)
    assert np.bincount(drawn.year, minlength=years).var() == pytest.approx(1.4, rel=0.05)


def test_the_same_seed_draws_the_same_years() -> None:
    one, same, other = (draw_outages(frequency(1.4, 5.6), WHERE, 50, seed) for seed in (1, 1, 2))
    assert (one.start == same.start).all()
    assert (one.steps == same.steps).all()
    assert one.start.size != other.start.size or (one.start != other.start).any()


@pytest.mark.by_hand
def test_months_have_their_weights_and_go_by_the_wall_clock() -> None:
    drawn = draw_outages(frequency(5.0, 2.0, [0.0] * 6 + [1.0, 3.0] + [0.0] * 4), WHERE, 2000, seed=3)
    month = WHERE.month[drawn.start]
    assert set(month.tolist()) == {7, 8}
    assert (month == 8).mean() == pytest.approx(0.75, abs=4 * np.sqrt(0.75 * 0.25 / month.size))
    hour = WHERE.minute_of_day[drawn.start] // 60
    assert np.bincount(hour, minlength=24) / hour.size == pytest.approx(np.full(24, 1 / 24), abs=0.01)


def test_short_outages_last_a_step_and_very_long_ones_are_cut_and_counted() -> None:
    assert (draw_outages(frequency(5.0, 0.2), WHERE, 20, seed=1).steps == 1).all()
    long = draw_outages(frequency(10.0, 400.0), WHERE, 20, seed=1)
    assert long.steps.max() == LONGEST_H
    assert long.shortened == (long.steps == LONGEST_H).sum() > 0


def drawn_of(year: list[int], start: list[int], steps: list[int], years: int) -> Drawn:
    arrays = [np.array(each, np.int64) for each in (year, start, steps)]
    return Drawn(years, 1, arrays[0], arrays[1], arrays[2], 0)


@pytest.mark.by_hand
def test_what_is_unserved_is_the_load_beyond_what_is_stored(tmp_path: Path) -> None:
    """16.2 h last: of 10 h nothing is unserved, of 20 h 3.8 h x 0.5 kW, of 30 h 13.8 h x 0.5 kW; in four years."""
    island = island_of(steady(tmp_path), "kept full")
    unserved = unserved_in(island, drawn_of([0, 1, 1, 3], [10, 8750, 500, 0], [10, 20, 30, 16], 4))
    assert unserved.mean_kwh == pytest.approx((1.9 + 6.9) / 4)
    assert unserved.median_kwh == 0.0
    assert unserved.p90_kwh == pytest.approx(0.7 * 8.8)  # between the third and the fourth of four years
    assert unserved.years_fully_served == 0.75
    assert unserved.unserved_h == (4 + 14) / 4  # whole steps
    assert unserved.not_backed_up_kwh == 0.0


@pytest.mark.by_hand
def test_critical_load_is_shed_last_and_what_is_not_behind_the_panel_is_told_apart(tmp_path: Path) -> None:
    (tmp_path / "load.csv").write_text("load_kw\n" + "0.5\n" * 8760, encoding="utf-8")
    load = {"file": str(tmp_path / "load.csv"), "critical_share": 0.4}
    drawn = drawn_of([0], [100], [20], 1)
    whole = unserved_in(island_of(steady(tmp_path, load=load), "kept full"), drawn)
    # The battery is empty after 16.2 h: 0.8 of that step is still missing 0.4 kW on the mean, 0.3 kW of it shed first.
    assert whole.mean_kwh == pytest.approx(1.9)
    assert whole.critical_kwh == pytest.approx(0.4 - 0.3 + 3 * 0.2)
    assert (whole.unserved_h, whole.critical_unserved_h) == (4.0, 4.0)
    # An inverter of 0.3 kW sheds 0.2 of 0.5 kW from the start, none of it critical.
    weak = unserved_in(island_of(steady(tmp_path, load=load, inverter__ac_kw=0.3), "kept full"), drawn)
    assert weak.mean_kwh == pytest.approx(20 * 0.2)
    assert (weak.critical_kwh, weak.unserved_h, weak.critical_unserved_h) == (0.0, 20.0, 0.0)
    panel = {**HYBRID, "backed_up": "critical"}
    behind = unserved_in(island_of(steady(tmp_path, load=load, arrangement=panel), "kept full"), drawn)
    assert behind.not_backed_up_kwh == pytest.approx(20 * 0.3)
    assert behind.mean_kwh == 0.0  # 0.2 kW last 40.5 h


def test_years_without_any_outage_miss_nothing() -> None:
    unserved = unserved_in(island_of(storm_home(), "serve the home first"), drawn_of([], [], [], 5))
    assert (unserved.mean_kwh, unserved.p90_kwh, unserved.years_fully_served) == (0.0, 0.0, 1.0)
