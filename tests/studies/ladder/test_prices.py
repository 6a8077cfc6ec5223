"""What a controller may take energy to cost, from its own meter alone."""

from math import inf
from typing import Any

import numpy as np
import pytest

from solarsim.engine.foresight import Worth
from solarsim.studies.ladder._prices import Meter, believed
from tests.studies.ladder.small import A_DAY, STEPS, TWO_PRICES, prices

N = STEPS.size
DAYS = N // A_DAY
JANUARY = 5  # days of the weeks that are in it
EVENING = np.flatnonzero(prices().rate == 0)
pytestmark = pytest.mark.by_hand


def worth_after(days: int, import_kw: float, export_kw: float = 0.0, **plan: Any) -> Worth:
    """Return what a controller believes after so many days with steady import and export."""
    meter = Meter(prices(**plan))
    imported, exported = np.full(N, import_kw), np.full(N, export_kw)
    for day in range(days):
        meter.read(day * A_DAY, (day + 1) * A_DAY, imported, exported)
    return believed(meter, 0.0)


def test_listed_prices_where_the_bill_is_a_sum_of_hours() -> None:
    rider = {"name": "public programs", "price": 0.01}
    worth = worth_after(9, 1.0, riders=(rider,))
    expected = np.full(N, 0.12 + 0.01)
    expected[EVENING] = 0.45 + 0.01
    np.testing.assert_allclose(worth.import_price, expected)
    np.testing.assert_allclose(worth.export_price, 0.05)
    assert (worth.peak_kw == inf).all()


def test_percentages_are_on_the_lines_that_they_name() -> None:
    """0.12 x 1.1 + 0.01 x 1.2; export 0.05 x 1.2."""
    adders = (
        {"name": "tax", "share": 0.1, "on": ("energy", "rider")},
        {"name": "fee", "share": 0.1, "on": ("rider",)},
        {"name": "other", "share": 0.2, "on": ("export",)},
    )
    worth = worth_after(0, 0.0, riders=({"name": "public programs", "price": 0.01},), adders=adders)
    assert worth.import_price[0] == pytest.approx(0.12 * 1.1 + 0.01 * 1.2)
    assert worth.export_price[0] == pytest.approx(0.05 * 1.2)


@pytest.mark.parametrize(
    ("days", "import_kw", "ends_kwh", "price"),
    [
        (0, 0.0, 25.0, 0.1),  # nothing seen: the first tier
        (3, 0.2, 25.0, 0.1),  # 4.8 a day, 24 in the five days of January
        (3, 0.21, 25.0, 0.3),  # 25.2
        (JANUARY + 2, 0.25, 95.0, 0.3),  # 6 a day, 96 in the sixteen days of February
        (JANUARY + 2, 0.24, 95.0, 0.1),  # 92
    ],
)
def test_price_of_a_tier_is_that_in_which_the_bill_is_heading(
    days: int, import_kw: float, ends_kwh: float, price: float
) -> None:
    tiers = ({"price": 0.1, "up_to_kwh": ends_kwh}, {"price": 0.3})
    worth = worth_after(days, import_kw, rates=({"name": "all", "tiers": tiers},))
    np.testing.assert_allclose(worth.import_price, price)


def test_bill_goes_on_as_the_last_one_did() -> None:
    """12 kWh on each of five days; in February none on the first of 16: 15 x 12 = 180."""
    for ends_kwh, price in ((179.0, 0.3), (181.0, 0.1)):
        tiers = ({"price": 0.1, "up_to_kwh": ends_kwh}, {"price": 0.3})
        meter = Meter(prices(rates=({"name": "all", "tiers": tiers},)))
        imported = np.full(N, 0.5)
        imported[JANUARY * A_DAY :] = 0.0
        for day in range(JANUARY + 1):
            meter.read(day * A_DAY, (day + 1) * A_DAY, imported, np.zeros(N))
        assert believed(meter, 0.0).import_price[0] == pytest.approx(price)


def test_tiers_that_count_all_rates() -> None:
    """0.5 kW is 60 kWh in the five days of January, of which 10 in the evening."""
    tiers = ({"price": 0.1, "up_to_kwh": 40.0}, {"price": 0.3})
    evening = {key: value for key, value in TWO_PRICES[0].items() if key != "import_price"}
    rates = ({**evening, "tiers": tiers}, {"name": "all else", "tiers": tiers})
    for counted, price in (("all_rates", 0.3), ("own_rate", 0.1)):
        worth = worth_after(3, 0.5, rates=rates, tiers_count=counted)
        assert worth.import_price[EVENING[0]] == pytest.approx(price)
        assert worth.import_price[0] == pytest.approx(0.3)


@pytest.mark.parametrize(("import_kw", "relief"), [(0.3, 0.04), (0.5, 0.0)])
def test_allowance_is_a_relief_while_it_is_not_used_up(import_kw: float, relief: float) -> None:
    """7.2 and 12 kWh a day; the allowance is 10."""
    allowance = {"name": "baseline", "kwh_per_day": 10.0, "credit_price": 0.04}
    worth = worth_after(3, import_kw, allowances=(allowance,))
    assert worth.import_price[0] == pytest.approx(0.12 - relief)


NET = {
    "pay": "net_metering", "net_within": "rate", "surplus": "carried_as_kwh", "true_up_month": 1,
    "remainder_price": 0.02,
}  # fmt: skip


@pytest.mark.parametrize(
    ("days", "import_kw", "export_kw", "settled_in", "price"),
    [
        (0, 0.0, 0.0, 6, 0.12),
        (3, 1.0, 0.9, 6, 0.12),  # more import than export
        (3, 0.9, 1.0, 6, 0.02),  # in credit: a kWh more is one more of the remainder
        (JANUARY + 1, 0.9, 1.0, 6, 0.02),
        (JANUARY, 0.9, 1.0, 1, 0.02),  # the bill of January is not over before February is read
        (JANUARY + 1, 0.9, 1.0, 1, 0.02),  # settled, and in credit again
    ],
)
def test_net_metering_is_worth_the_remainder_in_credit_and_the_rate_otherwise(
    days: int, import_kw: float, export_kw: float, settled_in: int, price: float
) -> None:
    worth = worth_after(days, import_kw, export_kw, export=NET | {"true_up_month": settled_in})
    assert worth.import_price[0] == pytest.approx(price)
    assert worth.export_price[0] == pytest.approx(price)


def test_credit_of_the_bills_before_is_settled_at_the_true_up() -> None:
    """January leaves 0.5 kW of export, February imports 0.1 kW more than it exports."""
    for month, price in ((6, 0.02), (1, 0.12)):
        meter = Meter(prices(export=NET | {"true_up_month": month}))
        imported, exported = np.full(N, 0.1), np.zeros(N)
        exported[: JANUARY * A_DAY] = 0.6
        for day in range(JANUARY + 2):
            meter.read(day * A_DAY, (day + 1) * A_DAY, imported, exported)
        assert believed(meter, 0.0).import_price[0] == pytest.approx(price)


def test_demand_is_held_below_the_peak_of_this_bill_or_nine_tenths_of_the_last() -> None:
    charge = {"name": "peak", "price": 8.0, "windows": ({"from": "17:00", "to": "21:00"},)}
    counts = prices(demand=(charge,)).hours.demand[0]
    for days, peak_kw in ((0, 0.0), (2, 3.0), (JANUARY, 3.0), (JANUARY + 1, 3.0)):
        worth = worth_after(days, 3.0, demand=(charge,))
        np.testing.assert_allclose(worth.peak_kw[counts[0]], peak_kw)
        assert (worth.peak_kw[: counts[0][0]] == inf).all()
        np.testing.assert_allclose(worth.peak_price[counts[0]], 8.0)
    meter = Meter(prices(demand=(charge,)))
    imported = np.full(N, 3.0)
    imported[JANUARY * A_DAY :] = 1.0
    for day in range(JANUARY + 1):
        meter.read(day * A_DAY, (day + 1) * A_DAY, imported, np.zeros(N))
    np.testing.assert_allclose(believed(meter, 0.0).peak_kw[counts[0]], 2.7)
