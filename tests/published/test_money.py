"""Present value, rate of return, loans and levelized cost against published values."""

import numpy as np
import pytest

from solarsim.ledger.cash_flow import (
    capital_recovery_factor,
    irr,
    levelized_cost,
    loan_payment,
    present_value,
)

pytestmark = pytest.mark.published
# Examples in the documentation of numpy-financial (functions npv, irr and pmt), to the printed digit.
INVESTMENT = np.array([-40_000.0, 5_000.0, 8_000.0, 12_000.0, 30_000.0])


def test_present_value_takes_the_first_amount_undiscounted() -> None:
    """Examples in the documentation of numpy-financial, to the printed digit."""
    assert present_value(INVESTMENT, 0.08) == pytest.approx(3065.22267, abs=5e-6)
    # A spreadsheet's NPV discounts the first amount too: 2838.169, which is not meant here.
    assert present_value(INVESTMENT, 0.08) / 1.08 == pytest.approx(2838.169, abs=5e-4)


def test_rate_of_return() -> None:
    """Examples in the documentation of numpy-financial, to the printed digit."""
    amounts = np.array([-250_000.0, 100_000.0, 150_000.0, 200_000.0, 250_000.0, 300_000.0])
    # Printed as 0.56723. Exact decimals put the root between 0.56723033 and 0.56723034.
    assert irr(amounts) == pytest.approx(0.56723, abs=5e-6)
    assert present_value(amounts, 0.56723033) > 0.0 > present_value(amounts, 0.56723034)
    assert irr(np.array([1.0, 2.0, 3.0])) is None


def test_payment_of_a_loan() -> None:
    """Examples in the documentation of numpy-financial, to the printed digit."""
    # What $200,000 at 7.5 % cost a month over 15 years.
    assert loan_payment(200_000.0, 0.075 / 12, 15 * 12) == pytest.approx(1854.02472, abs=5e-6)


# Short, Packey & Holt, A Manual for the Economic Evaluation of Energy Efficiency and Renewable Energy Technologies,
# NREL/TP-462-5173 (1995): capital recovery factor and levelized cost; figures worked from its formulas.
YEARS = np.arange(1.0, 26.0)
COSTS = np.array([15_000.0, *(150.0 for _ in YEARS)])


def test_capital_recovery_factor() -> None:
    """Short, Packey & Holt, NREL/TP-462-5173 (1995), worked from its formulas."""
    assert capital_recovery_factor(0.07, 25) == pytest.approx(0.0858105, abs=5e-8)


def test_levelized_cost_by_factor_and_by_cash_flow() -> None:
    """Short, Packey & Holt, NREL/TP-462-5173 (1995), worked from its formulas."""
    by_factor = (15_000.0 * capital_recovery_factor(0.07, 25) + 150.0) / 9_000.0
    steady = np.array([0.0, *(9_000.0 for _ in YEARS)])
    assert by_factor == pytest.approx(0.159684, abs=5e-7)
    assert levelized_cost(COSTS, steady, 0.07) == pytest.approx(0.159684, abs=5e-7)


def test_levelized_cost_with_panel_degradation() -> None:
    """Short, Packey & Holt, NREL/TP-462-5173 (1995), worked from its formulas."""
    # Half a percent a year from the second year on.
    worn = np.array([0.0, *(9_000.0 * 0.995 ** (YEARS - 1.0))])
    assert levelized_cost(COSTS, worn, 0.07) == pytest.approx(0.166657, abs=5e-7)
