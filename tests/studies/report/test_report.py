"""What a report collects, recommends and cannot have."""

from datetime import date

import numpy as np
import pytest

from solarsim.errors import ScenarioError, UnknownNameError
from solarsim.home import Home
from solarsim.studies.report._missing import missing_from
from solarsim.studies.report.report import SECTIONS, Report, report
from tests.builders import scenario
from tests.studies.lives import other_life


@pytest.fixture(scope="module")
def found(demo_home: Home) -> Report:
    """Collect a short life of the demo."""
    lived, home = other_life(demo_home)
    return report(lived, ["short"], home=home, made_on=date(2026, 3, 1))


def test_it_recommends_the_highest_npv_and_says_so(found: Report) -> None:
    (home,) = found.homes
    npvs = {} if home.life is None else {each.name: each.npv for each in home.life.strategies}
    assert home.strategy == max(npvs, key=lambda name: npvs[name] or -np.inf)
    assert (home.chosen_by, home.comparison.runs[home.strategy_number].name) == ("npv", home.strategy)
    assert [home.sheet.strategy, home.bill.bills[1].name] == [home.strategy] * 2


@pytest.mark.by_hand
def test_ratings_and_means_are_the_home_s(found: Report) -> None:
    (home,) = found.homes
    ratings = home.ratings
    assert (ratings.modules, ratings.inverters) == (10 + 9, 1)
    assert ratings.kw_dc == pytest.approx(19 * 0.410)
    assert ratings.dc_ac_ratio == pytest.approx(19 * 0.410 / 6.0)
    assert ratings.nameplate_kwh == pytest.approx(16 * 3.2 * (280 + 230) / 1000)
    assert ratings.usable_kwh == pytest.approx(0.9 * ratings.nameplate_kwh)  # above the low cutoff of 10%
    assert (ratings.battery_v, ratings.export_limit_kw, ratings.grid_v, ratings.phases) == (51.2, 6.0, 240.0, "split")
    assert home.mean_monthly_baseline_bill == pytest.approx(1786.30 / 12)  # the demo's bill without a system
    assert home.incentives == pytest.approx(1000.0)  # 10% of 13,167, at most 1,000
    assert home.mean_daily_demand_kwh == pytest.approx((10120 + 8.76 * 55) / 365)


def test_days_and_months_are_the_extremes_of_sheet_and_outages(found: Report) -> None:
    (home,) = found.homes
    assert home.sunny_day is not None
    assert home.cloudy_day is not None
    assert home.sunny_day.pv_available_kwh == max(day.pv_available_kwh for day in home.sheet.days)
    assert home.cloudy_day.pv_available_kwh == min(day.pv_available_kwh for day in home.sheet.days)
    assert home.outages is not None
    assert home.shortest_backup is not None
    assert home.shortest_backup.backup_duration_h == min(each.backup_duration_h for each in home.outages.months)
    assert home.longest_backup in home.outages.months


def test_life_without_uncertainty_has_no_p90_and_the_missing_keys_are_named(found: Report) -> None:
    (home,) = found.homes
    assert home.risk is None
    assert {each.study: each.lacks for each in home.missing} == {
        "risk": ("has no table [life.uncertainty]; add one with lifetimes, seed",)
    }
    assert found.record()["homes"][0]["missing"][0]["study"] == "risk"
    assert found.made_on == date(2026, 3, 1)


def test_plain_home_lacks_everything_but_the_year() -> None:
    missing = {each.study: " ".join(each.lacks) for each in missing_from(scenario())}
    assert list(missing) == ["savings", "life", "risk", "outages", "wiring"]
    for key in ("parts", "years, money, discount_rate, panel_degradation_per_year"):
        assert key in missing["life"]
    assert "grid_tied, hybrid or off_grid" in missing["outages"]


def test_asked_for_strategy_is_taken_and_unknown_names_are_refused(demo_home: Home) -> None:
    lived, home = other_life(demo_home)
    chosen = report(lived, strategy="zero export", without=["bank"], home=home).homes[0]
    assert (chosen.strategy, chosen.chosen_by) == ("zero export", "user")
    with pytest.raises(UnknownNameError, match="did you mean 'wiring'"):
        report(lived, without=["wirng"], home=home)
    with pytest.raises(UnknownNameError, match="did you mean 'zero export'"):
        report(lived, strategy="zero exprt", home=home)
    with pytest.raises(ValueError, match="a home belongs to one scenario"):
        report([lived, lived], ["a", "b"], home=home)


def test_part_that_is_left_out_takes_its_sections_with_it(found: Report) -> None:
    assert all(found.has(section) for section in SECTIONS)
    from dataclasses import replace

    fewer = replace(found, without=("bank", "roof"))
    left = [section for section in SECTIONS if not fewer.has(section)]
    assert left == ["roof", "bank", "certainty", "cash", "payments", "sensitivity"]


@pytest.mark.slow
def test_several_are_offers_side_by_side_and_other_homes_are_refused(demo_home: Home) -> None:
    first = demo_home.scenario.changed({"life.years": 2})
    other = first.changed({"battery.bank.0.strings": 2})
    found = report([first, other], ["small", "large"], without=["bank"])
    assert found.offers is not None
    assert [each.life for each in found.homes] == [each.life for each in found.offers.offers]
    assert found.no_offers is None
    without_life = report([first, other.changed({"life": None})], ["small", "large"], without=["bank"])
    assert without_life.offers is None
    assert without_life.no_offers is not None
    assert without_life.no_offers.lacks[0].startswith("'large' has no table [life]; add one with years, money")
    with pytest.raises(ScenarioError, match="is for another home"):
        report([first, first.changed({"load.shape": "home_all_day"})], ["a", "b"])
