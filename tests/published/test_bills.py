"""Checks of bills: published comparisons, to the cent."""

from decimal import Decimal

import numpy as np
import pytest

from solarsim.clock.holidays import Holidays, holidays_in
from solarsim.clock.windows import Window, steps_in_window
from solarsim.ledger.bill import Bill, BillLine, bill_for, to_the_cent
from solarsim.ledger.prices import prices_from
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from tests.builders import timeline

pytestmark = pytest.mark.published

ON_PEAK = {"days": ("weekday",), "from": "08:00", "to": "20:00"}
HOLIDAYS = {"country": "US", "observed": False, "names": ("Independence Day",)}


def river_falls(*rates: dict[str, object]) -> RatePlan:
    """River Falls (WI) municipal utility, published comparison; the customer charge of $14 is inferred."""
    return RatePlan.model_validate(
        {
            "name": "River Falls",
            "currency": "USD",
            "customer_charge_per_month": 14.0,
            "export": {"pay": "none"},
            "rates": rates,
        }
    )


STANDARD = river_falls({"name": "standard", "import_price": 0.1110})
TIME_OF_USE = river_falls(
    {"name": "on-peak", "import_price": 0.1910, "windows": (ON_PEAK,)}, {"name": "off-peak", "import_price": 0.0660}
)


def july_bill(rate_plan: RatePlan, on_peak_share: float) -> Decimal:
    """Bill 675.54 kWh of July with a share on peak: 8-20 Monday to Friday except holidays."""
    where = timeline("America/Chicago", 2026, holidays=HOLIDAYS)
    july = where.month == 7
    peak = steps_in_window(Window.model_validate(ON_PEAK), where) & july
    import_kw = np.zeros(len(where))
    import_kw[peak] = 675.54 * on_peak_share / peak.sum()
    import_kw[july & ~peak] = 675.54 * (1 - on_peak_share) / (july & ~peak).sum()
    bill: Bill = bill_for(import_kw, np.zeros(len(where)), prices_from(rate_plan, where))
    return bill.month_total(7)


def test_standard_rate() -> None:
    """River Falls (WI) municipal utility, published comparison of its rates, 675.54 kWh a month."""
    assert july_bill(STANDARD, 0.45) == Decimal("88.98")


@pytest.mark.parametrize(
    ("on_peak_share", "printed"), [(0.45, "96.58"), (0.35, "88.14"), (0.30, "83.92"), (0.25, "79.70")]
)
def test_time_of_use_and_what_shifting_saves(on_peak_share: float, printed: str) -> None:
    """River Falls (WI) municipal utility, published comparison of its rates, 675.54 kWh a month."""
    assert july_bill(TIME_OF_USE, on_peak_share) == Decimal(printed)


def test_half_a_cent_rounds_up() -> None:
    """City of Seymour bill comparison: 26.125 is printed as 26.13."""
    assert to_the_cent(26.125) == Decimal("26.13")
    assert to_the_cent(550 * 0.0475) == Decimal("26.13")
    assert to_the_cent(3 * 0.075) == Decimal("0.23")  # the computer says 0.22499999999999998
    assert to_the_cent(1.005) == Decimal("1.01")
    assert to_the_cent(-0.005) == Decimal("-0.01")


def seymour(kwh: float, *tiers: tuple[float | None, float]) -> list[BillLine]:
    """Bill a month of City of Seymour's published comparison: power cost on all kWh, base charge, 1 % tax."""
    rate_plan = RatePlan.model_validate(
        {
            "name": "Seymour",
            "currency": "USD",
            "customer_charge_per_month": 7.50,
            "rates": ({"name": "energy", "tiers": tuple({"up_to_kwh": end, "price": price} for end, price in tiers)},),
            "riders": ({"name": "power cost", "price": 0.085},),
            "adders": ({"name": "tax", "share": 0.01, "on": ("energy", "rider", "customer_charge")},),
            "export": {"pay": "none"},
        }
    )
    where = timeline("America/Chicago", 2026)
    july = where.month == 7
    bill = bill_for(np.where(july, kwh / july.sum(), 0.0), np.zeros(8760), prices_from(rate_plan, where))
    return [line for line in bill.lines if line.month == 7]


def test_tiers_with_power_cost_and_tax() -> None:
    """City of Seymour, published bill comparison.

    1200 kWh: 250 at .064, 450 at .049, rest at .0446: 169.85 and 1.70 of tax are 171.55.
    """
    lines = seymour(1200, (250.0, 0.064), (700.0, 0.049), (None, 0.0446))
    *before, tax = [line.amount for line in lines]
    assert before == [Decimal(each) for each in ("7.50", "16.00", "22.05", "22.30", "102.00")]
    assert (sum(before), tax) == (Decimal("169.85"), Decimal("1.70"))


def test_summer_tiers_round_half_a_cent_up_in_their_line() -> None:
    """City of Seymour, published bill comparison.

    2000 kWh: 250 at .064, 550 at .0475 (26.125, printed 26.13), rest at .0446.

    The secondary copy gives a total of 277.88; the lines, the power cost and the tax that it gives
    with it come to 275.88, so the total is by hand here: 16.00 + 26.13 + 53.52 + 170.00 + 7.50 =
    273.15, and 2.73 of tax.
    """
    lines = seymour(2000, (250.0, 0.064), (800.0, 0.0475), (None, 0.0446))
    assert [line.amount for line in lines] == [
        Decimal(each) for each in ("7.50", "16.00", "26.13", "53.52", "170.00", "2.73")
    ]


@pytest.mark.parametrize(
    ("rule", "day"),
    [
        # 4 July 2026 is a Saturday: library `holidays` observes Friday 3 July, many rate plans do not.
        ({"observed": True}, "2026-07-03"),
        ({"observed": False}, None),
        ({"observed": True, "sundays_only": True}, None),
    ],
)
def test_the_plan_decides_whether_a_saturday_holiday_moves_to_friday(rule: dict[str, bool], day: str | None) -> None:
    """Calendar of 2026 by the library holidays: 4 July is a Saturday, observed on Friday 3 July."""
    holidays = {"country": "US", "names": ("Independence Day",), **rule}
    rate_plan = TIME_OF_USE.model_copy(update={"holidays": Holidays.model_validate(holidays)})
    where = timeline("America/Chicago", 2026)
    rate = prices_from(rate_plan, where).rate
    friday = (where.wall.astype("datetime64[D]") == np.datetime64("2026-07-03")) & (where.minute_of_day == 12 * 60)
    assert rate_plan.rates[int(rate[friday][0])].name == ("on-peak" if day is None else "off-peak")


def test_sunday_holiday_is_observed_on_monday() -> None:
    """Calendar of 2027 by the library holidays: 4 July is a Sunday, observed on Monday 5 July.

    4 July 2027 is a Sunday.
    """
    rule = Holidays(country="US", observed=True, sundays_only=True, names=("Independence Day",))
    assert [str(day) for day in holidays_in(rule, 2027)] == ["2027-07-04", "2027-07-05"]


def test_monthly_netting_with_carry_over_inside_twelve_months() -> None:
    """Hawaii Rev. Stat. 269-105: surplus kWh are credited to the next month; after twelve what is left is given up."""
    export = {"pay": "net_metering", "net_within": "month", "surplus": "carried_as_kwh", "true_up_month": 12}
    rate_plan = STANDARD.model_validate({**STANDARD.model_dump(), "export": {**export, "remainder_price": 0.0}})
    where = timeline("Pacific/Honolulu", 2026)
    monthly_kwh = np.array([100.0, -250, 200, 100, 100, 100, 100, 100, 100, 100, 100, -80])
    kw = (monthly_kwh / np.bincount(where.month - 1))[where.month - 1]
    bill = bill_for(np.maximum(kw, 0), np.maximum(-kw, 0), prices_from(rate_plan, where))
    billed = {line.month: line.quantity for line in bill.lines if line.kind == "energy"}
    # February's 250 cover March's 200 and 50 of April's 100; December's 80 are given up.
    assert billed == pytest.approx({1: 100, 4: 50, **dict.fromkeys(range(5, 12), 100)})
    assert bill.month_total(12) == Decimal("14.00")
