"""The first year month by month: its bills and what is paid for the system in; payment beside savings out."""

from dataclasses import dataclass

import numpy as np

from solarsim.ledger.cash_flow import loan_payment
from solarsim.ledger.ledger import Ledger
from solarsim.results import Result, computed, fact
from solarsim.scenario.costs import Costs
from solarsim.scenario.financing import PowerPurchase

_MONTHS = 12


@dataclass(frozen=True, eq=False, repr=False)
class PaymentMonth(Result):
    """What a month of the first year saves, and what is paid for the system in it."""

    month: int = fact("1 to 12", "1")
    savings: float = fact("bill without any system less bill and fuel with it", "currency")
    payment: float = fact("of the loan, lease or power purchase agreement", "currency")

    @computed("savings less payment", "currency")
    def left(self) -> float:
        return self.savings - self.payment


def payment_months(costs: Costs, upfront_cost: float, ledger: Ledger, baseline: Ledger) -> tuple[PaymentMonth, ...]:
    """Return the months of the first year.

    Parameters
    ----------
    costs : Costs
        How the system is paid.
    upfront_cost : float
        Parts and installation [currency].
    ledger : Ledger
        The first year, its steps kept.
    baseline : Ledger
        The same year without any system.

    Returns
    -------
    tuple of PaymentMonth
        Empty where the system is paid in cash. A bill belongs to the month in which the meter is read; the fuel of a
        generator is spread evenly. Incentives, O&M and payments at the start are not in it.
    """
    contract = costs.contract
    if costs.loan is not None:
        debt = costs.loan.debt(upfront_cost)
        paid = np.full(_MONTHS, loan_payment(debt, costs.loan.rate / _MONTHS, costs.loan.years * _MONTHS))
    elif isinstance(contract, PowerPurchase):
        paid = contract.price_per_kwh * ledger.monthly_solar_kwh
    elif contract is not None:
        paid = np.full(_MONTHS, contract.monthly_payment)
    else:
        return ()
    fuel = (baseline.fuel_cost - ledger.fuel_cost) / _MONTHS
    return tuple(
        PaymentMonth(
            month, float(baseline.bill.month_total(month) - ledger.bill.month_total(month)) + fuel, float(payment)
        )
        for month, payment in enumerate(paid, start=1)
    )
