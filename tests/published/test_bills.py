"""Checks of bills: published comparisons, to the cent."""

from decimal import Decimal

import numpy as np
import pytest

from solarsim.ledger.bill import Bill, bill_for, to_the_cent
from solarsim.ledger.prices import prices_from
from solarsim.scenario.tariff import Tariff
from solarsim.scenario.windows import Window, steps_in_window
from tests.builders import timeline

pytestmark = pytest.mark.published

ON_PEAK = {"days": ("weekday",), "from": "08:00", "to": "20:00"}
HOLIDAYS = {"country": "US", "observed": False, "names": ("Independence Day",)}


def river_falls(*rates: dict[str, object]) -> Tariff:
    """River Falls (WI) municipal utility, published comparison; the fixed charge of $14 is inferred."""
    return Tariff.model_validate(
        {"name": "River Falls", "currency": "USD", "fixed_per_month": 14.0, "export": {"pay": "none"}, "rates": rates}
    )


STANDARD = river_falls({"name": "standard", "import_price": 0.1110})
TIME_OF_USE = river_falls(
    {"name": "on-peak", "import_price": 0.1910, "windows": (ON_PEAK,)}, {"name": "off-peak", "import_price": 0.0660}
)


def july_bill(tariff: Tariff, on_peak_share: float) -> Decimal:
    """Bill 675.54 kWh of July with a share on peak: 8-20 Monday to Friday except holidays."""
    where = timeline("America/Chicago", 2026, holidays=HOLIDAYS)
    july = where.month == 7
    peak = steps_in_window(Window.model_validate(ON_PEAK), where) & july
    import_kw = np.zeros(len(where))
    import_kw[peak] = 675.54 * on_peak_share / peak.sum()
    import_kw[july & ~peak] = 675.54 * (1 - on_peak_share) / (july & ~peak).sum()
    bill: Bill = bill_for(import_kw, np.zeros(len(where)), tariff, prices_from(tariff, where), where)
    return bill.month_total(7)


def test_standard_rate() -> None:
    assert july_bill(STANDARD, 0.45) == Decimal("88.98")


@pytest.mark.parametrize(
    ("on_peak_share", "printed"), [(0.45, "96.58"), (0.35, "88.14"), (0.30, "83.92"), (0.25, "79.70")]
)
def test_time_of_use_and_what_shifting_saves(on_peak_share: float, printed: str) -> None:
    assert july_bill(TIME_OF_USE, on_peak_share) == Decimal(printed)


def test_half_a_cent_rounds_up() -> None:
    """City of Seymour bill comparison: 26.125 is printed as 26.13."""
    assert to_the_cent(26.125) == Decimal("26.13")
    assert to_the_cent(550 * 0.0475) == Decimal("26.13")
    assert to_the_cent(3 * 0.075) == Decimal("0.23")  # the computer says 0.22499999999999998
    assert to_the_cent(1.005) == Decimal("1.01")
    assert to_the_cent(-0.005) == Decimal("-0.01")
