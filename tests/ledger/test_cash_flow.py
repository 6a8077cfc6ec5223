"""Present value, rates of return, payback: by hand, and against numpy-financial."""

import numpy as np
import numpy_financial as financial
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solarsim.ledger.cash_flow import (
    below_zero_again,
    capital_recovery_factor,
    discount_factors,
    internal_rates_of_return,
    irr,
    levelized_cost,
    loan_payment,
    loan_rate,
    payback_years,
    present_value,
)

AMOUNTS = st.lists(st.integers(-3000, 5000).map(float), min_size=1, max_size=30)
RATES = st.integers(0, 30).map(lambda percent: percent / 100)


def bought(price: float, later: list[float]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.array([-price, *later])


@pytest.mark.second_opinion
@given(later=AMOUNTS, rate=RATES)
def test_present_value_is_that_of_numpy_financial(later: list[float], rate: float) -> None:
    amounts = bought(9000.0, later)
    assert present_value(amounts, rate) == pytest.approx(financial.npv(rate, amounts), rel=1e-12, abs=1e-6)


@pytest.mark.second_opinion
@given(price=st.integers(1, 20_000), later=st.lists(st.integers(0, 5000).map(float), min_size=1, max_size=30))
def test_rate_of_return_is_that_of_numpy_financial(price: int, later: list[float]) -> None:
    amounts = bought(float(price), later)
    theirs = financial.irr(amounts)
    ours = irr(amounts)
    if ours is None:
        assert np.isnan(theirs)
    elif not np.isnan(theirs):
        assert ours == pytest.approx(theirs, rel=1e-6, abs=1e-7)


@pytest.mark.second_opinion
@given(amount=st.integers(100, 50_000), rate=RATES, years=st.integers(1, 30))
def test_loan_is_that_of_numpy_financial(amount: int, rate: float, years: int) -> None:
    theirs = -financial.pmt(rate / 12, 12 * years, amount)
    assert loan_payment(float(amount), rate / 12, 12 * years) == pytest.approx(theirs, rel=1e-9)


@given(price=st.integers(1, 20_000), later=AMOUNTS)
def test_present_value_at_every_rate_of_return_is_zero(price: int, later: list[float]) -> None:
    amounts = bought(float(price), later)
    for rate in internal_rates_of_return(amounts):
        factors = discount_factors(rate, amounts.size - 1)
        assert abs(present_value(amounts, rate)) <= 1e-5 * float(np.abs(amounts * factors).sum())


@given(price=st.integers(1, 20_000), later=AMOUNTS, rate=RATES)
def test_discounted_payback_is_never_earlier_than_simple(price: int, later: list[float], rate: float) -> None:
    amounts = bought(float(price), later)
    simple, discounted = payback_years(amounts), payback_years(amounts, rate)
    if discounted is not None:
        assert simple is not None
        assert discounted >= simple - 1e-9


@given(price=st.integers(1, 20_000), later=AMOUNTS, rate=RATES)
def test_doubling_all_cash_doubles_the_worth_and_leaves_rate_and_payback(
    price: int, later: list[float], rate: float
) -> None:
    amounts = bought(float(price), later)
    assert present_value(2.0 * amounts, rate) == pytest.approx(2.0 * present_value(amounts, rate))
    assert internal_rates_of_return(2.0 * amounts) == pytest.approx(internal_rates_of_return(amounts))
    assert payback_years(2.0 * amounts, rate) == payback_years(amounts, rate)


@pytest.mark.by_hand
def test_payback_is_interpolated_within_the_year() -> None:
    # 1000 less 300 a year: 100 of the fourth year's 300 are left to earn.
    assert payback_years(np.array([-1000.0, 300.0, 300.0, 300.0, 300.0])) == pytest.approx(3 + 1 / 3)
    # At 100 % the years are worth 500 and 250: 50 of 250 are left.
    assert payback_years(np.array([-700.0, 1000.0, 1000.0]), 1.0) == pytest.approx(1 + 200 / 250)
    assert payback_years(np.array([-1000.0, 500.0, 500.0])) == 2.0


def test_payback_that_never_comes_or_is_not_needed() -> None:
    assert payback_years(np.array([-1000.0, 300.0, 300.0])) is None
    assert payback_years(np.array([0.0, -10.0, 300.0])) == 0.0


@pytest.mark.by_hand
def test_balance_that_falls_below_zero_again() -> None:
    # -10, 2, -3, 7: up in the first year, down in the second.
    assert below_zero_again(np.array([-10.0, 12.0, -5.0, 10.0])) == 2
    assert below_zero_again(np.array([-10.0, 12.0, 5.0])) is None
    assert below_zero_again(np.array([-10.0, 2.0])) is None


@pytest.mark.by_hand
def test_several_rates_of_return_are_none_that_means_anything() -> None:
    # -100 + 230 v - 132 v^2 = 0 at v = 1/1.1 and 1/1.2.
    amounts = np.array([-100.0, 230.0, -132.0])
    assert internal_rates_of_return(amounts) == pytest.approx((0.1, 0.2))
    assert irr(amounts) is None


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("amounts", "rate"),
    [
        ([-100.0, 110.0], 0.10),
        ([100.0, -110.0], 0.10),  # a loan
        ([-100.0, 1.0], -0.99),
        ([-1.0, 1e6], 1e6 - 1.0),
        ([-100.0, 0.0, 0.0, 100.0], 0.0),
    ],
)
def test_only_rate_of_return_is_found_wherever_it_is(amounts: list[float], rate: float) -> None:
    assert irr(np.array(amounts)) == pytest.approx(rate, abs=1e-9)


@pytest.mark.parametrize("amounts", [[0.0, 0.0], [0.0], [-5.0, -1.0], [5.0, 0.0, 1.0]])
def test_amounts_of_one_sign_have_no_rate_of_return(amounts: list[float]) -> None:
    assert internal_rates_of_return(np.array(amounts)) == ()


@pytest.mark.by_hand
def test_interest_of_zero() -> None:
    assert capital_recovery_factor(0.0, 20) == 0.05
    assert loan_payment(1200.0, 0.0, 12) == 100.0


def test_no_energy_has_no_levelized_cost() -> None:
    assert levelized_cost(np.array([10.0, 1.0]), np.zeros(2), 0.05) is None


@pytest.mark.second_opinion
@pytest.mark.parametrize(("rate", "fee"), [(0.0399, 0.25), (0.075, 0.0), (0.0, 0.1)])
def test_rate_with_its_fee_is_that_of_numpy_financial(rate: float, fee: float) -> None:
    """What 180 payments on the debt cost, set against what was received."""
    payment = loan_payment(20_000.0, rate / 12, 180)
    received = 20_000.0 * (1.0 - fee)
    assert loan_rate(received, payment, 180) == pytest.approx(financial.rate(180, -payment, received, 0.0), abs=1e-9)
