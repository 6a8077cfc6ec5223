"""The year in kilowatt-hours, shares and money."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from solarsim.engine.year import HOUR_COLUMNS
from solarsim.home import Home
from solarsim.ledger.flows import COLUMNS, Flows, balance_error_kw
from solarsim.ledger.ledger import ledger_from
from solarsim.ledger.prices import prices_from
from solarsim.run import close_year, simulate
from solarsim.scenario.model import Scenario
from solarsim.scenario.rate_plan.export import ExportPay
from solarsim.studies.compare.compare import Comparison


def year_of(comparison: Comparison, step_h: float = 1.0, **columns: Any) -> Flows:
    """Build a stand-in year: 5 of 10 kWh stored, the low cutoff at 1, and nothing flows but what is given."""
    home = comparison.home
    where = home.timeline if step_h == 1.0 else home.scenario.site.timeline(step_h)
    prices = prices_from(home.scenario.rate_plan, where)
    known = {"battery_kwh": 5.0, "discharge_floor": 0.0} | columns
    given = {name: np.broadcast_to(np.asarray(value, np.float64), len(where)) for name, value in known.items()}
    return Flows(where, prices, given, None, float(given["battery_kwh"][-1]), capacity_kwh=10.0, minimum_kwh=1.0)


def changed(flows: Flows, **columns: Any) -> Flows:
    """Return flows with columns replaced; no other column follows."""
    return replace(flows, given={name: flows[name] for name in COLUMNS} | columns)


def test_sums_are_those_of_the_hourly_columns(demo_comparison: Comparison) -> None:
    for run in demo_comparison.runs:
        table = run.hourly()
        sums = run.ledger.annual_kwh
        for key, column in (
            ("pv_available_kwh", "pv_available_kw"),
            ("load_kwh", "load_kw"),
            ("import_kwh", "import_kw"),
            ("export_kwh", "export_kw"),
            ("clipped_kwh", "clipped_kw"),
            ("curtailed_kwh", "curtailed_kw"),
            ("losses_kwh", "losses_kw"),
        ):
            assert sums[key] == pytest.approx(table[column].sum())
        assert sums["pv_used_kwh"] == pytest.approx(
            sums["pv_available_kwh"] - sums["clipped_kwh"] - sums["curtailed_kwh"]
        )


def test_annual_balance_closes(demo_comparison: Comparison) -> None:
    for run in demo_comparison.runs:
        kwh = run.ledger.annual_kwh
        given = kwh["pv_used_kwh"] + kwh["import_kwh"]
        taken = kwh["load_kwh"] + kwh["standby_kwh"] + kwh["export_kwh"] + kwh["losses_kwh"]
        assert given == pytest.approx(taken, abs=1e-6)
        # What went in and did not come out again is self-discharge.
        assert 0 <= kwh["battery_in_kwh"] - kwh["battery_out_kwh"] < 0.02 * 12 * 26.2


def test_money_is_the_rate_plan_applied_to_the_hourly_columns(demo_comparison: Comparison) -> None:
    for run in demo_comparison.runs:
        table = run.hourly()
        cost = (table["import_kw"] * table["import_price"] - table["export_kw"] * table["export_price"]).sum()
        assert float(run.ledger.bill.total) == pytest.approx(cost + 12 * 14.0, abs=0.005 * 12 * 6)


def test_shares_are_shares(demo_comparison: Comparison) -> None:
    for run in demo_comparison.runs:
        assert 0.0 <= run.ledger.self_consumption <= 1.0
        assert 0.0 <= run.ledger.self_sufficiency <= 1.0
    zero_export = next(run for run in demo_comparison.runs if run.strategy == "zero export")
    assert zero_export.ledger.self_consumption == 1.0


@pytest.mark.by_hand
def test_grid_energy_exported_again_takes_nothing_from_the_sun_s_shares(demo_comparison: Comparison) -> None:
    """Sun: 1 to load, 1 into the battery; grid: 3 into the battery. Out of the battery: 1 to load, 2 exported.

    A quarter of what leaves the battery is sun: exported 0.5 of 2 used, so 0.75 stayed; served 1.25 of
    a demand of 4.
    """
    columns: dict[str, Any] = {
        "load_kw": 4.0, "pv_available_kw": 2.0, "pv_to_load_kw": 1.0, "pv_to_battery_kw": 1.0,
        "grid_to_battery_kw": 3.0, "battery_to_load_kw": 1.0, "battery_to_grid_kw": 2.0, "grid_to_load_kw": 2.0,
    }  # fmt: skip
    made = ledger_from(year_of(demo_comparison, **columns))
    assert made.self_consumption == pytest.approx(0.75)
    assert made.self_sufficiency == pytest.approx(1.25 / 4)
    # 1 to load and a quarter of 3 out of the battery.
    assert made.solar_kwh == pytest.approx(8760 * 1.75)
    assert made.battery_kwh == pytest.approx(8760 * 3)


@pytest.mark.by_hand
def test_generator_energy_in_the_battery_is_not_the_sun_s(demo_comparison: Comparison) -> None:
    """Sun 1 and generator 1 into the battery, 1 of it to load: half of that is sun's."""
    columns: dict[str, Any] = {
        "load_kw": 2.0,
        "pv_to_battery_kw": 1.0,
        "generator_to_battery_kw": 1.0,
        "battery_to_load_kw": 1.0,
    }
    assert ledger_from(year_of(demo_comparison, **columns)).self_sufficiency == pytest.approx(0.25)


def test_battery_that_only_loses_charge_makes_no_cycles(demo: Scenario) -> None:
    idle = demo.strategies[0].model_copy(update={"battery_serves_load": False, "name": "idle"})
    run = simulate(demo.model_copy(update={"strategies": (idle,)}), "idle")
    assert run.ledger.annual_kwh["battery_in_kwh"] > 0.0
    assert run.ledger.equivalent_full_cycles == 0.0


def test_months_are_a_table_that_adds_up(demo_comparison: Comparison) -> None:
    run = demo_comparison.runs[0]
    monthly = run.monthly()
    assert monthly.index.tolist() == list(range(1, 13))
    assert monthly["import_kwh"].sum() == pytest.approx(run.ledger.annual_kwh["import_kwh"])
    assert monthly["bill"].sum() == pytest.approx(float(run.ledger.bill.total))


OPEN = {
    "demand": {"load_kw": 0.3, "pv_available_kw": 0.3},
    "import": {"import_kw": 0.3, "losses_kw": 0.3},
    "export": {"export_kw": 0.3, "pv_available_kw": 0.3},
    "both ways": {"load_kw": 0.3, "grid_to_load_kw": 0.3, "import_kw": 0.3, "pv_available_kw": 0.3,
                  "pv_to_grid_kw": 0.3, "export_kw": 0.3},
    "power": {"losses_kw": 0.3},
    "too full": {"battery_kwh": 10.3},
    "too empty": {"battery_kwh": 0.7},
    "below the floor": {"load_kw": 0.3, "battery_to_load_kw": 0.3, "pv_available_kw": 0.3, "discharge_floor": 1.0},
    "negative": {"pv_to_battery_kw": -0.3},
}  # fmt: skip
CLOSED = {
    "nothing": {},
    "unserved": {"load_kw": 0.3, "unserved_kw": 0.3},
    "generator": {"load_kw": 0.3, "generator_to_load_kw": 0.3, "generator_kw": 0.3},
}


@pytest.mark.by_hand
@pytest.mark.parametrize("book", OPEN)
def test_each_book_alone_finds_what_it_is_for(demo_comparison: Comparison, book: str) -> None:
    assert balance_error_kw(year_of(demo_comparison, **OPEN[book])) == pytest.approx(0.3)


@pytest.mark.parametrize("book", CLOSED)
def test_balances_that_close_are_left_alone(demo_comparison: Comparison, book: str) -> None:
    assert balance_error_kw(year_of(demo_comparison, **CLOSED[book])) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.by_hand
def test_half_hours_move_half_the_energy_in_the_balance(demo_comparison: Comparison) -> None:
    """1 kW for half an hour is 0.5 kWh: into the battery, out of it again, and through the meter."""
    charge, stored = np.tile([1.0, 0.0], 8760), np.tile([5.5, 5.0], 8760)
    flows = year_of(
        demo_comparison, 0.5, pv_available_kw=charge, pv_to_battery_kw=charge, load_kw=1 - charge,
        battery_to_load_kw=1 - charge, battery_kwh=stored,
    )  # fmt: skip
    assert balance_error_kw(flows) == pytest.approx(0.0, abs=1e-12)
    made = ledger_from(flows)
    assert made.annual_kwh["pv_available_kwh"] == pytest.approx(8760 * 0.5)
    assert made.annual_kwh["battery_out_kwh"] == pytest.approx(8760 * 0.5)


@pytest.mark.by_hand
def test_last_hour_of_standard_july_is_august_s_in_the_balance(demo_comparison: Comparison) -> None:
    """31 July 23:00 EST is 1 August 00:00 by the clock on the wall; it is the last hour of day 212."""
    bought = np.zeros(8760)
    bought[212 * 24 - 1] = 3.0
    made = ledger_from(year_of(demo_comparison, import_kw=bought))
    assert made.monthly_kwh["import_kwh"].tolist() == [0.0] * 7 + [3.0] + [0.0] * 4


@pytest.mark.by_hand
def test_shares_cycles_and_peak_of_a_year_one_can_count(demo_comparison: Comparison) -> None:
    """Every three hours 1 kWh goes in, 0.9 comes out, 0.1 is lost at rest: 2920 x 0.9 of 10 kWh are 262.8 cycles.

    Demand 3 and 1 of standby; sun: 1 to load, 1 into the battery, 0.5 unused; grid: 3 into the battery. So a
    quarter of what leaves it is sun: in every third hour 0.25 to load and 0.5 sold.
    """
    give = np.tile([0.0, 1.0, 0.0], 2920)
    flows = year_of(
        demo_comparison, load_kw=3.0, standby_kw=1.0, pv_available_kw=2.5, curtailed_kw=0.5, pv_to_load_kw=1.0,
        pv_to_battery_kw=1.0, grid_to_battery_kw=3.0, battery_to_load_kw=give, battery_to_grid_kw=2 * give,
        import_kw=3.0 + give, battery_kwh=np.tile([6.0, 5.1, 5.0], 2920),
    )  # fmt: skip
    made = ledger_from(flows)
    assert made.equivalent_full_cycles == pytest.approx(262.8)
    assert made.peak_import_kw == 4.0
    assert made.self_consumption == pytest.approx(1 - 0.5 / 3 / 2)
    assert made.self_sufficiency == pytest.approx((1 + 0.25 / 3) / 4)


@pytest.mark.by_hand
def test_feed_in_pay_reads_all_that_the_inverter_puts_out(demo_comparison: Comparison) -> None:
    """Production meter: 0.5 exported, 0.1 from the sun and 0.2 from the battery at home; the home draws 1.0 + 0.3."""
    flows = year_of(demo_comparison, import_kw=1.0, export_kw=0.5, pv_to_load_kw=0.1, battery_to_load_kw=0.2)
    plan = flows.prices.rate_plan
    feed_in = plan.model_copy(update={"export": ExportPay.model_validate({"pay": "feed_in", "price": 0.3})})
    readings = ledger_from(replace(flows, prices=prices_from(feed_in, flows.timeline))).readings
    assert readings is not None
    assert readings.import_kwh.sum() == pytest.approx(1.3 * 8760)
    assert readings.export_kwh.sum() == pytest.approx(0.8 * 8760)


def test_state_of_charge_is_that_at_the_end_of_the_step(demo_comparison: Comparison) -> None:
    for run in demo_comparison.runs:
        np.testing.assert_allclose(run.flows["soc"] * run.flows.capacity_kwh, run.flows["battery_kwh"])


@pytest.mark.parametrize(
    ("column", "change"),
    [
        ("load_kw", 0.01), ("pv_to_load_kw", 0.01), ("import_kw", 0.01), ("export_kw", 0.01), ("losses_kw", 0.01),
        ("curtailed_kw", 0.01), ("clipped_kw", 0.01), ("battery_kwh", 0.01), ("pv_available_kw", -0.01),
        ("grid_to_battery_kw", 0.01), ("unserved_kw", 0.01), ("battery_to_grid_kw", 0.01), ("losses_kw", -50.0),
        ("battery_kwh", 100.0),
    ],
)  # fmt: skip
def test_a_balance_that_does_not_close_is_found(demo_comparison: Comparison, column: str, change: float) -> None:
    flows = demo_comparison.runs[0].flows
    spoiled = flows[column].copy()
    spoiled[4000] += change
    assert balance_error_kw(changed(flows, **{column: spoiled})) >= abs(change) * 0.99


def test_discharge_from_below_the_floor_is_found(demo_comparison: Comparison) -> None:
    raised = changed(demo_comparison.runs[0].flows, discharge_floor=np.full(8760, 0.9))
    assert balance_error_kw(raised) > 0.5


@pytest.mark.by_hand
@pytest.mark.parametrize(
    "open_by", ["pv_available_kw", "import_kw", "generator_kw", "load_kw", "standby_kw", "unserved_kw", "export_kw",
                "clipped_kw", "curtailed_kw", "losses_kw"],
)  # fmt: skip
def test_balance_of_the_year_counts_every_column_with_its_sign(demo_comparison: Comparison, open_by: str) -> None:
    """In: 2 solar, 3 import, 1 generator. Out: 3 demand less 0.5 unserved, 0.5 export, 0.75 + 1.25 unused, 1 lost."""
    columns: dict[str, Any] = {
        "pv_available_kw": 2.0, "import_kw": 3.0, "generator_kw": 1.0, "load_kw": 2.0, "standby_kw": 1.0,
        "unserved_kw": 0.5, "export_kw": 0.5, "clipped_kw": 0.75, "curtailed_kw": 1.25, "losses_kw": 1.0,
    }  # fmt: skip
    assert ledger_from(year_of(demo_comparison, **columns)).balance_error_kwh == pytest.approx(0.0, abs=1e-6)
    spoiled = columns | {open_by: columns[open_by] + 0.125}
    assert ledger_from(year_of(demo_comparison, **spoiled)).balance_error_kwh == pytest.approx(8760 * 0.125)


def test_balance_of_the_year_closes_with_what_is_curtailed_and_what_stays_stored(demo_comparison: Comparison) -> None:
    for run in demo_comparison.runs:
        assert run.ledger.balance_error_kwh == pytest.approx(0.0, abs=1e-6)
    assert max(run.ledger.sums["curtailed_kwh"] for run in demo_comparison.runs) > 100.0


def test_quick_sums_are_those_of_the_months(demo_comparison: Comparison) -> None:
    """Sums without months and months on demand are of the same columns."""
    for run in (demo_comparison.baseline, *demo_comparison.runs):
        for key, months in run.ledger.monthly_kwh.items():
            if key in run.ledger.sums:
                assert run.ledger.sums[key] == pytest.approx(months.sum(), abs=1e-6)


def test_a_year_in_a_lent_table_keeps_no_steps(demo_home: Home, demo_comparison: Comparison) -> None:
    run, table = demo_comparison.runs[2], np.empty((8760, len(HOUR_COLUMNS)))
    closed = close_year(demo_home, run.strategy, table=table)
    table[:] = 0.0
    assert closed.bill.lines == run.ledger.bill.lines
    assert closed.sums == pytest.approx(run.ledger.sums)
    with pytest.raises(ValueError, match="the steps of this year were not kept"):
        _ = closed.monthly_kwh
