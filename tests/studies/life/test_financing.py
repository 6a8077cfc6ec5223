"""How a system is paid over its life: contract, loan, and payments beside savings; solar without the battery."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from solarsim.home import Home
from solarsim.run import simulate
from solarsim.studies.compare.compare import compare
from solarsim.studies.life.life import Life, life
from tests.homes_without_grid import storm_home
from tests.studies.lives import STILL, other_life

STRATEGY = "serve the home first"
LEASE: dict[str, Any] = {"years": 4, "monthly_payment": 95.0, "escalator_per_year": 0.03, "maintained": True}
POWER: dict[str, Any] = {"years": 4, "price_per_kwh": 0.11, "escalator_per_year": 0.02, "maintained": True}


def paid(home: Home, **costs: Any) -> Life:
    """Return four still years of the demo, paid in another way; no incentives, no O&M."""
    keys = {f"costs.{key}": value for key, value in ({"incentives": [], "o_and_m_per_year": 0.0} | costs).items()}
    scenario = home.scenario.changed({"life": STILL, **keys})
    return life(scenario, STRATEGY, replace(home, scenario=scenario))


@pytest.mark.by_hand
def test_lease_takes_its_payments_from_the_savings(demo_home: Home) -> None:
    found = paid(demo_home, lease=LEASE)
    (only,) = found.strategies
    assert only.savings is not None
    assert only.cash == pytest.approx(only.savings - [0, *(1140 * 1.03**year for year in range(4))])
    assert (only.simple_payback_years, only.discounted_payback_years) == (None, None)  # nothing is purchased
    assert found.solar_only is None
    assert any("solar without a battery has no known price" in note for note in found.notes)
    months = only.months
    assert [each.payment for each in months] == [95.0] * 12
    assert sum(each.savings for each in months) == pytest.approx(only.savings[1])
    assert months[0].left == months[0].savings - 95.0


@pytest.mark.by_hand
def test_power_purchase_charges_each_solar_kwh(demo_home: Home) -> None:
    found = paid(demo_home, power_purchase=POWER)
    (only,) = found.strategies
    kwh = simulate(demo_home.scenario, STRATEGY, demo_home).ledger.solar_kwh
    assert only.energy_payments == pytest.approx([0, *(-0.11 * 1.02**year * kwh for year in range(4))], rel=1e-6)
    assert only.savings is not None
    assert only.cash == pytest.approx(only.savings + only.energy_payments)
    assert sum(each.payment for each in only.months) == pytest.approx(0.11 * kwh)
    # All that is paid is paid for that energy.
    assert paid(demo_home, power_purchase=POWER | {"escalator_per_year": 0.0}).strategies[0].lcoe == pytest.approx(0.11)


def test_home_is_without_a_system_after_a_lease_that_removes_it(demo_home: Home) -> None:
    found = paid(demo_home, lease=LEASE | {"years": 2, "at_end": "removed"})
    (only,) = found.strategies
    assert only.savings is not None
    assert (only.savings[1:3] > 0.0).all()
    assert only.savings[3:].tolist() == [0.0, 0.0]
    assert only.years[4].solar_kwh == 0.0


def test_payment_of_a_loan_is_beside_the_savings(demo_home: Home) -> None:
    (only,) = paid(demo_home, loan={"share": 0.5, "rate": 0.0, "years": 4}).strategies
    assert [each.payment for each in only.months] == pytest.approx([13167.0 / 2 / 48] * 12)
    assert paid(demo_home).strategies[0].months == ()


@pytest.mark.by_hand
def test_battery_is_worth_the_difference_of_two_lives(demo_home: Home) -> None:
    """Year by year: what the battery saves more than solar alone, and what it costs more."""
    found = paid(demo_home)
    (only,) = found.strategies
    alone = found.solar_only
    assert alone is not None
    bare = simulate(demo_home.scenario, STRATEGY, demo_home)
    assert alone.payments.purchase[0] == -(13167 - 32 * 112 - 2 * 310)
    assert not alone.payments.storage.any()
    assert alone.lcos is None
    assert only.savings is not None
    assert alone.savings is not None
    more = np.array([-(32 * 112 + 2 * 310), *(only.savings - alone.savings)[1:]])
    assert only.battery_npv == pytest.approx(float(more @ (1.05 ** -np.arange(5.0))))
    assert alone.ledgers[0].annual_bill > bare.annual_bill


def test_cost_of_solar_alone_is_not_known_where_no_part_is_the_battery_s(demo_home: Home) -> None:
    found = paid(demo_home, parts=[{"name": "all", "quantity": 1.0, "unit_price": 9000.0}])
    assert found.solar_only is None
    assert found.strategies[0].battery_npv is None
    assert any("No part is marked as the battery's" in note for note in found.notes)
    loan = {"amount": 12_000.0, "rate": 0.05, "years": 4}
    assert any("Loan or incentives are more than solar" in note for note in paid(demo_home, loan=loan).notes)


def test_solar_alone_has_the_baseline_of_its_home_also_with_outages() -> None:
    """The storm coast's grid fails for 99 hours: with the battery, without it and without any system."""
    coast, home = other_life(storm_home(), years=1)
    found, compared = life(coast, home=home), compare(coast, home)
    alone = found.solar_only
    assert alone is not None
    assert compared.solar_only is not None
    assert alone.ledgers[0].annual_bill == compared.solar_only.annual_bill
    assert alone.ledgers[0].unserved_kwh == pytest.approx(compared.solar_only.ledger.unserved_kwh)
    for each in (alone, *found.strategies):
        assert each.baselines[0].annual_bill == compared.baseline.annual_bill
        assert each.baselines[0].unserved_kwh == compared.baseline.ledger.unserved_kwh
    assert compared.solar_only.baseline.annual_bill == compared.baseline.annual_bill
