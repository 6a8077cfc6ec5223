"""Cost, savings and what is comparable. All numbers by hand."""

from dataclasses import dataclass

import numpy as np
import pytest

from solarsim.ledger.money import (
    annual_savings,
    lowest,
    not_comparable,
    total_cost,
    value_notes,
    yearly_savings,
)

pytestmark = pytest.mark.by_hand


@dataclass(frozen=True)
class Year:
    """A year's cost [currency] and unserved energy, of a demand of 10,000 kWh: 10 kWh are the tolerance."""

    energy_cost: float
    unserved_kwh: float = 0.0
    outage_cost: float | None = None
    demand_kwh: float = 10_000.0


def test_savings_end_at_a_thousandth_of_the_demand_beyond_the_baseline() -> None:
    baseline = Year(1000.0, unserved_kwh=5.0)
    assert annual_savings(Year(400.0, unserved_kwh=15.0), baseline) == 600.0
    assert annual_savings(Year(400.0, unserved_kwh=15.1), baseline) is None
    assert annual_savings(Year(400.0, unserved_kwh=99.0, outage_cost=0.0), baseline) == 600.0
    assert not_comparable(Year(400.0, unserved_kwh=1911.4)) == "not comparable: 1,911 kWh unserved"


def test_savings_of_several_years_are_comparable_together() -> None:
    """Two years may leave 2 x (5 + 10) kWh unserved, however they share them; one without a value spoils it."""
    baselines = [Year(1000.0, 5.0), Year(1100.0, 5.0)]
    assert yearly_savings([Year(400.0, 30.0), Year(500.0, 0.0)], baselines) == [600.0, 600.0]
    assert yearly_savings([Year(400.0, 30.1), Year(500.0, 0.0)], baselines) is None
    assert yearly_savings([Year(400.0, 99.0, 1.0), Year(500.0, 0.0, 0.0)], baselines) == [600.0, 600.0]
    assert yearly_savings([Year(400.0, 99.0, 1.0), Year(500.0, 0.0)], baselines) is None


def test_the_lowest_cost_is_of_those_that_serve_as_much_as_any() -> None:
    dark, served, dearer = Year(100.0, 20.1), Year(300.0, 10.0), Year(300.9, 10.0)
    least = Year(500.0, 0.0)
    assert lowest([dark, served, least, dearer]) == (served,)
    assert lowest([dark, least, dearer, served], within=1.0) == (dearer, served)


def test_with_a_value_of_lost_load_the_outages_count() -> None:
    dark, served = Year(100.0, 500.0, outage_cost=250.0), Year(340.0, 0.0, outage_cost=0.0)
    assert [total_cost(each) for each in (dark, served, Year(7.0))] == [350.0, 340.0, 7.0]
    assert lowest([dark, served]) == (served,)


def test_a_value_of_lost_load_below_the_import_price_is_a_note() -> None:
    """At 0.15 an unserved kWh counts less than an imported one in two of four hours; at 0.3 in none."""
    prices = np.array([0.1, 0.2, 0.3, 0.15])
    (note,) = value_notes(0.15, prices, "USD")
    assert "value_of_lost_load 0.15 USD/kWh is below the import price in 50% of the year (up to 0.3)" in note
    assert value_notes(0.3, prices, "USD") == value_notes(None, prices, "USD") == []
