"""One strategy's life: the ledgers of its years and all payments in; cash, NPV, payback and levelized costs out."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from solarsim.ledger.cash_flow import (
    discount_factors,
    internal_rates_of_return,
    levelized_cost,
    payback_years,
    present_value,
)
from solarsim.ledger.ledger import Ledger
from solarsim.ledger.money import yearly_savings
from solarsim.ledger.payments import Payments
from solarsim.results import Result, computed, fact
from solarsim.studies.life.life_year import LifeYear
from solarsim.studies.life.months import PaymentMonth

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False, repr=False)
class StrategyLife(Result):
    """One strategy's years, and what they are worth."""

    _rows = "years"

    ledgers: tuple[Ledger, ...]
    baselines: tuple[Ledger, ...]  # the same years without any system
    payments: Payments
    discount_rate: float
    name: str = fact("name of the strategy", "text")
    cells_left: tuple[float, ...] | None = fact(
        "share of the battery's first capacity at the start of each year of its age, from the model of its chemistry;"
        " null where battery_fade_per_year is stated",
        "1",
        default=None,
    )

    months: tuple[PaymentMonth, ...] = fact(
        "payments of a loan, lease or power purchase agreement beside the savings, month by month in year 1; empty"
        " where the system is paid in cash",
        "list",
        default=(),
    )
    solar_only: "StrategyLife | None" = None  # the same home without a battery

    @cached_property
    def savings(self) -> Floats | None:
        """Savings by year, 0 in year 0; None where too much is unserved to compare [currency]."""
        saved = yearly_savings(self.ledgers, self.baselines)
        return None if saved is None else np.array([0.0, *saved])

    @cached_property
    def cash(self) -> Floats | None:
        """Savings and all payments, from year 0 [currency]."""
        if self.savings is None:
            return None
        return np.asarray(self.savings + self.payments.total + self.energy_payments, np.float64)

    @cached_property
    def solar_kwh(self) -> Floats:
        """Solar energy used or exported by year, 0 in year 0 [kWh]."""
        return np.array([0.0, *(year.solar_kwh for year in self.ledgers)])

    @property
    def energy_payments(self) -> Floats:
        """What a power purchase agreement charges for solar energy, by year; negative [currency]."""
        return np.asarray(-self.payments.solar_price * self.solar_kwh, np.float64)

    @computed("net present value: cash of all years, discounted to year 0; null where not comparable", "currency")
    def npv(self) -> float | None:
        return None if self.cash is None else present_value(self.cash, self.discount_rate)

    @computed("mean of the years' savings; null where not comparable", "currency")
    def average_savings(self) -> float | None:
        return None if self.savings is None else float(self.savings.sum()) / len(self.ledgers)

    @computed("when the balance first reaches 0; null: never, not comparable, or under a contract", "years")
    def simple_payback_years(self) -> float | None:
        return self._payback_years(0.0)

    @computed("when the discounted balance first reaches 0; null: never, not comparable, or under a contract", "years")
    def discounted_payback_years(self) -> float | None:
        return self._payback_years(self.discount_rate)

    @computed("internal rate of return: the one rate at which npv is 0; null: none, or several", "1")
    def irr(self) -> float | None:
        return self.rates_of_return[0] if len(self.rates_of_return) == 1 else None

    @computed("every rate at which npv is 0", "1")
    def rates_of_return(self) -> tuple[float, ...]:
        return () if self.cash is None else internal_rates_of_return(self.cash)

    @computed(
        "levelized cost of energy: what the system costs, loan aside, / solar_kwh, both discounted", "currency/kWh"
    )
    def lcoe(self) -> float | None:
        paid = self.payments.without_loan + self.energy_payments
        return levelized_cost(-paid, self.solar_kwh, self.discount_rate)

    @computed(
        "levelized cost of storage: the battery's parts / battery_kwh, both discounted; charging not counted; null"
        " where no part is the battery's",
        "currency/kWh",
    )
    def lcos(self) -> float | None:
        if not self.payments.storage.any():
            return None
        battery_kwh = np.array([0.0, *(year.battery_kwh for year in self.ledgers)])
        return levelized_cost(-self.payments.storage, battery_kwh, self.discount_rate)

    @computed("npv less that of the same home without a battery; null where either is not known", "currency")
    def battery_npv(self) -> float | None:
        alone = None if self.solar_only is None else self.solar_only.npv
        return None if alone is None or self.npv is None else self.npv - alone

    @computed("unserved demand of all years", "kWh")
    def unserved_kwh(self) -> float:
        return sum(year.unserved_kwh for year in self.ledgers)

    @computed("time in which some demand was unserved, in all years", "h")
    def unserved_h(self) -> float:
        return sum(year.unserved_h for year in self.ledgers)

    @computed("unserved_kwh at outages.value_of_lost_load, in all years; in no cash flow; null without it", "currency")
    def outage_cost(self) -> float | None:
        costs = [year.outage_cost for year in self.ledgers if year.outage_cost is not None]
        return sum(costs) if costs else None

    @computed("largest amount by which the energy balance of a year fails to close", "kWh")
    def balance_error_kwh(self) -> float:
        return max(year.balance_error_kwh for year in self.ledgers)

    @computed("each year from year 0, the purchase", "list")
    def years(self) -> tuple[LifeYear, ...]:
        paid, cash, rate = self.payments, self.cash, self.discount_rate
        contract = paid.contract + self.energy_payments
        balance = None if cash is None else np.cumsum(cash)
        discounted = None if cash is None else np.cumsum(cash * discount_factors(rate, cash.size - 1))
        return tuple(
            LifeYear(
                year=year,
                purchase=float(paid.purchase[year]),
                changes=float(paid.changes[year]),
                incentives=float(paid.incentives[year]),
                loan=float(paid.loan[year]),
                savings=_of_year(self.savings, year),
                o_and_m=float(paid.o_and_m[year]),
                replacements=float(paid.replacements[year]),
                loan_payments=float(paid.loan_payments[year]),
                contract=float(contract[year]),
                salvage=float(paid.salvage[year]),
                cash=_of_year(cash, year),
                balance=_of_year(balance, year),
                discounted_balance=_of_year(discounted, year),
                ledger=self.ledgers[year - 1] if year else None,
                baseline=self.baselines[year - 1] if year else None,
            )
            for year in range(len(self.ledgers) + 1)
        )

    def _payback_years(self, rate: float) -> float | None:
        """Return the payback of discounted cash; None where nothing is purchased."""
        return None if self.cash is None or self.payments.under_contract else payback_years(self.cash, rate)

    @property
    def cash_without_loan(self) -> Floats | None:
        """The cash of all years if the same system were paid in full at the purchase [currency]."""
        if self.savings is None:
            return None
        return np.asarray(self.savings + self.payments.without_loan + self.energy_payments, np.float64)

    @property
    def payback_without_loan_years(self) -> float | None:
        """The simple payback if the same system were paid in full at the purchase; None under a contract [years]."""
        cash = self.cash_without_loan
        return None if cash is None or self.payments.under_contract else payback_years(cash)

    @property
    def energy_cost(self) -> float:
        """Bill and fuel of all years [currency]."""
        return sum(year.energy_cost for year in self.ledgers)

    @property
    def demand_kwh(self) -> float:
        """Load and standby of all years [kWh]."""
        return sum(year.demand_kwh for year in self.ledgers)


def _of_year(amounts: Floats | None, year: int) -> float | None:
    """Return an amount of one year; None where none is known."""
    return None if amounts is None else float(amounts[year])
