"""Where the roof's energy goes: nothing is lost without a name."""

from itertools import pairwise

import numpy as np
import pytest

from solarsim.scenario.model import RoofScenario
from solarsim.scenario.read import packaged_folder, read_scenario
from solarsim.studies.roof import ArrayEnergy, InputEnergy, Roof, roof
from tests.builders import scenario
from tests.roofs import INPUT, strings
from tests.roofs import roof as home_with


@pytest.fixture(scope="module")
def farm() -> Roof:
    return roof(read_scenario(packaged_folder("scenarios") / "ridge_farm.toml"))


def paths(found: Roof) -> list[ArrayEnergy | InputEnergy]:
    return [*found.arrays, *found.inputs]


def test_every_kilowatt_hour_is_lost_to_a_name_or_available(farm: Roof) -> None:
    for each in farm.inputs:
        delivered = sum(array.after_losses_kwh for array in farm.arrays if array.input == each.input)
        assert each.before_losses_kwh == pytest.approx(delivered)
    for path in paths(farm):
        lost = sum(loss.lost_kwh for loss in path.losses)
        assert path.before_losses_kwh - lost == pytest.approx(path.after_losses_kwh)
    dc_kw, month = farm.production.dc_kw, farm.described.site.timeline().standard_month
    np.testing.assert_allclose(farm.monthly_pv_available_kwh, np.bincount(month - 1, dc_kw))


def test_only_temperature_can_add_energy(farm: Roof) -> None:
    for path in paths(farm):
        for loss in path.losses:
            assert loss.cause == "temperature" or loss.monthly_lost_kwh.min() >= -1e-9, loss.cause


def test_losses_stand_by_where_they_act_the_largest_first(farm: Roof) -> None:
    groups = ["on the array", "in the module", "in the wiring", "in operation", "at the input"]
    for path in paths(farm):
        for one, other in pairwise(path.losses):
            assert groups.index(one.group) <= groups.index(other.group)
            assert one.group != other.group or one.lost_kwh >= other.lost_kwh


@pytest.mark.by_hand
def test_share_of_a_loss_is_the_one_in_the_scenario(farm: Roof) -> None:
    losses = farm.described.losses
    shares = {loss.cause: loss.share for loss in farm.arrays[0].losses}
    assert losses is not None
    assert shares["mismatch"] == pytest.approx(losses.wiring.mismatch)


@pytest.mark.by_hand
def test_hours_and_energy_lost_to_power_are_counted() -> None:
    found = roof(home_with(strings(), inputs=[{**INPUT, "max_kw": 2.0}]))
    (only,) = found.inputs
    delivered = found.production.array_kw["roof"]
    assert next(each.lost_h for each in only.losses if each.cause == "power") == (delivered > 2.001).sum()
    assert only.lost_kwh("power") == pytest.approx((delivered - 2.0).clip(0).sum())
    assert found.production.clipped_kw.sum() == pytest.approx(only.lost_kwh("power"))


def test_window_current_and_power_are_told_apart() -> None:
    pair = [strings(strings=2), strings(name="west", modules_in_series=8, azimuth_deg=270.0)]
    limits = {"max_kw": 5.0, "max_a": 20.0, "mppt_min_v": 290.0, "start_v": 200.0}
    found = roof(home_with(*pair, inputs=[{**INPUT, **limits}]))
    (only,) = found.inputs
    assert all(only.lost_kwh(cause) > 1.0 for cause in ("unlike_strings", "window", "current", "power"))
    clipped = found.production.clipped_kw.sum()
    assert clipped == pytest.approx(only.lost_kwh("current") + only.lost_kwh("power"))
    assert found.production.dc_kw.max() <= 5.0


def test_an_input_without_arrays_is_left_out() -> None:
    found = roof(scenario(inverter__inputs=[{"max_kw": 5.0}, {"max_kw": 5.0}]))
    assert [each.input for each in found.inputs] == [1]


def test_a_roof_without_arrays_is_empty() -> None:
    found = roof(scenario(arrays=[]))
    assert (found.arrays, found.inputs, found.pv_available_kwh) == ((), (), 0.0)


def test_arrays_inverter_losses_site_and_weather_are_enough(farm: Roof) -> None:
    """A part of a scenario gives what the whole does."""
    part = read_scenario(packaged_folder("scenarios") / "ridge_farm.toml", kind=RoofScenario)
    found = roof(part)
    assert not hasattr(part, "strategies")
    assert found.record() == {**farm.record(), "notes": list(found.notes)}
