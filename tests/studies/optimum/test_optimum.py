"""The optimum of a home: one for each reserve, what it costs, and each strategy's share."""

from dataclasses import replace

import pytest

from solarsim.home import Home, home_from
from solarsim.ledger.prices import prices_from
from solarsim.run import simulate, without_battery
from solarsim.scenario.read import packaged_folder, read_rate_plan, read_scenario
from solarsim.studies.compare.compare import Comparison, compare
from solarsim.studies.optimum import optimum as module
from solarsim.studies.optimum.optimum import Optimum, battery_savings_share, optima, optimum
from tests.builders import scenario


@pytest.fixture(scope="module")
def demo_best(demo_home: Home) -> Comparison:
    """Compare the demo's strategies with the optimum."""
    return compare(demo_home.scenario, demo_home, best=True)


def costs(best: Optimum) -> tuple[float, float]:
    assert best.energy_cost is not None
    assert best.scheduled_energy_cost is not None
    return best.energy_cost, best.scheduled_energy_cost


@pytest.mark.slow
@pytest.mark.snapshot
def test_demo_has_an_optimum_for_each_reserve(demo_best: Comparison) -> None:
    """The table of the README. Before, shares of all savings counted solar alone: 78% was called 91%."""
    assert demo_best.best is not None
    four, one = demo_best.best
    assert one.strategies == ("storm season reserve",)
    assert len(four.strategies) == 4
    assert (four.reserve_low, four.reserve_high, one.reserve_low, one.reserve_high) == (0.2, 0.2, 0.2, 0.6)
    assert [four.energy_cost, one.energy_cost] == pytest.approx([270.82, 284.26], abs=0.01)
    assert [four.reserve_cost, one.reserve_cost] == pytest.approx([3.44, 16.88], abs=0.01)
    shares = [run.battery_savings_share for run in demo_best.runs]
    assert shares == pytest.approx([0.780, 0.579, 0.912, 0.669, 0.747], abs=0.0006)
    assert demo_best.table()["battery_savings_share"].tolist() == shares


@pytest.mark.slow
def test_schedule_of_the_demo_is_within_a_hundredth_of_its_bound(demo_best: Comparison) -> None:
    """A schedule that the hardware follows costs no less than the bound, so both are close to the truth."""
    for each in demo_best.best or ():
        bound, schedule = costs(each)
        assert bound <= schedule
        assert each.scheduled_share is not None
        assert 0.99 < each.scheduled_share <= 1.0


@pytest.mark.by_hand
def test_share_counts_what_is_saved_beyond_solar_alone() -> None:
    """Solar alone 860, optimum 270: 590 to save, of which 400 saves 460 and 920 loses 60."""
    assert battery_savings_share(400.0, 860.0, 1790.0, 270.0) == pytest.approx(460 / 590)
    assert battery_savings_share(920.0, 860.0, 1790.0, 270.0) == pytest.approx(-60 / 590)
    assert battery_savings_share(270.0, 860.0, 1790.0, 270.0) == 1.0


@pytest.mark.by_hand
def test_share_is_none_where_a_battery_saves_hardly_anything() -> None:
    """1% of 1790 is 17.90."""
    assert battery_savings_share(850.0, 860.0, 1790.0, 842.2) is None
    assert battery_savings_share(850.0, 860.0, 1790.0, 842.0) == pytest.approx(10 / 18)
    assert battery_savings_share(None, 860.0, 1790.0, 270.0) is None
    assert battery_savings_share(400.0, 860.0, 1790.0, None) is None


@pytest.mark.slow
def test_share_is_not_above_one_by_rounded_bill_lines() -> None:
    """Every line of a bill is rounded to the cent, the bound is not: a share near 1 must not show it."""
    perfect = {"inverter__efficiency": {"constant": 0.97}, "battery__self_discharge_per_month": 0.0}
    found = compare(scenario(**perfect, inverter__standby_w=0.0), best=True)
    assert found.runs[0].battery_savings_share == pytest.approx(1.0, abs=1e-6)


def test_no_bound_where_a_bill_is_not_convex() -> None:
    tiers = [{"name": "all", "tiers": [{"up_to_kwh": 300.0, "price": 0.3}, {"price": 0.1}]}]
    home = home_from(scenario(rate_plan__rates=tiers))
    assert optimum(home).energy_cost is None
    (found,) = optima(home, {"home first": 0.0})
    named = replace(optimum(home, "home first"), strategies=("home first",), unserved_kwh=0.0)
    assert found.record() == named.record()
    assert found.why_none.startswith("the price of a tier falls")
    comparison = compare(home.scenario, home, best=True)
    assert comparison.runs[0].battery_savings_share is None
    assert comparison.record()["best"] == [found.record()]


def test_each_reserve_and_amount_of_unserved_energy_is_solved_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two strategies share a reserve; one leaves more unserved; one keeps no more than the low cutoff."""
    one = {"surplus_to": "battery", "battery_serves_load": True}
    reserves = {"a": 0.3, "b": 0.3, "c": 0.3, "d": 0.1}
    home = home_from(scenario(strategies=[{"name": name, **one, "reserve": each} for name, each in reserves.items()]))
    asked: list[tuple[tuple[str, ...], float, float | None]] = []

    def solved(_: Home, kept: module._Kept, scheduled: bool) -> Optimum:
        high = float(kept.reserve.max())
        asked.append((kept.strategies, high, kept.unserved_kwh))
        assert scheduled == bool(kept.strategies)
        return Optimum(kept.strategies, high, high, kept.unserved_kwh, 100.0 + 50.0 * high)

    monkeypatch.setattr(module, "_optimum", solved)
    found = optima(home, {"a": 0.0, "b": 0.0, "c": 7.0, "d": 0.0})
    assert sorted(asked) == [((), 0.1, 7.0), (("a", "b"), 0.3, 0.0), (("c",), 0.3, 7.0), (("d",), 0.1, 0.0)]
    assert [each.strategies for each in found] == [("a", "b"), ("c",), ("d",)]
    assert [each.reserve_cost for each in found] == pytest.approx([10.0, 10.0, 0.0])


#: Of the possible battery savings. The bound is a little loose: it spreads the loss of running at all over the
#: inverter's best output.
LEAST_SHARES = {
    "miami": 0.99, "net_shed": 0.99, "older_roof": 0.99, "ridge_farm": 0.99, "sand_point": 0.99, "storm_coast": 0.98,
}  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("name", LEAST_SHARES)
def test_bound_and_schedule_agree_on_every_example(name: str) -> None:
    """The schedule is a run of the engine: it costs no less than the bound, and not much more."""
    agree(home_from(read_scenario(name)), LEAST_SHARES[name])


@pytest.mark.slow
@pytest.mark.parametrize(
    ("plan", "least_share"),
    [("demand", 0.99), ("rising_tiers", 0.98), ("net_metering", 0.96), ("hourly_net_billing", 0.99)],
)
def test_bound_and_schedule_agree_where_a_bill_is_no_sum_of_hours(
    plan: str, least_share: float, demo_home: Home
) -> None:
    """Made with what a kWh is worth in the program's solution: the tolerance is wider."""
    rate_plan = read_rate_plan(packaged_folder("scenarios") / "rate_plans" / f"{plan}.toml")
    agree(replace(demo_home, prices=prices_from(rate_plan, demo_home.timeline)), least_share)


def agree(home: Home, least_share: float) -> None:
    first = home.scenario.strategies[0].name
    run = simulate(home.scenario, first, home)
    kept = module._Kept((first,), module._reserve(home, first), run.unserved_kwh)
    bound, schedule = costs(module._optimum(home, kept, scheduled=True))
    alone = without_battery(home.scenario, home).ledger.exact_energy_cost
    assert bound <= min(schedule, run.ledger.exact_energy_cost)
    assert least_share < (alone - schedule) / (alone - bound) <= 1.0
