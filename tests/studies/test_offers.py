"""Offers side by side: each is what ``life`` says of it; other homes are refused."""

from typing import Any

import pytest

from solarsim.errors import ScenarioError
from solarsim.home import Home
from solarsim.scenario.model import Scenario
from solarsim.studies.life.life import life
from solarsim.studies.offers import Offers, _differences, offers
from solarsim.studies.outages.outages import outages
from tests.studies.lives import other_life


@pytest.fixture(scope="module")
def found(demo_home: Home) -> Offers:
    """Compare the demo over four years with twice its cells, and without a battery."""
    home, _ = other_life(demo_home)
    return offers([home, home.changed({"battery.bank.0.strings": 2}), home.changed({"battery": None})], ["a", "b", "c"])


def test_each_offer_is_what_life_says_of_it(found: Offers) -> None:
    alone = life(found.offers[0].life.home.scenario.changed({"battery.bank.0.strings": 2}))
    assert alone.best is not None
    offer = found.offers[1]
    assert (offer.npv, offer.strategy, offer.upfront_cost) == (alone.best.npv, alone.best.name, alone.upfront_cost)
    assert (offer.irr, offer.lcoe) == (alone.best.irr, alone.best.lcoe)


@pytest.mark.by_hand
def test_cells_add_their_price(found: Offers) -> None:
    """Sixteen cells at 112 and a cabinet at 310: 2,102; without the battery 4,204 less."""
    costs = [each.upfront_cost for each in found.offers]
    assert costs == pytest.approx([13_167.0, 15_269.0, 8_963.0])


def test_cheapest_highest_npv_and_shortest_payback_are_named(found: Offers) -> None:
    assert found.cheapest == "c"
    npvs = {each.name: each.npv or 0.0 for each in found.offers}
    assert found.highest_npv == max(npvs, key=npvs.__getitem__)
    assert found.shortest_payback is None  # four years are too few


def test_backup_is_that_of_the_worst_month(found: Offers) -> None:
    offer = found.offers[0]
    months = outages(offer.life.home.scenario, offer.strategy, years=1, home=offer.life.home).months
    worst = min(months, key=lambda each: each.backup_duration_h)
    assert (offer.backup_month, offer.backup_duration_h) == (worst.month, worst.backup_duration_h)
    assert (found.offers[2].backup_month, found.offers[2].backup_duration_h) == (None, 0.0)  # grid-tied


def test_differences_name_the_keys_and_whole_tables(found: Offers) -> None:
    assert found.offers[0].differences == {}
    assert found.offers[1].differences == {"battery.bank.0.strings": (None, 2)}
    assert found.offers[2].differences["battery"] == ("written", None)
    assert list(found.offers[2].differences) == ["battery"]  # what lapses with it goes without saying


def test_differences_name_an_entry_that_only_one_offer_has_once(demo: Scenario) -> None:
    changes = {"costs.incentives": [], "arrays.1.strings": 0, "inverter.ac_kw": 8, "costs.o_and_m_per_year": None}
    assert _differences(demo, demo.changed(changes)) == {
        "inverter.ac_kw": (6, 8),
        "costs.incentives.'utility rebate (invented)'": ("written", None),
        "costs.o_and_m_per_year": (110, None),
        "arrays.'west roof'": ("written", None),
    }


CONTRACTS: dict[str, dict[str, Any]] = {
    "costs.lease": {"years": 4, "monthly_payment": 95.0, "escalator_per_year": 0.03, "maintained": True},
    "costs.power_purchase": {"years": 4, "price_per_kwh": 0.11, "escalator_per_year": 0.0, "maintained": True},
}


@pytest.mark.by_hand
def test_offers_under_a_contract_pay_what_it_says_and_have_no_payback(demo_home: Home) -> None:
    """What is paid at the start is the contract's; 0.11 for each solar kWh is the LCOE of a power purchase."""
    home, _ = other_life(demo_home)
    home = home.changed({"costs.incentives": [], "costs.o_and_m_per_year": 0.0})
    upfront = {"upfront_payment": 500.0}
    several = [home, *(home.changed({key: table}) for key, table in CONTRACTS.items())]
    several.append(home.changed({"costs.lease": CONTRACTS["costs.lease"] | upfront}))
    found = offers(several, ["cash", "lease", "power", "paid ahead"])
    assert [each.upfront_cost for each in found.offers] == [13_167.0, 0.0, 0.0, 500.0]
    assert [each.payback_years for each in found.offers[1:]] == [None, None, None]
    assert (found.cheapest, found.shortest_payback) == ("lease", None)
    lease, ahead = (life(several[place]).best for place in (1, 3))
    assert lease is not None
    assert ahead is not None
    assert found.offers[1].npv == lease.npv
    assert found.offers[3].npv == pytest.approx((lease.npv or 0.0) - 500.0)
    assert found.offers[2].lcoe == pytest.approx(0.11)
    power = found.offers[2].best
    assert power is not None
    solar_kwh = power.ledgers[0].solar_kwh
    payments = [each.first_year_payments for each in found.offers]
    assert payments == pytest.approx([0.0, 1140.0, 0.11 * solar_kwh, 1140.0])
    assert found.offers[1].differences == {"costs.lease": (None, "written")}


@pytest.mark.by_hand
def test_offer_of_a_lease_with_the_payments_of_a_loan_has_its_npv(demo_home: Home) -> None:
    """A loan of all at no interest: 48 equal payments of 13,167 / 48. A lease of that payment costs the same."""
    home, _ = other_life(demo_home)
    home = home.changed({"costs.incentives": [], "costs.o_and_m_per_year": 0.0})
    loan = home.changed({"costs.loan": {"share": 1.0, "rate": 0.0, "years": 4}})
    lease = CONTRACTS["costs.lease"] | {"monthly_payment": 13_167.0 / 48, "escalator_per_year": 0.0}
    found = offers([loan, home.changed({"costs.lease": lease})], ["loan", "lease"])
    assert found.offers[0].npv == pytest.approx(found.offers[1].npv)
    assert found.offers[0].first_year_payments == pytest.approx(13_167.0 / 4)


def test_payback_of_a_loan_is_that_of_the_same_system_paid_in_full(demo_home: Home) -> None:
    home, _ = other_life(demo_home, years=12)
    lent = home.changed({"costs.loan": {"share": 0.8, "rate": 0.06, "years": 12}})
    found = offers([home, lent], ["cash", "loan"])
    assert found.offers[0].payback_years == found.offers[1].payback_years
    assert found.shortest_payback == "cash"
    assert (found.offers[1].best or found.offers[1].life.strategies[0]).simple_payback_years != found.offers[
        1
    ].payback_years


@pytest.mark.parametrize(
    ("changes", "problem"),
    [
        ({"rate_plan.currency": "EUR"}, "'b' is in EUR, 'a' in USD"),
        ({"site.albedo": 0.3}, r"site.albedo is 0.3 there, 0.2 in the first"),
        ({"load.shape": "home_all_day"}, r"load.shape is 'home_all_day' there, 'evenings' in the first"),
    ],
)
def test_offers_for_another_home_are_refused(demo: Scenario, changes: dict[str, object], problem: str) -> None:
    with pytest.raises(ScenarioError, match=problem):
        offers([demo, demo.changed(changes)], ["a", "b"])


def test_one_offer_and_two_of_one_name_are_refused(demo: Scenario) -> None:
    with pytest.raises(ScenarioError, match="name at least two"):
        offers([demo])
    with pytest.raises(ScenarioError, match="more than one is named 'a'"):
        offers([demo, demo], ["a", "a"])


def test_table_has_a_row_for_each_offer(found: Offers) -> None:
    assert list(found.table().index) == ["a", "b", "c"]
    assert {"upfront_cost", "npv", "irr", "lcoe", "backup_duration_h"} <= set(found.table().columns)
