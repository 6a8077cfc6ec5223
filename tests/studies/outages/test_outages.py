"""Everything about outages of one strategy: variants, own outages, a motor's start, a transfer. By hand."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from solarsim.errors import ScenarioError, UnknownNameError
from solarsim.home import home_from
from solarsim.studies.outages._events import EventLoss
from solarsim.studies.outages._shortfalls import unserved_by_step
from solarsim.studies.outages.outages import Outages, outages
from tests.builders import scenario
from tests.homes_without_grid import GENERATOR, HYBRID, event, steady, storm, storm_home

EVENT = event("2026-01-14T18:00", 20)
MOTOR = {"kw": 1.0, "start_factor": 6.0}


def study(folder: Path, **changes: Any) -> Outages:
    home = steady(folder, **changes)
    return outages(home.scenario, years=10, home=home)


@pytest.fixture(scope="module")
def whole() -> Outages:
    """Study the storm coast."""
    return outages(storm(), home=storm_home())


def test_variants_are_told_as_it_is_first(whole: Outages) -> None:
    kinds = [(each.keeps_reserve, each.with_generator) for each in whole.variants]
    assert kinds == [(True, True), (False, True), (True, False), (False, False)]
    shares = [each.year.outages_covered[3] for each in whole.variants]
    assert shares[0] > max(shares[1:])
    assert shares[3] == min(shares)
    missed = [each.drawn.mean_kwh for each in whole.variants if each.drawn is not None]
    assert missed[0] == min(missed)
    assert missed[3] == max(missed)
    lowest = whole.reserve_curve[0]
    assert lowest.outages_covered[3] == shares[3]


def test_without_a_frequency_nothing_is_drawn_and_without_a_generator_there_are_two_variants(tmp_path: Path) -> None:
    found = study(tmp_path)
    assert found.drawn is None
    assert [each.drawn for each in found.variants] == [None, None]
    assert [each.with_generator for each in found.variants] == [False, False]
    assert found.events == ()


def test_off_the_grid_there_is_no_reserve_to_speak_of(tmp_path: Path) -> None:
    found = study(tmp_path, arrangement={"kind": "off_grid", "grid": "first"}, generator=dict(GENERATOR))
    assert [(each.keeps_reserve, each.with_generator) for each in found.variants] == [(True, True), (True, False)]
    assert found.reserve_curve == ()


def only_event(found: Outages) -> EventLoss:
    (loss,) = found.events
    return loss


@pytest.mark.by_hand
def test_what_an_outage_of_the_scenario_leaves_unserved(tmp_path: Path) -> None:
    """16.2 of 20 h at 0.5 kW: 1.9 kWh are missing in 4 steps; of 0.5 kW 0.2 are critical and shed last."""
    (tmp_path / "load.csv").write_text("load_kw\n" + "0.5\n" * 8760, encoding="utf-8")
    load = {"file": str(tmp_path / "load.csv"), "critical_share": 0.4}
    own = {"events": [EVENT]}
    loss = only_event(study(tmp_path, load=load, outages=own))
    assert (loss.start, loss.hours) == ("2026-01-14 18:00", 20)
    assert (loss.not_backed_up_kwh, loss.unserved_h, loss.critical_unserved_h) == (0.0, 4.0, 4.0)
    assert (loss.generator_h, loss.liters) == (0.0, 0.0)
    assert loss.unserved_kwh == pytest.approx(1.9)
    assert loss.critical_unserved_kwh == pytest.approx(0.1 + 3 * 0.2)
    panel = only_event(study(tmp_path, load=load, outages=own, arrangement={**HYBRID, "backed_up": "critical"}))
    assert panel.unserved_kwh == pytest.approx(20 * 0.3) == panel.not_backed_up_kwh
    assert (panel.critical_unserved_kwh, panel.unserved_h, panel.critical_unserved_h) == (0.0, 0.0, 0.0)
    tied = only_event(study(tmp_path, load=load, outages=own, arrangement={"kind": "grid_tied"}))
    assert (tied.unserved_kwh, tied.not_backed_up_kwh) == pytest.approx((10.0, 10.0))
    assert (tied.critical_unserved_kwh, tied.unserved_h, tied.critical_unserved_h) == pytest.approx((4.0, 20.0, 20.0))


@pytest.mark.by_hand
def test_a_transfer_darkens_critical_load_too(tmp_path: Path) -> None:
    """Half an hour of 0.5 kW, 0.2 of it critical; what that saves lasts half an hour more at the end."""
    (tmp_path / "load.csv").write_text("load_kw\n" + "0.5\n" * 8760, encoding="utf-8")
    changes = {
        "load": {"file": str(tmp_path / "load.csv"), "critical_share": 0.4},
        "outages": {"events": [event("2026-01-14T18:00", 5)]},
        "arrangement": {**HYBRID, "transfer_seconds": 1800.0},
    }
    loss = only_event(study(tmp_path, **changes))
    assert (loss.unserved_kwh, loss.critical_unserved_kwh) == pytest.approx((0.25, 0.1))
    assert (loss.unserved_h, loss.critical_unserved_h) == pytest.approx((0.5, 0.5))


@pytest.mark.by_hand
def test_fuel_of_an_outage_is_that_of_its_hours(tmp_path: Path) -> None:
    """Below 2 kWh after 15 h; two hours of 0.5 kW to the home and 3 kW to the battery: 2 x 0.5 + 7 x 0.3 liters."""
    loss = only_event(study(tmp_path, generator=dict(GENERATOR), outages={"events": [EVENT]}))
    assert (loss.unserved_kwh, loss.generator_h) == (0.0, 2.0)
    assert loss.liters == pytest.approx(3.1)


@pytest.mark.by_hand
def test_a_battery_delivers_its_surge_current_for_the_moment_of_a_start(tmp_path: Path) -> None:
    """150 A at 45 V are 6.75 kW, where the limit for long is 5 kW; 120 A are 5.4 kW."""
    arrangement = {**HYBRID, "motor": MOTOR}
    for surge_a, bank_kw, starts in ((150.0, 6.75, True), (120.0, 5.4, False)):
        battery = {"lowest_v": 45.0, "bms_surge_a": surge_a}
        place = {"standard": "nec", "edition": 2023, "building": "dwelling", "grid_v": 240.0, "phases": "split"}
        wiring = {**place, "battery": battery}
        start = study(tmp_path, arrangement=arrangement, inverter__surge_kw=7.0, wiring=wiring).motor
        assert start is not None
        assert start.bank_kw == pytest.approx(bank_kw)
        assert start.motor_starts is starts


@pytest.mark.by_hand
def test_a_motor_starts_if_inverter_and_bank_both_suffice(tmp_path: Path) -> None:
    """6 kW and 0.5 kW beside it; the bank gives 5 kW, or 7."""
    arrangement = {**HYBRID, "motor": MOTOR}
    weak = study(tmp_path, arrangement=arrangement, inverter__surge_kw=7.0).motor
    assert weak is not None
    assert (weak.needed_kw, weak.inverter_kw, weak.bank_kw, weak.motor_starts) == (6.5, 7.0, 5.0, False)
    strong = {"arrangement": arrangement, "battery__max_discharge_kw": 7.0}
    both = study(tmp_path, inverter__surge_kw=7.0, **strong).motor
    assert both is not None
    assert both.motor_starts
    low = study(tmp_path, inverter__surge_kw=6.4, **strong).motor
    assert low is not None
    assert not low.motor_starts
    assert study(tmp_path).motor is None
    assert study(tmp_path, arrangement={**arrangement, "kind": "grid_tied"}).motor is None


@pytest.mark.by_hand
def test_a_transfer_by_hand_waits_for_somebody(tmp_path: Path) -> None:
    """There from 18:00 to 08:00: ten hours away, with waits of 1 to 10 h."""
    there = {**HYBRID, "transfer": "by_hand", "at_home": [{"from": "18:00", "to": "08:00"}]}
    wait = study(tmp_path, arrangement=there).transfer
    assert wait is not None
    # Daylight saving begins and ends at night, when somebody is there.
    assert (wait.away, wait.mean_wait_h, wait.longest_wait_h) == pytest.approx((10 / 24, 5.5, 10.0))
    july = {**there, "at_home": [{"months": [7]}]}
    summer = study(tmp_path, arrangement=july).transfer
    assert summer is not None
    assert summer.longest_wait_h == 8760 - 31 * 24  # from 1 August over the turn of the year
    assert study(tmp_path).transfer is None


@pytest.mark.by_hand
def test_hours_above_the_inverter_s_rating_are_told(tmp_path: Path) -> None:
    found = study(tmp_path, inverter__ac_kw=0.4)
    assert found.above_rating_h == 8760
    assert found.variants[0].backup.duration_h == pytest.approx(np.full(8760, 0.8))  # 0.4 of 0.5 kW, from the start


def test_longer_outages_and_more_reserve_in_the_whole_study(whole: Outages) -> None:
    for each in whole.variants:
        shares = [each.backup.covered(hours) for hours in range(73)]
        assert shares[0] == 1.0
        assert (np.diff(shares) <= 0.0).all()


def test_what_cannot_be_asked_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ScenarioError, match=r"has no table \[arrangement\]"):
        outages(scenario())
    with pytest.raises(UnknownNameError, match="did you mean 'kept full'"):
        outages(steady(tmp_path).scenario, "kept ful")
    with pytest.raises(ValueError, match="another scenario"):
        outages(storm(), home=home_from(scenario(arrangement=HYBRID)))


@pytest.mark.by_hand
def test_an_outage_says_when_and_why_it_falls_short_and_what_prevents_it(tmp_path: Path) -> None:
    """Full at 10:00, 0.5 kW: at 1 kWh after 16.2 h, at 02:00; with the generator's quiet hours from 00:00 until 08:00.

    The generator would start at 2 kWh, after 14.4 h, as the 15th hour ends: 01:00, when it must be quiet. 20 h need
    20 x 0.5 / 0.9 + 1 = 12.11 kWh stored: a battery of which 90 % are 11.11 kWh, 12.35 kWh, in halves 12.5.
    """
    quiet = {**GENERATOR, "may_start": [{"from": "08:00", "to": "00:00"}]}
    found = study(tmp_path, generator=quiet, outages={"events": [event("2026-01-14T10:00", 20)]})
    loss = only_event(found)
    (short,) = loss.shortfalls
    assert (short.start, short.hours) == ("2026-01-15 02:00", 4.0)
    assert short.unserved_kwh == pytest.approx(1.9)
    assert short.why == ("low_cutoff", "generator_quiet_hours")
    told = {each.what: each for each in loss.remedies}
    assert list(told) == ["reserve", "may_start", "battery_kwh"]
    assert not told["reserve"].sufficient  # it is full already
    assert told["reserve"].unserved_kwh == pytest.approx(1.9)
    assert told["may_start"].sufficient
    assert (told["battery_kwh"].value, told["battery_kwh"].unserved_kwh) == (12.5, 0.0)


@pytest.mark.by_hand
def test_an_empty_tank_is_a_reason_and_a_larger_one_a_remedy(tmp_path: Path) -> None:
    """3.5 kW for 0.5 + 1.05 l an hour: 2 h a run, 3.1 l; 40 h need more than the 5 l of the tank."""
    small = {**GENERATOR, "tank_liters": 5.0}
    loss = only_event(study(tmp_path, generator=small, outages={"events": [event("2026-01-14T10:00", 40)]}))
    assert {each.why for each in loss.shortfalls} == {("low_cutoff", "generator_tank_empty")}
    assert loss.liters <= 5.0
    tank = next(each for each in loss.remedies if each.what == "tank_liters")
    assert tank.sufficient
    assert tank.value is not None
    for liters, served in ((tank.value, True), (tank.value - 1.0, False)):
        home = {"generator": {**small, "tank_liters": liters}, "outages": {"events": [event("2026-01-14T10:00", 40)]}}
        assert (not only_event(study(tmp_path, **home)).shortfalls) == served


@pytest.mark.slow
def test_the_smallest_reserve_is_found_where_more_is_not_always_better(whole: Outages) -> None:
    """One percent less falls short; so does much more, since the generator then starts too late for its quiet hours."""
    loss = whole.events[2]
    assert [each.why for each in loss.shortfalls] == [("low_cutoff", "generator_quiet_hours")]
    reserve = next(each for each in loss.remedies if each.what == "reserve")
    assert reserve.value is not None
    for level, served in ((reserve.value, True), (reserve.value - 0.01, False), (0.5, False)):
        changed = storm().changed({"strategies.0.reserve": level})
        assert (not outages(changed, years=1).events[2].shortfalls) == served


def test_shortfalls_are_those_of_the_year_s_flows(whole: Outages) -> None:
    for each in whole.events:
        told_kwh = sum(short.unserved_kwh for short in each.shortfalls)
        transfer_kwh = each.unserved_kwh - each.not_backed_up_kwh - told_kwh
        assert 0.0 <= transfer_kwh < 30 / 3600 * 5.0  # 30 s of what is behind the panel
    year = whole.run.flows.year
    assert year is not None
    assert unserved_by_step(year, 0, 24)[0].sum() >= 0.0


@pytest.mark.by_hand
def test_a_home_without_a_grid_is_told_what_its_year_leaves_unserved(tmp_path: Path) -> None:
    """No sun and a battery that nothing charges: all of 0.5 kW in every hour."""
    found = study(tmp_path, arrangement={"kind": "off_grid", "grid": "none"})
    year = only_event(found)
    assert (year.start, year.hours, year.unserved_h) == ("2026-01-01 00:00", 8760, 8760.0)
    assert year.unserved_kwh == pytest.approx(4380.0) == found.run.unserved_kwh
    assert [(each.why, each.hours) for each in year.shortfalls] == [(("low_cutoff",), 8760.0)]
    assert [(each.what, each.sufficient) for each in year.remedies] == [("battery_kwh", False)]
    assert (found.months, found.variants, found.reserve_curve, found.ends) == ((), (), (), ())


@pytest.mark.by_hand
def test_why_backup_ends(tmp_path: Path) -> None:
    """16.2 h after every start, in every hour of the day alike; 01:00 comes twice on a day in November."""
    (end,) = study(tmp_path).ends
    assert (end.why, end.share, end.hour) == (("low_cutoff",), 1.0, 1)


@pytest.mark.by_hand
def test_a_wait_for_somebody_at_home_falls_short(tmp_path: Path) -> None:
    there = {**HYBRID, "transfer": "by_hand", "at_home": [{"from": "18:00", "to": "08:00"}]}
    loss = only_event(study(tmp_path, arrangement=there, outages={"events": [event("2026-01-14T15:00", 6)]}))
    assert [(each.start, each.hours, each.why) for each in loss.shortfalls] == [
        ("2026-01-14 15:00", 3.0, ("no_one_at_home",))
    ]
    tied = only_event(study(tmp_path, arrangement={"kind": "grid_tied"}, outages={"events": [EVENT]}))
    assert [each.why for each in tied.shortfalls] == [("grid_tied",)]
    assert tied.remedies == ()
