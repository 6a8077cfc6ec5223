"""The comparison on the screen and as JSON."""

import json
from dataclasses import replace

import pytest
from rich.measure import Measurement
from rich.table import Table

from solarsim.ledger.ledger import ledger_from
from solarsim.run import Run
from solarsim.scenario.model import Scenario
from solarsim.studies.compare.compare import Comparison, compare
from solarsim.studies.compare.finer_steps import BESIDE, StepComparison, compare_steps
from solarsim.studies.optimum.optimum import Optimum
from solarsim.views.compare import figure, page
from solarsim.views.json_text import to_json
from solarsim.views.screen import Screen
from solarsim.views.tables import OneOrMore
from tests.builders import content, scenario
from tests.homes_without_grid import storm
from tests.views.test_life import bars
from tests.views.test_tables import shown

DARK = {"arrangement": {"kind": "off_grid", "grid": "none"}}


def tables_of(result: Comparison, **options: object) -> list[Table]:
    """Return the tables as a pipe shows them, in 100 columns."""
    screen = Screen()
    screen.width = 100
    parts = [part for part in page(result, **options) if not isinstance(part, str)]  # type: ignore[arg-type]
    return [table for part in parts for table in (part.fitting(screen, 100) if isinstance(part, OneOrMore) else [part])]


def sentences_of(result: Comparison) -> str:
    return " ".join(part for part in page(result) if isinstance(part, str))


BEST = (
    Optimum(("serve the home first", "hold for the peak", "winter night charge", "zero export"), 0.2, 0.2, 0.0, 270.82,
            scheduled_energy_cost=273.1, scheduled_share=0.996, reserve_cost=3.44),
    Optimum(("storm season reserve",), 0.2, 0.6, 0.0, 284.26, scheduled_energy_cost=287.0, scheduled_share=0.995,
            reserve_cost=16.88, why_loose="export can pay more than import costs in 3 h"),
)  # fmt: skip


def with_best(comparison: Comparison, *best: Optimum) -> Comparison:
    runs = tuple(replace(run, battery_savings_share=0.5) for run in comparison.runs)
    return replace(comparison, best=best, runs=runs)


@pytest.mark.parametrize("width", [80, 100])
def test_tables_fit_and_lose_no_number(demo_comparison: Comparison, width: int) -> None:
    best = with_best(demo_comparison, *BEST)
    fueled = replace(demo_comparison, runs=tuple(with_fuel(run) for run in demo_comparison.runs))
    marked = replace(best, runs=tuple(replace(run, misfits=("too many slots",)) for run in best.runs))
    for comparison in (demo_comparison, best, fueled, marked):
        (strategies,) = (part for part in page(comparison) if isinstance(part, OneOrMore))
        lines = shown(strategies, width)
        assert max(map(len, lines)) <= width
        assert "…" not in "".join(lines)
        told = " ".join(" ".join(lines).split())
        for name in ("storm season reserve", "winter night charge", "cycles", "sufficiency", "Curtailed"):
            assert name in told
        assert len([line for line in lines if "winter night charge" in line]) == (2 if width == 80 else 1)


def test_a_narrower_screen_has_money_and_energy_apart(demo_comparison: Comparison) -> None:
    (strategies,) = (part for part in page(with_best(demo_comparison, *BEST)) if isinstance(part, OneOrMore))
    rows = [line.split()[3:] for line in shown(strategies, 80) if "winter night charge" in line]
    assert rows == [["322", "1,464", "50%"], ["3,039", "2,141", "0", "72%", "175"]]
    assert len([line for line in shown(strategies, 80) if "optimum, reserve 20%" in line]) == 1


def test_what_cannot_be_programmed_is_marked_and_the_lowest_that_can_is_named() -> None:
    menu = {
        "slots": 1, "fill_day": False, "days_of_week": False, "seasons": 1, "reserve_in_slots": True, "level_step": 0.05
    }  # fmt: skip
    first = content()["strategies"][0]
    odd = {**first, "name": "days", "windows": [{"days": ["sat"], "from": "01:00", "to": "02:00", "reserve": 0.9}]}
    two = [odd, {**first, "name": "careful", "reserve": 0.6}]
    found = compare(scenario(inverter__programmable=menu, strategies=two))
    assert [bool(run.misfits) for run in found.runs] == [True, False]
    assert [bool(row["misfits"]) for row in json.loads(to_json(found.record()))["strategies"]] == [True, False]
    lines = shown(tables_of(found)[0], 100)
    assert any(line.startswith(" days * ") for line in lines)
    assert any(line.startswith(" careful  ") for line in lines)
    told = sentences_of(found)
    assert "* Cannot be programmed into this inverter" in told
    assert "Lowest energy cost: 'days'. Lowest of those that can be programmed into this inverter: 'careful'." in told
    assert "days\n(cannot be programmed)" in [each.get_text() for each in figure(found).axes[0].get_yticklabels()]
    alone = compare(scenario(inverter__programmable=menu, strategies=[odd]))
    assert "None of the strategies can be programmed into this inverter." in sentences_of(alone)
    free = compare(scenario(strategies=two))
    assert free.runs[0].misfits is None
    assert "Cannot be programmed" not in sentences_of(free)


def with_fuel(run: Run) -> Run:
    generator = run.ledger.generator._replace(fuel_cost=100.0, starts=3, run_h=5.0, liters=50.0)
    return replace(run, ledger=replace(run.ledger, generator=generator))


def test_each_strategy_has_its_costs_and_savings(demo_comparison: Comparison) -> None:
    lines = shown(tables_of(demo_comparison)[0], 100)
    row = next(line for line in lines if "winter night charge" in line)
    assert row.split()[3:] == ["322", "1,464", "3,039", "2,141", "0", "72%", "175"]
    assert any("no system" in line and "1,786" in line and "10,120" in line for line in lines)
    names = [line[:22].strip() for line in lines if line.strip() and line[1].isalpha()]
    assert names[1:4] == ["no system", "solar, no battery", "serve the home first"]


@pytest.mark.by_hand
def test_fuel_is_in_the_energy_cost_and_in_the_savings(demo_comparison: Comparison) -> None:
    """322.21 on the bill and 100.00 of fuel are 422.21: 1,786.30 less that are 1,364.09."""
    fueled = replace(demo_comparison, runs=tuple(with_fuel(run) for run in demo_comparison.runs))
    row = next(line for line in shown(tables_of(fueled)[0], 100) if "winter night charge" in line)
    assert row.split()[3:6] == ["322", "422", "1,364"]
    assert "Never run a generator indoors" in sentences_of(fueled)


def test_each_optimum_is_a_row_with_what_its_reserve_costs(demo_comparison: Comparison) -> None:
    there = with_best(demo_comparison, *BEST)
    rows = [line.split() for line in shown(tables_of(there)[0], 100) if "optimum" in line]
    assert rows == [
        ["optimum,", "reserve", "20%", "271", "1,515", "100%"],
        ["optimum,", "reserve", "20-60%", "284", "1,502", "100%"],
    ]
    told = sentences_of(there)
    assert "battery savings: 273 USD/yr, 99.6% (reserve 20%); 287 USD/yr, 99.5% (reserve 20-60%)." in told
    assert "Cost of the reserve at the optimum: 3 USD/yr (reserve 20%); 17 USD/yr (reserve 20-60%)." in told
    assert "a loose bound, and shares are too low: export can pay more than import costs in 3 h." in told
    assert "No share" not in told


def test_optimum_that_is_not_known_is_a_sentence(demo_comparison: Comparison) -> None:
    absent = with_best(demo_comparison, Optimum(("a",), 0.2, 0.2, 0.0, None, why_none="the price of a tier falls"))
    assert not any("optimum" in line for line in shown(tables_of(absent)[0], 100))
    assert "No optimum: the price of a tier falls." in sentences_of(absent)
    assert "Share of possible" not in sentences_of(absent)


def test_battery_that_can_save_hardly_anything_has_no_share(demo_comparison: Comparison) -> None:
    empty = replace(with_best(demo_comparison, replace(BEST[0], scheduled_share=None)), runs=demo_comparison.runs)
    assert not any("%" in line.split()[-1] for line in shown(tables_of(empty)[0], 100) if "optimum" in line)
    assert "No share is shown: the battery could save less than 1% of the cost without a system." in sentences_of(empty)


def test_bills_by_month_add_up_to_the_year_s(demo_comparison: Comparison) -> None:
    (line,) = [
        line
        for line in shown(tables_of(demo_comparison, months=True)[1], 100)
        if line.startswith(" winter night charge")
    ]
    assert sum(map(int, line.split()[3:])) == pytest.approx(322, abs=6)


def test_the_lowest_cost_is_named_and_a_tie_is_a_tie(demo_comparison: Comparison) -> None:
    assert "Lowest energy cost: 'winter night charge'." in sentences_of(demo_comparison)
    runs = demo_comparison.runs
    tied = replace(demo_comparison, runs=(runs[2], runs[0], replace(runs[2], strategy="twin")))
    assert "Lowest energy cost: 'winter night charge' and 'twin', less than 1 USD apart." in sentences_of(tied)


def test_a_home_that_is_left_in_the_dark_saves_nothing() -> None:
    dark = compare(scenario(**DARK))
    unserved_kwh = dark.runs[0].unserved_kwh
    assert unserved_kwh > 100.0
    assert f"Savings not comparable: {unserved_kwh:,.0f} kWh unserved ('home first')." in sentences_of(dark)
    assert f"Unserved: {unserved_kwh:,.1f} kWh in {dark.runs[0].unserved_h:,.0f} h ('home first')" in sentences_of(dark)
    assert json.loads(to_json(dark.record()))["strategies"][0]["annual_savings"] is None
    valued = compare(scenario(**DARK, outages={"value_of_lost_load": 2.0}))
    assert "outage cost" in sentences_of(valued)
    assert valued.runs[0].annual_savings is not None


def test_the_worst_energy_balance_of_all_runs_is_shown(demo_comparison: Comparison) -> None:
    run = demo_comparison.runs[-1]
    spoiled = replace(run.flows, given={**run.flows.given, "load_kw": run.flows["load_kw"] + 0.5})
    bad = replace(run, ledger=ledger_from(spoiled))
    assert "closes to 5e-01 kW" in sentences_of(replace(demo_comparison, runs=(*demo_comparison.runs[:-1], bad)))
    assert "every hour closes to" in sentences_of(demo_comparison)


def test_json_has_the_promised_keys(demo_comparison: Comparison) -> None:
    record = json.loads(to_json(demo_comparison.record()))
    assert set(record) == {
        "scenario", "currency", "baseline", "strategies", "solar_only", "input_clipped_kwh", "notes", "best",
    }  # fmt: skip
    assert record["baseline"]["annual_bill"] == pytest.approx(1786.30)
    promised = {
        "name", "pv_available_kwh", "load_kwh", "import_kwh", "export_kwh", "curtailed_kwh", "unserved_kwh",
        "losses_kwh", "self_consumption", "self_sufficiency", "equivalent_full_cycles", "annual_bill", "fuel_cost",
        "energy_cost", "outage_cost", "annual_savings", "unserved_h", "balance_error_kw",
    }  # fmt: skip
    for row in record["strategies"]:
        assert promised <= set(row)
        assert set(record["baseline"]) == set(record["solar_only"]) == set(row) - {"name"}


def test_what_the_inputs_clip_is_in_json_and_on_the_screen(demo_comparison: Comparison) -> None:
    home = demo_comparison.home
    above_kw = home.production.input_limits_kw + 0.1 / len(home.production.input_kw)
    clipped = replace(home, production=replace(home.production, input_kw=above_kw))
    comparison = replace(demo_comparison, home=clipped)
    assert comparison.record()["input_clipped_kwh"] == pytest.approx(876.0)
    assert "clip another 876 kWh" in sentences_of(comparison)


@pytest.fixture(scope="module")
def steps(demo: Scenario, demo_comparison: Comparison) -> StepComparison:
    """Run the demo by half hours."""
    return compare_steps(demo, 30, demo_comparison)


def test_both_steps_of_every_strategy_fit_80_columns(steps: StepComparison) -> None:
    table = tables_of(steps.hourly, steps=steps)[-1]
    lines = shown(table, 80)
    text = "\n".join(lines)
    assert max(map(len, lines)) <= 80
    assert ["Strategy", "Hours", "30", "min", "Difference"] in [line.split() for line in lines]
    for name in ("no system", "solar, no battery", *(run.name for run in steps.hourly.runs)):
        assert name in text
    assert f"{steps.hourly.runs[0].annual_bill:,.2f}" in text
    assert f"{steps.finer.runs[0].annual_bill:,.2f}" in text
    assert "-0.0 pt" not in text


def test_json_of_both_steps_holds_their_difference(steps: StepComparison) -> None:
    found = json.loads(to_json(steps.record()))
    assert found["step_minutes"] == 30
    for row in found["strategies"]:
        for key in BESIDE:
            assert row["difference"][key] == pytest.approx(row["finer"][key] - row["hourly"][key], abs=1e-8)


def test_outage_cost_above_the_savings_is_told() -> None:
    result = compare(scenario(**DARK, outages={"value_of_lost_load": 5.0}))
    assert result.runs[0].annual_savings is not None
    assert f"Outage cost included, these cost more than no system: {result.runs[0].name!r}" in sentences_of(result)


def test_energy_that_the_rating_clips_is_told_apart_from_curtailed() -> None:
    """A larger inverter would keep it; a larger battery would not."""
    result = compare(scenario(inverter__ac_kw=1.0))
    assert result.solar_only is not None
    assert result.solar_only.clipped_kwh > 1000.0 > result.solar_only.curtailed_kwh
    told = f"Clipped by the inverter's AC rating: {result.solar_only.clipped_kwh:,.0f} kWh ('solar, no battery')"
    assert told in sentences_of(result)
    assert "Clipped by" not in sentences_of(compare(scenario(inverter__ac_kw=8.0)))


def test_figure_shows_bill_fuel_and_savings_of_every_year() -> None:
    result = compare(storm())
    panel, meter = figure(result).axes
    years = [result.baseline, *([] if result.solar_only is None else [result.solar_only]), *result.runs]
    widths = [bar.get_width() for bar in bars(panel)]
    assert widths == pytest.approx([*(run.annual_bill for run in years), *(run.fuel_cost for run in years)])
    assert [text.get_text() for text in panel.texts][-1] == f"savings {result.runs[-1].annual_savings:,.0f}"
    assert [bar.get_width() for bar in bars(meter)] == pytest.approx(
        [*(-run.import_kwh for run in years), *(run.export_kwh for run in years)]
    )
    dark = figure(compare(scenario(**DARK))).axes[0]
    assert [text.get_text() for text in dark.texts] == ["", "savings not comparable"]


def test_table_fits_80_columns(demo_comparison: Comparison) -> None:
    for result in (demo_comparison, replace(demo_comparison, best=BEST)):
        screen = Screen()
        for table in next(part for part in page(result) if isinstance(part, OneOrMore)).fitting(screen, 80):
            assert Measurement.get(screen, screen.options.update(width=10_000), table).minimum <= 80
