"""The battery's life under each strategy: end of life, warranty, cost of a kWh."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from solarsim.aging.law import Stress, condition, plus
from solarsim.aging.lfp import LFP
from solarsim.errors import ScenarioError, UnknownNameError
from solarsim.home import Home, home_from
from solarsim.run import simulate
from solarsim.scenario.model import Scenario
from solarsim.scenario.read import packaged_folder, read_scenario
from solarsim.studies.compare.compare import Comparison, compare
from solarsim.studies.wear import LAWS, Wear, _years_until, battery_of, capacity_by_year, stress_of, wear
from solarsim.views.compare import page as comparison_page
from solarsim.views.wear import page
from tests.builders import scenario


@pytest.fixture(scope="module")
def demo_wear(demo_home: Home) -> Wear:
    """Follow the demo's battery for 12 years."""
    return wear(demo_home.scenario, years=12, home=demo_home)


@pytest.fixture(scope="module")
def net_shed() -> Comparison:
    """Run the shed whose cells freeze."""
    return compare(read_scenario(packaged_folder("scenarios") / "net_shed.toml"))


@pytest.mark.second_opinion
def test_cycles_counted_by_rainflow_are_the_ledger_s(demo_comparison: Comparison, demo_wear: Wear) -> None:
    """The library counts ranges; the ledger adds up what was drawn: self-discharge makes the small difference."""
    for run, each in zip(demo_comparison.runs, demo_wear.strategies, strict=True):
        assert each.equivalent_full_cycles == pytest.approx(run.ledger.equivalent_full_cycles, rel=2e-3)


@pytest.mark.by_hand
def test_a_life_is_the_year_again_and_again(demo_comparison: Comparison, demo_wear: Wear) -> None:
    run, home = demo_comparison.runs[0], demo_comparison.home
    state = Stress()
    for year in range(1, 4):
        state = plus(state, stress_of(run, home))
        assert condition(LFP, state).capacity == pytest.approx(demo_wear.strategies[0].capacity_by_year[year])
    np.testing.assert_allclose(capacity_by_year(run, home, 12), demo_wear.strategies[0].capacity_by_year)


@pytest.mark.by_hand
def test_capacity_falls_and_is_split(demo_wear: Wear) -> None:
    for each in demo_wear.strategies:
        capacity = each.capacity_by_year
        assert capacity.size == 13
        assert capacity[0] == 1.0
        assert (np.diff(capacity) < 0.0).all()
        np.testing.assert_allclose(capacity, 1 - each.calendar_aging_by_year - each.cycle_aging_by_year)
        assert 1.0 - each.calendar_aging_10_years - each.cycle_aging_10_years == pytest.approx(capacity[10])
        assert each.years_to_end is not None
        # The end lies between the years around it.
        ended = np.arange(capacity.size) > each.years_to_end
        assert (capacity[~ended] >= 0.8).all()
        assert (capacity[ended] <= 0.8).all()


@pytest.mark.by_hand
def test_years_until_a_share_are_read_between_months() -> None:
    falling = np.linspace(1.0, 0.6, 481)  # a hundredth a year
    assert _years_until(falling, 0.8) == pytest.approx(20.0)
    assert _years_until(falling, 0.5) is None


@pytest.mark.by_hand
def test_a_kwh_costs_the_price_over_what_a_fading_battery_delivers(
    demo_comparison: Comparison, demo_wear: Wear
) -> None:
    first, run = demo_wear.strategies[0], demo_comparison.runs[0]
    given = (run.flows["battery_to_load_kw"] + run.flows["battery_to_grid_kw"]).sum()
    assert first.delivered_kwh == pytest.approx(given)
    assert first.lcos is not None
    assert first.years_to_end is not None
    # Between what the last year's and what the first year's capacity would make of it.
    in_life = 3894.0 / first.lcos
    assert 0.8 * given * first.years_to_end < in_life < given * first.years_to_end
    assert demo_comparison.solar_only is not None
    saved = demo_comparison.solar_only.ledger.energy_cost - run.ledger.energy_cost
    assert first.savings_per_kwh == pytest.approx(saved / given)


def _with(home: Home, changes: dict[str, Any]) -> Home:
    return replace(home, scenario=home.scenario.changed(changes))


def _worn(home: Home, **options: Any) -> Wear:
    return wear(home.scenario, home=home, **options)


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("throughput_mwh", "remaining", "by_throughput", "kept"),
    [(None, 0.7, False, True), (None, 0.83, False, False), (10.0, 0.7, True, True), (1000.0, 0.7, False, True)],
)
def test_a_warranty_ends_by_years_or_by_throughput(
    demo_home: Home, throughput_mwh: float | None, remaining: float, by_throughput: bool, kept: bool
) -> None:
    promise = {"years": 10.0, "throughput_mwh": throughput_mwh, "remaining": remaining}
    changes = {f"battery.warranty.{key}": value for key, value in promise.items()} | {"battery.end_of_life": 0.85}
    check = _worn(_with(demo_home, changes), strategy="serve the home first").strategies[0].warranty
    assert check is not None
    assert (check.by_throughput, check.kept) == (by_throughput, kept)
    assert check.kept == (check.remaining_then >= remaining)
    if by_throughput:
        # 175.4 cycles of 26.112 kWh are 4.58 MWh in the first year, and less in each that follows.
        assert 10.0 / 4.58 < check.ends_after_years < 10.0 / 4.58 * 1.1
    else:
        assert check.ends_after_years == 10.0


def test_without_a_warranty_none_is_checked(demo_home: Home) -> None:
    found = _worn(_with(demo_home, {"battery.warranty": None}), strategy="zero export").strategies[0]
    assert found.warranty is None
    assert found.lcos is not None


@pytest.mark.by_hand
def test_a_battery_costs_what_its_marked_parts_do(demo_home: Home, demo_wear: Wear) -> None:
    """One price for ``wear`` and ``life``: 32 cells at 112 and 2 cabinets at 310, installation aside."""
    assert demo_wear.battery_price == 32 * 112 + 2 * 310
    costs = demo_home.scenario.costs
    assert costs is not None
    unmarked = costs.model_copy(
        update={
            "parts": tuple(part.model_copy(update={"of": None, "per": None, "quantity": 1.0}) for part in costs.parts)
        }
    )
    for changed in (None, unmarked):
        home = replace(demo_home, scenario=demo_home.scenario.model_copy(update={"costs": changed}))
        found = _worn(home, strategy="zero export")
        assert (found.battery_price, found.strategies[0].lcos) == (None, None)
        assert found.strategies[0].savings_per_kwh is not None
        assert "No LCOS" in " ".join(map(str, page(found)))


def test_a_battery_that_never_gives_has_no_price_per_kwh() -> None:
    idle = scenario(
        battery__chemistry="lfp",
        battery__place="indoor",
        costs={"parts": [{"name": "bank", "quantity": 1.0, "unit_price": 1000.0, "of": "battery"}]},
        strategies=[{"name": "idle", "surplus_to": "battery", "battery_serves_load": False, "reserve": 0.2}],
    )
    found = wear(idle).strategies[0]
    assert (found.delivered_kwh, found.lcos, found.savings_per_kwh) == (0.0, None, None)


def test_cold_cells_keep_sun_out_and_a_heater_lets_it_in(net_shed: Comparison) -> None:
    cold, shed = net_shed.runs[0], net_shed.home.scenario
    battery = battery_of(shed)
    temperature_c = net_shed.home.bank.temperature_c
    assert temperature_c is not None
    frozen = temperature_c <= 0.0
    assert frozen.sum() > 500
    assert cold.flows["pv_to_battery_kw"][frozen].max() == 0.0
    assert cold.ledger.annual_kwh["temperature_blocked_kwh"] > 100.0
    assert cold.ledger.temperature_blocked_h == (cold.flows["temperature_blocked_kw"] > 1e-6).sum()

    heater = {"heater": {"w": 300.0, "below_c": 3.0}}
    heated_scenario = Scenario.model_validate(
        {**dict(shed), "battery": {**battery.model_dump(exclude_unset=True), **heater}, "costs": None}
    )
    heated_scenario._origin = shed._origin
    home = home_from(heated_scenario)
    heated = simulate(heated_scenario, cold.strategy, home)
    used_kwh = float(home.bank.cells.heater_kw.sum())
    assert used_kwh > 10.0
    own = heated.ledger.annual_kwh["standby_kwh"] - cold.ledger.annual_kwh["standby_kwh"]
    assert own == pytest.approx(used_kwh)
    assert heated.ledger.balance_error_kw <= 1e-6
    told = " ".join(map(str, comparison_page(replace(net_shed, home=home, runs=(heated,)))))
    assert f"standby and the battery heater {heated.standby_kwh:,.0f}" in told
    assert heated.ledger.annual_kwh["temperature_blocked_kwh"] < 0.5 * cold.ledger.annual_kwh["temperature_blocked_kwh"]


def test_every_chemistry_has_a_law() -> None:
    for chemistry in LAWS:
        found = wear(scenario(battery__chemistry=chemistry, battery__place="indoor"), years=3)
        assert all(np.isfinite(each.capacity_by_year).all() for each in found.strategies)


def test_what_cannot_wear_is_refused(demo_home: Home, demo_comparison: Comparison) -> None:
    with pytest.raises(ScenarioError, match=r"battery\.chemistry: is missing; allowed: lfp, nmc"):
        battery_of(scenario())
    with pytest.raises(ScenarioError, match="has no battery, so none can age"):
        battery_of(scenario(battery__capacity_kwh=0.0))
    plain = replace(demo_home, bank=demo_home.bank._replace(temperature_c=None))
    with pytest.raises(ScenarioError, match=r"battery\.chemistry: is missing"):
        stress_of(demo_comparison.runs[0], plain)
    with pytest.raises(ValueError, match="years 41 must be 1 to 40"):
        _worn(demo_home, years=41)
    with pytest.raises(UnknownNameError, match="did you mean 'zero export'"):
        _worn(demo_home, strategy="zero exports")


@pytest.mark.by_hand
def test_fuel_of_a_generator_is_taken_from_the_savings_and_darkness_earns_nothing() -> None:
    """On the storm coast, fuel at ten times the price costs nine times its cost more, for the same energy delivered."""
    coast = read_scenario(packaged_folder("scenarios") / "storm_coast.toml")
    assert coast.generator is not None
    name = coast.strategies[0].name
    costly = coast.changed({"generator.fuel_price": 10 * coast.generator.fuel_price})
    one, other = (wear(each, strategy=name).strategies[0] for each in (coast, costly))
    assert one.savings_per_kwh is not None
    assert other.savings_per_kwh is not None
    fuel_cost = simulate(coast, name).ledger.fuel_cost
    assert fuel_cost > 1.0
    assert (one.savings_per_kwh - other.savings_per_kwh) * one.delivered_kwh == pytest.approx(9 * fuel_cost)


def test_home_off_the_grid_has_no_savings_over_solar_alone() -> None:
    """Solar without a battery cannot live off the grid: a saving of 0 over it would mislead."""
    dark = scenario(
        battery__chemistry="lfp",
        battery__place="indoor",
        arrangement={"kind": "off_grid", "backed_up": "all", "grid": "none"},
    )
    found = wear(dark)
    assert found.strategies[0].delivered_kwh > 0.0
    assert {each.savings_per_kwh for each in found.strategies} == {None}
    assert "No savings: off the grid" in " ".join(map(str, page(found)))
