"""What to purchase: steps, designs, the best of them, and what is refused."""

import os
import signal
import threading
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from solarsim.errors import ScenarioError
from solarsim.home import Home
from solarsim.ledger.cash_flow import capital_recovery_factor
from solarsim.run import simulate
from solarsim.scenario.model import Scenario
from solarsim.scenario.read import read_scenario
from solarsim.scenario.write import scenario_text
from solarsim.studies.life.life import life
from solarsim.studies.outages.worst_month import worst_month
from solarsim.studies.size.chances import chances_of
from solarsim.studies.size.design import Design, tie_of
from solarsim.studies.size.size import Size, _shop_of, size
from tests.studies.lives import other_life
from tests.studies.size.homes import BANK, COSTS, LIFE, ROOF, flat_home, home_like, sized

LEASE = {"years": 10, "monthly_payment": 50.0, "escalator_per_year": 0.0, "maintained": True}
POWER = {"years": 10, "price_per_kwh": 0.1, "escalator_per_year": 0.0, "maintained": True}
LOAN = {"share": 0.5, "rate": 0.05, "years": 5}
SOUTH = 'arrays."south roof".modules_in_series'


@pytest.fixture(scope="module")
def found(demo_home: Home) -> Size:
    """Size the demo over four years: its cells along one axis, a face along the other, and half a watt of standby."""
    scenario, home = other_life(demo_home)
    return size(scenario, {BANK: [1, 2], SOUTH: [10, 11], "inverter.standby_w": [55.0, 55.5]}, home)


def test_no_strings_at_all_is_a_home_without_a_battery(demo: Scenario) -> None:
    gone = demo.changed({"battery.bank.*.strings": 0})
    assert gone.battery is None
    assert gone.arrangement is not None
    assert gone.arrangement.kind == "grid_tied"


def test_one_bank_entry_may_have_no_strings_while_others_remain(demo: Scenario) -> None:
    """16 cells x 230 Ah x 3.2 V = 11.776 kWh remain."""
    left = demo.changed({BANK: 0})
    assert left.battery is not None
    assert left.battery.kwh == pytest.approx(11.776)


def test_an_array_without_modules_is_left_out(demo: Scenario) -> None:
    assert [each.name for each in demo.changed({"arrays.0.modules_in_series": 0}).arrays] == ["west roof"]


@pytest.mark.by_hand
def test_export_at_the_retail_price_a_module_saves_its_energy_and_a_battery_nothing() -> None:
    """Closed form: flat price, export paid the same, no limits: kWh AC x price for a module; losses for a battery."""
    home = flat_home({"pay": "same_as_import"})
    designs = sized(home, {ROOF: [10, 11], BANK: [0, 1, 2]}).designs
    saved = {tuple(each.changes.values()): each.annual_savings or 0.0 for each in designs}
    alone = home.changed({BANK: 0})
    flows = simulate(alone, "home first", home_like(alone)).flows
    module_kwh = float(flows["pv_to_load_kw"].sum() + flows["pv_to_grid_kw"].sum()) / 10.0
    assert saved[11, 0] - saved[10, 0] == pytest.approx(0.20 * module_kwh, abs=0.13)  # twelve bills, each to a cent
    assert saved[10, 1] < saved[10, 0]
    assert saved[10, 2] < saved[10, 0]


@pytest.mark.by_hand
def test_npv_of_a_constant_saving_is_the_saving_times_the_annuity_factor() -> None:
    """Closed form: nothing grows or ages: NPV = savings / capital recovery factor - cost."""
    for each in sized(flat_home(), {BANK: [0, 1]}).designs:
        expected = (each.annual_savings or 0.0) / capital_recovery_factor(0.05, 10) - each.upfront_cost
        assert each.npv == pytest.approx(expected, abs=0.01)


@pytest.mark.by_hand
def test_more_battery_is_never_worth_more_for_each_kwh_and_more_modules_never_save_less() -> None:
    """Closed form: flat price, no export pay, constant efficiency, no reserve."""
    designs = sized(flat_home(), {ROOF: [8, 14], BANK: [0, 1, 2, 3, 4]}).designs
    saved = {tuple(each.changes.values()): each.annual_savings or 0.0 for each in designs}
    for modules in (8, 14):
        gains = [saved[modules, strings + 1] - saved[modules, strings] for strings in range(4)]
        assert gains[0] > 0.0
        assert all(later <= earlier + 0.25 for earlier, later in pairwise(gains))  # two years of twelve bills to a cent
    assert all(saved[14, strings] >= saved[8, strings] for strings in range(5))


@pytest.mark.by_hand
def test_free_batteries_the_largest_wins_up_to_ties_and_at_a_hundred_times_the_price_none_does() -> None:
    """Flat price, no export pay: stored energy is worth its price, and costs nothing or far more."""
    for price, winner in ((0.0, 4), (10_000.0, 0)):
        cells = {"name": "cells", "per": "cell", "unit_price": price, "of": "cells"}
        rest = {"name": "all", "quantity": 1.0, "unit_price": 5000.0}
        found = sized(flat_home(costs={"parts": [rest, cells]}), {BANK: [0, 1, 2, 3, 4]})
        assert found.best is not None
        assert winner in [each.changes[BANK] for each in (found.best, *found.ties)]
        assert all(each.changes[BANK] == winner for each in found.designs if (each.npv or 0.0) > (found.best.npv or 0))


def test_gains_along_one_axis_add_up_to_the_difference_of_the_ends(found: Size) -> None:
    one, two = (
        next(each for each in found.designs if tuple(each.changes.values()) == values)
        for values in ((1, 10, 55.0), (2, 10, 55.0))
    )
    step = next(each for each in found.next_steps if each.changes[BANK] == 2)
    assert one.npv == found.written.npv
    assert (one.npv or 0.0) + (step.npv_gain or 0.0) == pytest.approx(two.npv)
    assert step.added_cost == pytest.approx(two.upfront_cost - one.upfront_cost)


def test_best_is_what_life_says_of_it(found: Size) -> None:
    assert found.best is not None
    alone = life(found.home.scenario.changed(found.best.changes)).best
    assert alone is not None
    assert found.best.exact
    assert (found.best.npv, found.best.strategy) == (alone.npv, alone.name)


@pytest.mark.slow
def test_ten_best_designs_are_what_life_says_of_them(demo: Scenario, demo_home: Home) -> None:
    """Of twelve designs over eight years ten are computed year by year; the others are within their limits."""
    home = demo.changed({"life.years": 8, "costs.incentives": []})
    axes: dict[str, Any] = {BANK: [0, 1, 2], SOUTH: [9, 10], "inverter.standby_w": [50.0, 60.0]}
    found = size(home, axes, replace(demo_home, scenario=home))
    assert sum(each.exact for each in found.designs) == 10
    for each in found.designs:
        alone = life(home.changed(each.changes)).best
        assert alone is not None
        assert each.strategy == alone.name
        assert each.npv == pytest.approx(alone.npv, abs=0.0 if each.exact else tie_of(each))


@pytest.mark.slow
def test_best_with_a_dated_change_is_what_life_says_of_the_written_file(tmp_path: Path) -> None:
    """Without the first strings of cells the change that adds to them lapses; all designs are computed exactly."""
    found = size(read_scenario("older_roof"), {BANK: [0, 1, 2], "inverter.standby_w": [25.0, 40.0]})
    assert found.found is not None
    assert len(found.designs) == 6
    assert all(each.exact for each in found.designs)
    file = tmp_path / "found.toml"
    file.write_text(scenario_text(found.found, tmp_path))
    alone = life(read_scenario(file)).best
    assert alone is not None
    assert found.best is not None
    assert (found.best.npv, found.best.strategy) == (alone.npv, alone.name)
    bare = next(each for each in found.designs if each.changes == {BANK: 0, "inverter.standby_w": 25.0})
    life_of_bare = life(read_scenario("older_roof").changed(bare.changes)).best
    assert life_of_bare is not None
    assert bare.npv == pytest.approx(life_of_bare.npv, abs=0.01)


def test_steps_are_sorted_by_npv_and_name_every_axis(found: Size) -> None:
    gains = [each.npv_gain for each in found.next_steps if each.npv_gain is not None]
    assert gains == sorted(gains, reverse=True)
    named = [each.changes.keys() for each in found.next_steps] + [each.changes.keys() for each in found.designs]
    assert all(each >= found.axes.keys() for each in named)
    assert {each.more for each in found.next_steps} == {True, False}


def test_a_step_of_the_inverter_has_the_keys_of_its_size(found: Size) -> None:
    larger = next(each for each in found.next_steps if each.name == "inverter: 8 kW instead of 6 kW")
    assert larger.changes["inverter.battery_charge_a"] == 160
    assert larger.added_cost == pytest.approx(1890.0 - 1450.0)  # by hand, from the demo's table


def test_a_tie_is_what_the_model_cannot_tell_apart(found: Size) -> None:
    """Half a watt of standby is worth less than 0.1% of the upfront cost in four years."""
    assert found.best is not None
    assert found.best.changes["inverter.standby_w"] == 55.0
    other = {**found.best.changes, "inverter.standby_w": 55.5}
    tie = next(each for each in found.ties if each.changes == other)
    assert 0.0 < (found.best.npv or 0.0) - (tie.npv or 0.0) < tie_of(found.best)


def test_frontier_rises_in_cost_and_npv(found: Size) -> None:
    points = [(each.upfront_cost, each.npv or 0.0) for each in found.frontier]
    assert all(left < right and below < above for (left, below), (right, above) in pairwise(points))
    assert found.frontier[-1] is found.best


def test_frontiers_have_the_backup_of_the_worst_month(found: Size) -> None:
    backups = {each.changes[BANK]: each.backup_duration_h or 0.0 for each in found.bill_frontier}
    assert backups[2] > backups[1] > 0.0
    longer = [(each.upfront_cost, each.backup_duration_h or 0.0) for each in found.backup_frontier]
    assert longer
    assert all(left < right and below < above for (left, below), (right, above) in pairwise(longer))
    assert found.backup_frontier[-1].changes[BANK] == 2
    costs = [(each.upfront_cost, each.energy_cost or 0.0) for each in found.bill_frontier]
    assert all(left < right and above > below for (left, above), (right, below) in pairwise(costs))


def test_chances_of_the_best_and_its_rivals_are_of_the_same_lifetimes() -> None:
    """Nothing but the sun is uncertain, and with it more modules always save more: free modules always win."""
    unsure = {"lifetimes": 10, "seed": 1, "weather_standard_deviation": 0.05}
    home = flat_home({"pay": "same_as_import"}, life={**LIFE, "years": 2, "uncertainty": unsure})
    found = size(home, {ROOF: [9, 10]}, home_like(home), chances=True)
    assert found.chances is not None
    assert [each.changes[ROOF] for each in found.chances] == [10, 9]
    assert [each.highest_share for each in found.chances] == [1.0, 0.0]
    assert all((each.npv_p90 or 0.0) <= (each.npv_p50 or 0.0) for each in found.chances)


@pytest.mark.slow
def test_backup_frontier_is_that_of_all_designs() -> None:
    """Computed where hardware says that it may be: the same as if the backup of every design were computed."""
    home = flat_home(
        {"pay": "none"},
        arrangement={"kind": "hybrid", "backed_up": "all", "transfer": "automatic", "transfer_seconds": 1},
    )
    found = sized(home, {BANK: [1, 2, 3], ROOF: [6, 10, 14]})
    every = {
        tuple(each.changes.values()): (each.upfront_cost, -backup[1])
        for each in found.designs
        if (backup := worst_month(home_like(home.changed(each.changes)), "home first")) is not None
    }
    better = {
        values: point
        for values, point in every.items()
        if not any(
            other != point and all(a <= b for a, b in zip(other, point, strict=True)) for other in every.values()
        )
    }
    shown = {(each.upfront_cost, -(each.backup_duration_h or 0.0)) for each in found.backup_frontier}
    assert len(found.designs) == len(every) == 9
    assert shown == set(better.values())


def test_chances_without_axes_are_those_of_the_home_and_its_steps() -> None:
    unsure = {"lifetimes": 10, "seed": 1, "weather_standard_deviation": 0.05}
    life_table = {**LIFE, "years": 2, "uncertainty": unsure}
    free = {"parts": [*COSTS["parts"], {"name": "string", "per": "string", "unit_price": 0.0}]}
    home = flat_home({"pay": "same_as_import"}, life=life_table, costs=free).changed({BANK: 0})
    found = size(home, None, home_like(home), chances=True)
    assert found.chances is not None
    first = found.next_steps[0]
    assert found.chances[0].changes == first.changes == {"arrays.roof.strings": 2}  # free, and all sun is paid
    assert {} in [each.changes for each in found.chances]
    with pytest.raises(ScenarioError, match=r"has no table \[life.uncertainty\]"):
        size(flat_home(), chances=True)


@pytest.mark.slow
def test_same_answer_on_two_workers() -> None:
    home, axes = flat_home(), {BANK: [0, 1], ROOF: [9, 10]}
    assert size(home, axes).record() == size(home, axes, workers=2).record()


@pytest.mark.slow
def test_same_answer_where_a_worker_is_killed() -> None:
    """One of two workers is killed after the first chunk of designs: what it had is done again."""
    home, axes = flat_home(), {BANK: [0, 1, 2], ROOF: range(6, 14)}
    killed: list[int] = []

    def kill_one(done: int, _: int) -> None:
        workers = Path(f"/proc/self/task/{threading.main_thread().native_id}/children").read_text().split()
        if done and not killed:
            killed.append(int(workers[0]))
            os.kill(killed[0], signal.SIGKILL)

    assert size(home, axes, workers=2, progress=kill_one).record() == size(home, axes).record()
    assert killed


def test_what_the_home_does_not_allow_is_skipped_and_counted() -> None:
    limits = {"faces": [{"arrays": ["roof"], "most_modules": 11}], "dc_ac_ratio": {"low": 0.17, "high": 2.0}}
    found = sized(flat_home(size=limits), {ROOF: [8, 9, 12], BANK: [0, 1]})
    assert {each.reason: each.designs for each in found.skipped} == {
        "roof: the face has room for 11 modules": 2,
        "DC/AC ratio is outside 0.17 to 2": 2,
    }
    assert len(found.designs) == 2


@pytest.mark.parametrize(
    ("axes", "problem"),
    [
        ({"battery.bank.0.string": [1, 2]}, r"axis battery.bank.0.string: none of its .*did you mean 'strings'"),
        ({BANK: []}, r"axis battery.bank.0.strings: has no values"),
        ({BANK: [1]}, r"axis battery.bank.0.strings: has one value, 1"),
        ({BANK: [1, 1]}, r"axis battery.bank.0.strings: has the value 1 twice"),
        ({BANK: range(1, 101), ROOF: range(1, 101), "inverter.ac_kw": range(1, 1001)}, r"10,000,000 designs .* hours"),
    ],
)
def test_axes_that_are_none_are_refused(axes: dict[str, list[int]], problem: str) -> None:
    with pytest.raises(ScenarioError, match=problem):
        sized(flat_home(), axes)


@pytest.mark.parametrize(
    ("changes", "problem"),
    [
        ({"costs.lease": LEASE}, r"costs.lease: states the price of this system only.*--set costs.lease=none"),
        ({"costs.power_purchase": POWER}, r"costs.power_purchase: states the price of this system only"),
        ({"costs.lease": LEASE, "costs.loan": LOAN}, r"loan and lease: a system is paid in one way"),
        ({"life.changes": [{"name": "car", "year": 0, "set": [f"{BANK}=2"]}]}, r"life.changes.*year.*must be at least"),
        ({"life.changes": [{"name": "car", "year": 1, "set": [f"{BANK}=2"]}]}, r"life.changes.*year.*must be at least"),
        ({"life": None}, r"has no table \[life\]"),
        ({"costs": None}, r"has no table \[costs\]"),
        ({"size.axes": [{"key": BANK, "values": []}]}, r"axis battery.bank.0.strings: has no values"),
    ],
)
def test_homes_that_cannot_be_sized_are_refused(changes: dict[str, Any], problem: str) -> None:
    with pytest.raises(ScenarioError, match=problem):
        sized(flat_home().changed(changes))


def test_design_under_a_contract_has_no_price() -> None:
    found = sized(flat_home(), {"costs.lease": [None, LEASE]})
    assert [each.changes for each in found.designs] == [{"costs.lease": None}]
    assert [each.reason.split(":")[0] for each in found.skipped] == ["costs.lease"]


def test_all_designs_impossible_is_refused_with_the_reasons() -> None:
    home = flat_home(size={"faces": [{"arrays": ["roof"], "most_modules": 5}]})
    with pytest.raises(ScenarioError, match="no design is possible: 2 of 2: roof: the face has room for 5 modules"):
        sized(home, {ROOF: [10, 11]})


def test_a_face_of_no_array_is_noted() -> None:
    found = sized(flat_home(size={"faces": [{"arrays": ["rof"], "most_modules": 5}]}))
    assert "size.faces: 'rof' is not an array of the home; did you mean 'roof'?" in found.notes


def test_without_axes_there_are_only_steps() -> None:
    found = sized(flat_home())
    assert (found.designs, found.best) == ((), None)
    assert set(found.table().index) == {each.name for each in found.next_steps}


@pytest.mark.by_hand
def test_step_without_a_price_is_not_ranked_but_has_the_cost_that_it_may_have() -> None:
    """All is bought for one sum: a string more would seem to be free; its NPV gain is what it may cost at most."""
    lump = {"parts": [{"name": "all", "quantity": 1.0, "unit_price": 5000.0}]}
    listed = {"parts": [*lump["parts"], {"name": "string", "per": "battery_string", "unit_price": 100.0}]}
    alone, priced = sized(flat_home(costs=lump)), sized(flat_home(costs=listed))
    assert alone.found is None
    assert all("no line of [costs] follows this hardware" in (each.price_missing or "") for each in alone.next_steps)
    free, paid = (next(each for each in found.next_steps if each.changes == {BANK: 2}) for found in (alone, priced))
    assert (free.added_cost, free.payback_years) == (0.0, None)
    assert (paid.added_cost, paid.price_missing) == (100.0, None)
    assert (free.npv_gain or 0.0) - 100.0 == pytest.approx(paid.npv_gain)
    assert free.break_even_cost == pytest.approx(free.npv_gain, abs=0.02)
    assert paid.break_even_cost is None
    order = [each.price_missing is None for each in priced.next_steps]
    assert order == sorted(order, reverse=True)


def test_fixed_quantity_that_the_step_contradicts_has_no_price() -> None:
    parts = [{"name": "panels", "quantity": 8.0, "unit_price": 100.0, "of": "modules"}]
    parts += [{"name": "rails", "per": "module", "unit_price": 20.0}]
    home = flat_home(costs={"parts": parts}).changed({ROOF: 8})
    more = next(each for each in sized(home).next_steps if each.changes == {"arrays.roof.modules_in_series": 9})
    assert more.added_cost == 20.0
    assert "costs.parts lists another number of modules" in (more.price_missing or "")


def test_axis_that_costs_nothing_or_is_an_assumption_is_noted() -> None:
    found = sized(flat_home(), {ROOF: [9, 10], "life.discount_rate": [0.03, 0.05]})
    assert any(f"axis {ROOF}: no line of [costs] follows" in note for note in found.notes)
    assert any("axis life.discount_rate: is an assumption" in note for note in found.notes)
    parts = {"parts": [{"name": "module", "per": "module", "unit_price": 0.0}]}
    assert not [note for note in sized(flat_home(costs=parts), {ROOF: [9, 10]}).notes if note.startswith("axis")]


@pytest.mark.parametrize(("value", "told"), [("abc", "'abc' must be a number"), (-1, "-1 must be at least 1")])
def test_value_of_an_axis_that_its_key_cannot_have_is_refused(value: object, told: str) -> None:
    with pytest.raises(ScenarioError, match=told):
        sized(flat_home(), {BANK: [1, value]})


def test_payback_is_that_of_the_system_whoever_lends_the_money() -> None:
    """A loan of nearly all pays back the own money at once; the battery's price is the same."""
    parts = {"parts": [{"name": "string", "per": "battery_string", "unit_price": 900.0}]}
    cash = sized(flat_home(costs=parts))
    lent = sized(flat_home(costs=parts | {"loan": {"share": 0.95, "rate": 0.05, "years": 8}}))
    assert lent.written.payback_years == cash.written.payback_years
    assert [each.payback_years for each in lent.next_steps] == [each.payback_years for each in cash.next_steps]
    assert lent.written.npv != cash.written.npv


def test_dated_change_of_what_a_step_changes_is_noted() -> None:
    later = {"name": "second string", "year": 3, "set": [f"{BANK}=2"]}
    told = [note for note in sized(flat_home(life=LIFE | {"changes": [later]})).notes if "second string" in note]
    assert len(told) == 1
    assert f"changes {BANK} in year 3: a step of the same kind may only bring that purchase forward" in told[0]


def test_the_one_that_is_kept_is_compared_even_where_many_others_are_better() -> None:
    unsure = {"lifetimes": 10, "seed": 1, "weather_standard_deviation": 0.05}
    home = flat_home(life={**LIFE, "years": 1, "uncertainty": unsure})
    shop = _shop_of(home, home_like(home), 0, 1)
    written = shop.design({}, "exact")
    assert isinstance(written, Design)
    others = [replace(written, changes={BANK: 1}, npv=(written.npv or 0.0) + more) for more in range(1, 7)]
    found = chances_of(shop, [written, *others], written, workers=1)
    assert [each.changes for each in found] == [{BANK: 1}] * 4 + [{}]


def test_steps_that_come_back_from_workers_stay_rivals(demo_home: Home) -> None:
    unsure = {"lifetimes": 10, "seed": 1, "weather_standard_deviation": 0.05}
    scenario, _ = other_life(demo_home, years=1, uncertainty=unsure)
    found = size(scenario, chances=True, workers=2)
    best = found.next_steps[0]
    assert best.changes == {"battery.bank.1.strings": 0}
    assert next(each.changes for each in found.chances or ()) == best.changes
    assert len(found.chances or ()) == 5


@pytest.mark.by_hand
def test_design_check_that_the_best_design_fails_is_noted(demo_home: Home) -> None:
    """One string of 230 Ah takes 0.5 C, 115 A; the demo's inverter charges with 120 A."""
    scenario, home = other_life(demo_home, years=1)
    found = size(scenario, {BANK: [0, 1]}, home)
    assert found.best is not None
    assert found.best.changes == {BANK: 0}
    told = "after the change with the highest NPV: wiring: a design check fails: battery, bank charge current"
    assert [note for note in found.notes if note.startswith(told)]
    assert not [note for note in size(scenario, {BANK: [1, 2]}, home).notes if "with the highest NPV" in note]


@pytest.mark.slow
def test_design_check_that_stages_fail_is_noted() -> None:
    """A second string of the miami home needs fuses for each string, which its wiring does not have."""
    found = size(read_scenario("miami").changed({"size.stage_years": 2}), stages=True)
    assert found.stages
    assert BANK in {key for stage in found.stages for key in stage.changes}
    assert [
        note for note in found.notes if note.startswith("after all stages: wiring:") and "fuse of each string" in note
    ]


@pytest.mark.parametrize(
    "financing",
    [
        {"loan": {"share": 0.6, "rate": 0.09, "years": 6, "dealer_fee": 0.1}},
        {"incentives": [{"name": "grant", "share": 0.3, "year": 1, "cap": 1600.0}]},
    ],
    ids=["loan", "incentive with a cap"],
)
def test_at_its_break_even_cost_a_step_adds_nothing_to_the_npv(financing: dict[str, Any]) -> None:
    """The price is written into the parts list of the home after the step, and both lives are run."""
    home = flat_home(costs={**COSTS, **financing})
    more = next(each for each in sized(home).next_steps if each.changes == {"arrays.roof.strings": 2})
    assert more.break_even_cost is not None
    parts = [*COSTS["parts"], {"name": "string", "quantity": 1.0, "unit_price": round(more.break_even_cost, 2)}]
    after, before = (life(each).best for each in (home.changed({**more.changes, "costs.parts": parts}), home))
    assert after is not None
    assert before is not None
    assert after.npv == pytest.approx(before.npv, abs=0.05)
