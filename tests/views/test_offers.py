"""The page and the figure of ``offers``."""

import pytest

from solarsim.cli.terminal import show
from solarsim.home import Home
from solarsim.studies.life.life import life
from solarsim.studies.offers import offers
from solarsim.views.offers import figure, page
from tests.studies.lives import off_grid_life, other_life

LEASE = {"years": 4, "monthly_payment": 95.0, "escalator_per_year": 0.0, "maintained": True}


def test_page_and_figure_name_every_offer(demo_home: Home, capsys: pytest.CaptureFixture[str]) -> None:
    home, _ = other_life(demo_home)
    found = offers([home, home.changed({"battery": None})], ["with", "without"])
    show(*page(found))
    shown = capsys.readouterr().out
    assert "Lowest upfront cost: without." in shown
    assert "without differs from the first offer: battery: not set (first: set)" in shown
    assert max(map(len, shown.splitlines())) <= 100
    assert "Payments" not in shown
    panel = figure(found).axes[0]
    assert [str(line.get_label()).split(":")[0] for line in panel.get_lines()[1:]] == ["with", "without"]
    assert "USD" in panel.get_ylabel()


def test_payments_of_a_contract_and_ties_of_cost_are_shown(demo_home: Home, capsys: pytest.CaptureFixture[str]) -> None:
    home, _ = other_life(demo_home)
    leased = home.changed({"costs.incentives": [], "costs.lease": LEASE})
    dearer = leased.changed({"costs.lease.monthly_payment": 100.0})
    show(*page(offers([home, leased, dearer], ["cash", "lease", "other lease"])))
    shown = capsys.readouterr().out
    assert "Lowest upfront cost: lease and other lease (equal)." in shown
    assert "1,140" in shown
    assert "Payments: of the first year for a loan, lease or power purchase agreement;" in shown
    assert max(map(len, shown.splitlines())) <= 100


def test_offers_for_a_home_off_the_grid_tell_what_is_unserved(capsys: pytest.CaptureFixture[str]) -> None:
    dark, _, home = off_grid_life()
    found = offers([dark, dark.changed({"costs.parts.0.unit_price": 4000.0})], ["small", "cheap"])
    show(*page(found))
    shown = " ".join(capsys.readouterr().out.split())
    kwh = min(each.unserved_kwh for each in life(dark, None, home).strategies) / 2
    assert f"small: not comparable in money: {kwh:,.0f} kWh a year are unserved." in shown
    assert "Best strategy" not in shown
    assert found.offers[0].lcoe is not None


def test_what_is_not_written_is_shown_as_its_default(demo_home: Home, capsys: pytest.CaptureFixture[str]) -> None:
    home, _ = other_life(demo_home)
    show(*page(offers([home, home.changed({"battery.bank.0.strings": 2})], ["a", "b"])))
    assert "b differs from the first offer: battery.bank.0.strings: 2 (first: 1)." in capsys.readouterr().out
