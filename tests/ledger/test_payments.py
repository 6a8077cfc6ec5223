"""Purchase, loan, O&M, replacements and what is left, year by year."""

import copy
from typing import Any

import numpy as np
import pytest

from solarsim.ledger.payments import Payments, payments_from
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
