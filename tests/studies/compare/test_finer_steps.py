"""What hourly steps hide."""

from pathlib import Path

import numpy as np
import pytest

from solarsim.errors import ScenarioError
from solarsim.home import Home
from solarsim.scenario.model import Scenario
from solarsim.studies.compare.compare import Comparison, compare
from solarsim.studies.compare.finer_steps import StepComparison, compare_steps
from solarsim.studies.wear import wear
from solarsim.views.compare import page
from tests.builders import scenario


def pulsing(folder: Path, minutes: int) -> Scenario:
    """Give a home that draws 4 kW in the first quarter of each hour and nothing else, told by rows of 15 minutes."""
    begin = np.datetime64("2026-01-01T00:00") + 15 * np.arange(35040).astype("timedelta64[m]")
    rows = [
        f"{time}:00-05:00,{4.0 if place % 4 == 0 else 0.0}"
        for place, time in enumerate(np.datetime_as_string(begin).tolist())
    ]
    (folder / "load.csv").write_text("\n".join(["time,load_kw", *rows]) + "\n")
    return scenario(folder, load={"file": "load.csv"}, site__step_minutes=minutes)


@pytest.fixture(scope="module")
def pulses(tmp_path_factory: pytest.TempPathFactory) -> StepComparison:
    """Run the pulsing home."""
    return compare_steps(pulsing(tmp_path_factory.mktemp("pulses"), 15), 15)


@pytest.mark.by_hand
def test_pulses_are_hidden_in_hours(pulses: StepComparison) -> None:
    """Draw 8,760 kWh either way, by 1 kW or by 4 kW in a quarter of each hour: there 1 kW of sun serves a quarter."""
    nothing, sun_alone, *others = pulses.strategies
    assert nothing.hourly["import_kwh"] == pytest.approx(8760.0)
    assert nothing.difference["import_kwh"] == pytest.approx(0.0, abs=1e-6)
    assert (nothing.hourly["peak_import_kw"], nothing.finer["peak_import_kw"]) == pytest.approx((1.0, 4.0))
    assert nothing.difference["annual_bill"] == pytest.approx(0.0, abs=0.01 * 12)
    assert sun_alone.difference["self_consumption"] < -0.1
    assert sun_alone.difference["import_kwh"] > 500.0
    # A rate plan of 0.20 without pay for export: the bill grows by what is bought, but for rounding to the cent.
    for row in (sun_alone, *others):
        assert row.difference["annual_bill"] == pytest.approx(0.2 * row.difference["import_kwh"], abs=0.13)
    assert pulses.load_moves
    assert pulses.finer.home.load_kw[:5].tolist() == [4.0, 0.0, 0.0, 0.0, 4.0]


def test_own_steps_are_not_run_again(demo: Scenario, demo_comparison: Comparison) -> None:
    found = compare_steps(demo, 30, demo_comparison)
    assert found.hourly is demo_comparison
    assert found.finer.home.timeline.step_h == 0.5
    assert not found.load_moves
    assert any("The load is constant within each hour" in str(part) for part in page(found.hourly, steps=found))
    with pytest.raises(ValueError, match="steps of 20 minutes must be 30 or 15"):
        compare_steps(demo, 20)


def test_hours_are_refused_where_windows_need_quarter_hours() -> None:
    first = {"name": "a", "surplus_to": "battery", "battery_serves_load": True, "reserve": 0.2}
    late = [{"from": "17:15", "to": "21:00", "reserve": 0.5}]
    home = scenario(site__step_minutes=15, strategies=[{**first, "windows": late}])
    with pytest.raises(
        ScenarioError,
        match=r"plain.toml: strategies.1st.windows.1st.from: '17:15' must be a full hour",
    ):
        compare_steps(home, 15)
    with pytest.raises(ScenarioError, match="must be a full or half hour"):
        home.changed({"site.step_minutes": 30})


@pytest.mark.by_hand
def test_load_s_own_quarter_hours_are_averaged_where_hours_are_run() -> None:
    """An oven of 3 kW from 18:15 to 18:30 is 0.75 kW of its hour."""
    oven = {"kind": "appliance", "name": "oven", "critical": False, "power_w": 3000.0}
    use = [{"from": "18:15", "to": "18:30", "duty": 1.0}]
    found = compare_steps(scenario(site__step_minutes=15, load={"parts": [{**oven, "windows": use}]}), 15)
    nothing = found.strategies[0]
    assert nothing.hourly["import_kwh"] == pytest.approx(nothing.finer["import_kwh"]) == pytest.approx(365 * 0.75)
    assert (nothing.hourly["peak_import_kw"], nothing.finer["peak_import_kw"]) == pytest.approx((0.75, 3.0))


def test_windows_of_quarter_hours_move_the_battery_by_quarter_hours() -> None:
    first = {"name": "a", "surplus_to": "battery", "battery_serves_load": True, "reserve": 0.1}
    held = [{"from": "17:15", "to": "20:45", "reserve": 1.0, "charge_from_grid_to": 0.0}]
    home = scenario(site__step_minutes=15, strategies=[{**first, "windows": held}])
    run = compare(home).runs[0]
    where = run.flows.timeline
    inside = (where.minute_of_day >= 17 * 60 + 15) & (where.minute_of_day < 20 * 60 + 45)
    np.testing.assert_array_equal(run.flows["discharge_floor"] == 1.0, inside)
    assert run.flows["battery_to_load_kw"][inside].max() == 0.0


def test_wear_goes_on_at_quarter_hours(demo: Scenario, demo_home: Home) -> None:
    """A battery that moves alike wears alike: the counted cycles hang on the path, not on the steps."""
    quarters = wear(demo.changed({"site.step_minutes": 15})).strategies
    for hourly, finer in zip(wear(demo, home=demo_home).strategies, quarters, strict=True):
        assert finer.equivalent_full_cycles == pytest.approx(hourly.equivalent_full_cycles, rel=0.02)
        assert finer.capacity_by_year[10] == pytest.approx(hourly.capacity_by_year[10], abs=0.003)
