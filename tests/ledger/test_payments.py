"""Purchase, loan, O&M, replacements and what is left, year by year."""

import copy
from typing import Any

import numpy as np
import numpy_financial
import pytest

from solarsim.ledger.cash_flow import present_value
from solarsim.ledger.payments import Later, Payments, payments_from
from solarsim.ledger.purchase import purchase_from
from tests.builders import scenario

PARTS: list[dict[str, Any]] = [
    {"name": "panels", "quantity": 10.0, "unit_price": 200.0},
    {"name": "inverter", "quantity": 1.0, "unit_price": 1000.0, "life_years": 4, "replacement_price": 800.0},
    {
        "name": "cells",
        "quantity": 4.0,
        "unit_price": 250.0,
        "life_years": 3,
        "replacement_price": 100.0,
        "of": "cells",
    },
]
LIFE = {
    "years": 6,
    "money": "nominal",
    "discount_rate": 0.05,
    "panel_degradation_per_year": 0.0,
    "battery_fade_per_year": 0.0,
}


def payments(**changes: Any) -> Payments:
    found = scenario(**copy.deepcopy({"costs": {"parts": PARTS}, "life": LIFE}) | changes)
    assert found.costs is not None
    assert found.life is not None
    return payments_from(purchase_from(found), found.costs, found.life)


@pytest.mark.by_hand
def test_parts_are_bought_and_replaced_before_the_end() -> None:
    paid = payments(costs__installation=500.0)
    # 10 x 200 + 1000 + 4 x 250 + 500; the inverter again after 4 years, the cells after 3, but not after 6.
    assert paid.purchase.tolist() == [-4500, 0, 0, 0, 0, 0, 0]
    assert paid.replacements.tolist() == [0, 0, 0, -400, -800, 0, 0]
    assert paid.storage.tolist() == [-1000, 0, 0, -400, 0, 0, 0]
    assert paid.salvage.tolist() == [0.0] * 7


@pytest.mark.by_hand
def test_replacements_and_o_and_m_grow() -> None:
    growth = {"life__replacement_growth_per_year": 0.10, "life__o_and_m_growth_per_year": 0.10}
    paid = payments(**growth, costs__o_and_m_per_year=100.0)
    # O&M begins at today's price; a replacement is bought so many years after today.
    assert paid.o_and_m[:4] == pytest.approx([0.0, -100.0, -110.0, -121.0])
    assert paid.replacements[3:5] == pytest.approx([-400.0 * 1.1**3, -800.0 * 1.1**4])


@pytest.mark.by_hand
def test_what_is_left_is_the_rest_of_a_life() -> None:
    paid = payments(life__salvage="linear", life__years=5)
    # Inverter of year 4: one of 4 years used, 800 x 3/4. Cells of year 3: two of 3 used, 400 x 1/3. Panels: no life.
    assert paid.salvage.tolist() == pytest.approx([0, 0, 0, 0, 0, 600.0 + 400.0 / 3])
    assert paid.storage[-1] == pytest.approx(400.0 / 3)
    never_replaced = payments(life__salvage="linear", life__years=2)
    assert never_replaced.salvage[-1] == pytest.approx(1000.0 * 2 / 4 + 1000.0 / 3)


@pytest.mark.by_hand
def test_incentives_are_shares_with_a_cap_or_amounts() -> None:
    given = [
        {"name": "a", "share": 0.10, "year": 0},
        {"name": "b", "share": 0.30, "cap": 500.0, "year": 1},
        {"name": "c", "amount": 120.0, "year": 1},
    ]
    assert payments(costs__incentives=given).incentives[:3].tolist() == [400.0, 620.0, 0.0]


@pytest.mark.by_hand
def test_loan_comes_at_once_and_goes_monthly() -> None:
    paid = payments(costs__loan={"share": 0.5, "rate": 0.0, "years": 4})
    assert paid.loan[0] == 2000.0
    assert paid.loan_payments.tolist() == [0, -500, -500, -500, -500, 0, 0]
    dear = payments(costs__loan={"amount": 2000.0, "rate": 0.075, "years": 4})
    assert dear.loan_payments.sum() < -2000.0
    # Worth nothing at its own rate, month by month.
    monthly = -dear.loan_payments[1] / 12
    assert sum(monthly / (1 + 0.075 / 12) ** month for month in range(1, 49)) == pytest.approx(2000.0)


def test_total_is_the_sum_of_all_but_the_battery_s_share() -> None:
    paid = payments(costs__loan={"amount": 1000.0, "rate": 0.05, "years": 3}, costs__o_and_m_per_year=50.0)
    names = ("purchase", "incentives", "loan", "o_and_m", "replacements", "loan_payments", "salvage")
    np.testing.assert_allclose(paid.total, sum(getattr(paid, name) for name in names))
    np.testing.assert_allclose(paid.total - paid.without_loan, paid.loan + paid.loan_payments)


LEASE: dict[str, Any] = {"years": 6, "monthly_payment": 100.0, "escalator_per_year": 0.0, "maintained": False}
POWER: dict[str, Any] = {"years": 6, "price_per_kwh": 0.10, "escalator_per_year": 0.02, "maintained": True}


@pytest.mark.second_opinion
@pytest.mark.parametrize(("rate", "fee"), [(0.0, 0.0), (0.06, 0.0), (0.0399, 0.25)])
def test_loan_is_paid_as_numpy_financial_says_and_the_fee_is_owed_too(rate: float, fee: float) -> None:
    paid = payments(costs__loan={"amount": 2400.0, "rate": rate, "years": 4, "dealer_fee": fee})
    monthly = numpy_financial.pmt(rate / 12, 48, 2400.0 / (1.0 - fee))
    assert paid.loan_payments[1:5] == pytest.approx([12 * monthly] * 4)
    assert paid.loan.tolist() == [2400.0, *[0.0] * 6]


@pytest.mark.by_hand
def test_lease_is_paid_monthly_and_grows_once_a_year() -> None:
    given = LEASE | {"years": 3, "escalator_per_year": 0.10, "upfront_payment": 500.0, "at_end": "renewed"}
    paid = payments(costs__lease=given)
    assert paid.contract == pytest.approx([-500, *(-1200 * 1.1**year for year in range(6))])
    assert paid.purchase.tolist() == [0.0] * 7
    # Not maintained by its owner: the inverter after 4 years, the cells after 3.
    assert paid.replacements.tolist() == [0, 0, 0, -400, -800, 0, 0]
    assert not paid.storage.any()
    transferred = payments(costs__lease=given | {"at_end": "transferred", "escalator_per_year": 0.0})
    assert transferred.contract.tolist() == [-500, -1200, -1200, -1200, 0, 0, 0]


@pytest.mark.by_hand
def test_buyout_ends_the_payments_and_the_upkeep_by_its_owner() -> None:
    given = LEASE | {"maintained": True, "buyout": {"year": 3, "price": 900.0}}
    paid = payments(costs__lease=given, costs__o_and_m_per_year=50.0, life__salvage="linear")
    assert paid.contract.tolist() == [0, -1200, -1200, -1200 - 900, 0, 0, 0]
    assert paid.o_and_m.tolist() == [0, 0, 0, 0, -50, -50, -50]
    # The cells of year 3 are their owner's duty, the inverter of year 4 is not.
    assert paid.replacements.tolist() == [0, 0, 0, 0, -800, 0, 0]
    # Inverter of year 4: two of 4 years used. Cells of year 3: three of 3.
    assert paid.salvage[-1] == pytest.approx(400.0)


@pytest.mark.by_hand
def test_removed_system_costs_nothing_more_and_is_worth_nothing() -> None:
    given = LEASE | {"years": 2, "at_end": "removed"}
    paid = payments(costs__lease=given, costs__o_and_m_per_year=50.0, life__salvage="linear")
    assert paid.contract.tolist() == [0, -1200, -1200, 0, 0, 0, 0]
    assert paid.o_and_m.tolist() == [0, -50, -50, 0, 0, 0, 0]
    assert not paid.replacements.any()
    assert not paid.salvage.any()


@pytest.mark.by_hand
def test_price_of_solar_energy_grows_with_its_escalator() -> None:
    paid = payments(costs__power_purchase=POWER | {"buyout": {"year": 4, "price": 700.0}})
    assert paid.solar_price == pytest.approx([0, 0.1, 0.102, 0.10404, 0.1061208, 0, 0])
    assert paid.contract.tolist() == [0, 0, 0, 0, -700, 0, 0]


@pytest.mark.parametrize("rate", [0.0, 0.05, 0.12])
def test_lease_with_the_cash_flows_of_a_loan_has_its_npv(rate: float) -> None:
    """Fully lent and never to be repaired: the same payments, the same present value."""
    parts = [{"name": "all", "quantity": 1.0, "unit_price": 4000.0}]
    lent = payments(costs__parts=parts, costs__loan={"share": 1.0, "rate": 0.06, "years": 6})
    monthly = -lent.loan_payments[1] / 12
    leased = payments(costs__parts=parts, costs__lease=LEASE | {"monthly_payment": monthly})
    assert leased.total == pytest.approx(lent.total, abs=1e-9)
    assert present_value(leased.total, rate) == pytest.approx(present_value(lent.total, rate))


@pytest.mark.by_hand
def test_later_purchase_is_paid_the_year_before_and_its_new_parts_age_from_then() -> None:
    first = scenario(costs={"parts": PARTS}, life=LIFE)
    assert first.costs is not None
    assert first.life is not None
    pump = {"name": "pump", "quantity": 1.0, "unit_price": 300.0, "life_years": 2, "replacement_price": 100.0}
    more = [*PARTS[:2], PARTS[2] | {"quantity": 8.0}, pump]
    second = purchase_from(first.changed({"costs.parts": more}))
    life = first.life.model_copy(update={"replacement_growth_per_year": 0.10})
    paid = payments_from(purchase_from(first), first.costs, life, [Later(3, second, 1300.0, 1000.0)])
    # From year 3 on, so bought at the end of year 2.
    assert paid.changes == pytest.approx([0, 0, -1300 * 1.1**2, 0, 0, 0, 0])
    # Cells after 3 years, all 8 together; inverter after 4; the pump two years after it was bought.
    assert paid.replacements == pytest.approx([0, 0, 0, -800 * 1.1**3, -900 * 1.1**4, 0, 0])
    assert paid.storage == pytest.approx([-1000, 0, -1000 * 1.1**2, -800 * 1.1**3, 0, 0, 0])


@pytest.mark.by_hand
def test_lines_of_one_name_are_replaced_together_as_a_change_begins() -> None:
    """Twelve relays on two lines, 5 each, for 3 years; from year 4 on twelve or six. Labor of that name is no part."""
    wears = {"name": "relay", "unit_price": 9.0, "life_years": 3, "replacement_price": 5.0}
    parts = [{**wears, "quantity": number} for number in (10.0, 2.0)]
    work = [{"name": "relay", "quantity": 1.0, "unit_price": 40.0}]
    first = scenario(
        costs={"parts": parts, "labor": work}, life=LIFE | {"years": 5, "replacement_growth_per_year": 0.0}
    )
    assert first.costs is not None
    assert first.life is not None
    for numbers, left in (((10.0, 2.0), 12), ((4.0, 2.0), 6)):
        later = first.changed({f"costs.parts.{place}.quantity": number for place, number in enumerate(numbers)})
        change = Later(4, purchase_from(later), 0.0, 0.0)
        paid = payments_from(purchase_from(first), first.costs, first.life, [change])
        assert paid.replacements == pytest.approx([0, 0, 0, -5 * left, 0, 0])
