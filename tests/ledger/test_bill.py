"""Lines that add up."""

from decimal import ROUND_HALF_UP, Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from solarsim.ledger.bill import Bill, bill_for, exact_total, read_meters
from solarsim.ledger.lines import cents_of, to_the_cent
from solarsim.ledger.prices import prices_from
from solarsim.scenario.rate_plan.rate_plan import ExportPay, RatePlan
from solarsim.scenario.site import Site
from tests.builders import timeline

WHERE = timeline("America/Phoenix")
TARIFF = RatePlan.model_validate(
    {
        "name": "t",
        "currency": "USD",
        "customer_charge_per_month": 9.99,
        "export": {"pay": "flat", "price": 0.05},
        "rates": (
            {"name": "peak", "import_price": 0.4, "windows": ({"from": "16:00", "to": "21:00"},)},
            {"name": "rest", "import_price": 0.1},
        ),
    }
)
PRICES = prices_from(TARIFF, WHERE)


def bill(import_kw: object, export_kw: object) -> Bill:
    n = len(WHERE)
    return bill_for(np.full(n, import_kw), np.full(n, export_kw), PRICES)


@pytest.mark.by_hand
def test_january_of_one_kilowatt() -> None:
    # 31 days x 5 h x 0.40 = 62.00; 31 x 19 h x 0.10 = 58.90; fixed 9.99.
    january = [line for line in bill(1.0, 0.0).lines if line.month == 1]
    assert [(line.what, line.quantity, line.amount) for line in january] == [
        ("customer charge", 1.0, Decimal("9.99")),
        ("peak", pytest.approx(155.0), Decimal("62.00")),
        ("rest", pytest.approx(589.0), Decimal("58.90")),
    ]


@pytest.mark.by_hand
def test_export_is_earned() -> None:
    # 744 h x 0.05 = 37.20, and no line for energy that did not flow.
    assert [line.amount for line in bill(0.0, 1.0).lines if line.month == 1] == [Decimal("9.99"), Decimal("-37.20")]


@pytest.mark.by_hand
def test_half_hours_cost_half() -> None:
    # 1 kW through January at half-hour steps is still 155 kWh of peak and 589 of rest, as with hours.
    site = Site(name="here", time_zone="America/Phoenix", calendar_year=2026, albedo=0.2)
    half = site.timeline(0.5)
    prices = prices_from(TARIFF, half)
    one = np.ones(len(half))
    january = [line for line in bill_for(one, one, prices).lines if line.month == 1]
    assert [line.quantity for line in january] == pytest.approx([1.0, 155.0, 589.0, 744.0])


def test_no_fixed_charge_is_no_line_and_unpaid_export_is_a_plain_zero() -> None:
    free = TARIFF.model_copy(update={"customer_charge_per_month": 0.0, "export": ExportPay(pay="none")})
    lines = bill_for(np.zeros(len(WHERE)), np.ones(len(WHERE)), prices_from(free, WHERE)).lines
    assert {line.what for line in lines} == {"export"}
    assert {f"{line.rate} {line.amount}" for line in lines} == {"0.0 0.00"}


@given(st.integers(0, 2**32 - 1))
def test_lines_add_up_and_no_kilowatt_hour_is_lost(seed: int) -> None:
    random = np.random.default_rng(seed)
    bought, sold = random.uniform(0, 3, len(WHERE)), random.uniform(0, 3, len(WHERE))
    made = bill_for(bought, sold, PRICES)
    assert made.total == sum(made.month_total(month) for month in range(1, 13))
    assert all(abs(float(line.amount) - line.quantity * line.rate) <= 0.005 + 1e-9 for line in made.lines)
    assert sum(line.quantity for line in made.lines if line.rate > 0 and line.unit == "kWh") == pytest.approx(
        bought.sum()
    )
    assert sum(line.quantity for line in made.lines if line.rate < 0) == pytest.approx(sold.sum())
    cost = bought @ PRICES.import_price - sold @ PRICES.export_price + 12 * 9.99
    assert exact_total(read_meters(bought, sold, PRICES), PRICES) == pytest.approx(cost, abs=1e-6)
    assert float(made.total) == pytest.approx(cost, abs=0.005 * len(made.lines))


@given(arrays(np.float64, len(WHERE), elements=st.floats(0, 9)))
def test_windows_that_all_carry_one_rate_equal_the_flat_plan(
    bought: np.ndarray[tuple[int], np.dtype[np.float64]],
) -> None:
    def total(*rates: dict[str, object]) -> Decimal:
        rate_plan = TARIFF.model_validate({**TARIFF.model_dump(by_alias=True), "rates": rates})
        return bill_for(bought, 0 * bought, prices_from(rate_plan, WHERE)).total

    evening = {"name": "peak", "import_price": 0.25, "windows": ({"from": "16:00", "to": "21:00"},)}
    rest, flat = {"name": "rest", "import_price": 0.25}, {"name": "all", "import_price": 0.25}
    assert float(total(evening, rest)) == pytest.approx(float(total(flat)), abs=0.01 * 12)


AMOUNTS = (
    st.floats(-2e6, 2e6)
    | st.integers(-(10**7), 10**7).map(lambda thousandths: thousandths / 1000)
    | st.integers(-(10**6), 10**6).map(lambda halves: halves / 200)
)


@given(amounts=st.lists(AMOUNTS, min_size=1))
def test_a_cent_is_that_of_the_decimals(amounts: list[float]) -> None:
    """Rounding many amounts at once is rounding each: half up, of the amount as it is written."""
    slow = [Decimal(repr(round(amount, 9))).quantize(Decimal("0.01"), ROUND_HALF_UP) + 0 for amount in amounts]
    assert [str(to_the_cent(amount)) for amount in amounts] == [str(each) for each in slow]
    assert cents_of(np.array(amounts)).tolist() == [int(each * 100) for each in slow]


def test_a_cent_has_no_minus_zero() -> None:
    assert str(to_the_cent(-0.001)) == "0.00"
