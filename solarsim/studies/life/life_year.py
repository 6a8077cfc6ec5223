"""One year of a life: the year's ledgers and payments in; its money and energy out."""

from collections.abc import Callable
from dataclasses import dataclass

from solarsim.ledger.ledger import Ledger
from solarsim.results import Result, computed, fact


@dataclass(frozen=True, eq=False, repr=False, kw_only=True)
class LifeYear(Result):
    """One year of a life. Money received is positive; year 0 is the purchase, other money is paid at the year's end."""

    year: int = fact("0: the purchase", "1")
    purchase: float = fact("parts and installation", "currency")
    changes: float = fact("paid for dated changes of the next year", "currency")
    incentives: float = fact("received", "currency")
    loan: float = fact("received", "currency")
    savings: float | None = fact("baseline_bill less energy_cost; null where the life is not comparable", "currency")
    o_and_m: float = fact("operation and maintenance, paid", "currency")
    replacements: float = fact("paid for parts whose life is over", "currency")
    loan_payments: float = fact("interest and principal, twelve payments", "currency")
    contract: float = fact("paid under a lease or power purchase agreement, buyout included", "currency")
    salvage: float = fact("value of the parts at the end", "currency")
    cash: float | None = fact("sum of all of these", "currency")
    balance: float | None = fact("sum of cash up to this year", "currency")
    discounted_balance: float | None = fact("the same, each year's cash discounted to year 0", "currency")
    ledger: Ledger | None = None
    baseline: Ledger | None = None

    @computed("the year's bill, and so the energy cost, without any system; null in year 0", "currency")
    def baseline_bill(self) -> float | None:
        return None if self.baseline is None else self.baseline.energy_cost

    @computed("the year's bill; null in year 0", "currency")
    def annual_bill(self) -> float | None:
        return self._of(lambda ledger: ledger.annual_bill)

    @computed("fuel of a generator", "currency")
    def fuel_cost(self) -> float | None:
        return self._of(lambda ledger: ledger.fuel_cost)

    @computed("annual_bill + fuel_cost", "currency")
    def energy_cost(self) -> float | None:
        return self._of(lambda ledger: ledger.energy_cost)

    @computed("unserved_kwh at outages.value_of_lost_load; no cash; null without that value", "currency")
    def outage_cost(self) -> float | None:
        return None if self.ledger is None else self.ledger.outage_cost

    @computed("unserved demand", "kWh")
    def unserved_kwh(self) -> float | None:
        return self._of(lambda ledger: ledger.unserved_kwh)

    @computed("time in which some demand was unserved", "h")
    def unserved_h(self) -> float | None:
        return self._of(lambda ledger: ledger.unserved_h)

    @computed("solar energy that the arrays could deliver", "kWh DC")
    def pv_available_kwh(self) -> float | None:
        return self._of(lambda ledger: ledger.sums["pv_available_kwh"])

    @computed("the home's load", "kWh")
    def load_kwh(self) -> float | None:
        return self._of(lambda ledger: ledger.sums["load_kwh"])

    @computed("energy from the grid", "kWh")
    def import_kwh(self) -> float | None:
        return self._of(lambda ledger: ledger.sums["import_kwh"])

    @computed("energy to the grid", "kWh")
    def export_kwh(self) -> float | None:
        return self._of(lambda ledger: ledger.sums["export_kwh"])

    @computed("solar energy that served the home or was exported, directly or through the battery", "kWh AC")
    def solar_kwh(self) -> float | None:
        return self._of(lambda ledger: ledger.solar_kwh)

    @computed("discharge of the battery to home and grid", "kWh AC")
    def battery_kwh(self) -> float | None:
        return self._of(lambda ledger: ledger.battery_kwh)

    @computed("capacity of the battery in this year, between empty and full", "kWh")
    def capacity_kwh(self) -> float | None:
        return self._of(lambda ledger: ledger.capacity_kwh)

    def _of(self, what: Callable[[Ledger], float]) -> float | None:
        """Return a number of the year's ledger; None in year 0."""
        return None if self.ledger is None else what(self.ledger)
