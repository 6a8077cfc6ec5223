"""What must hold for any roof."""

from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from solarsim.home import Home
from solarsim.production._array_power import array_power
from solarsim.production._modules import known_module
from solarsim.production._plane import plane_irradiance
from solarsim.production._sun import sun_over
from solarsim.production.dc_power import dc_power
from solarsim.production.power import DcPower
from solarsim.scenario.roof.losses import Losses
from solarsim.scenario.roof.roof import Array, Module
from tests.roofs import INPUT, MODULE, roof, strings

COUNTS = st.integers(3, 13)
DIRECTIONS = st.floats(0.0, 359.0)


@st.composite
def roofs(draw: st.DrawFn) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """Draw one to three unlike arrays on one input, and the input's limits."""
    arrays = [
        strings(
            name=f"array {number}",
            tilt_deg=draw(st.floats(0.0, 90.0)),
            azimuth_deg=draw(DIRECTIONS),
            modules_in_series=draw(COUNTS),
            strings=draw(st.integers(1, 3)),
            mounting=draw(st.sampled_from(["roof", "rack"])),
        )
        for number in range(draw(st.integers(1, 3)))
    ]
    low = draw(st.floats(60.0, 100.0))
    limits = {
        **INPUT,
        "max_kw": draw(st.floats(0.5, 15.0)),
        "max_a": draw(st.floats(5.0, 60.0)),
        "mppt_min_v": low,
        "mppt_max_v": draw(st.floats(low + 1.0, 480.0)),
        "start_v": draw(st.floats(60.0, 105.0)),
        "max_v": 600.0,
    }
    return arrays, limits


def power(home: Home, arrays: list[dict[str, Any]], limits: dict[str, Any], **changes: Any) -> DcPower:
    return dc_power(roof(*arrays, inputs=[limits], **changes), home.weather, home.timeline)


@settings(max_examples=12)
@given(drawn=roofs())
def test_no_power_at_night_none_above_the_limits_and_nothing_gained_on_the_way(
    drawn: tuple[list[dict[str, Any]], dict[str, Any]], demo_home: Home
) -> None:
    arrays, limits = drawn
    found = power(demo_home, arrays, limits)
    way = found.roof
    assert way is not None
    assert found.dc_kw[~way.up].max() == 0.0
    assert found.dc_kw.min() >= 0.0
    assert found.dc_kw.max() <= limits["max_kw"]
    (only,) = way.inputs
    assert only.working_v is not None
    works = only.stages["current"] > 1e-9
    amperes = 1000 * only.stages["current"][works] / only.working_v[works]
    assert amperes.max(initial=0.0) <= limits["max_a"] * (1 + 1e-9)
    kw = list(only.stages.values())
    for before, after in pairwise(kw):
        assert (after <= before + 1e-9).all()
    assert all(np.isfinite(stage).all() for array in way.arrays for stage in array.stages.values())


@settings(max_examples=8)
@given(drawn=roofs(), dirt=st.lists(st.floats(0.0, 0.3), min_size=12, max_size=12), more=st.floats(0.0, 0.5))
def test_more_soiling_never_makes_more_power(
    drawn: tuple[list[dict[str, Any]], dict[str, Any]], dirt: list[float], more: float, demo_home: Home
) -> None:
    arrays, limits = drawn
    clean, dirty = (
        power(
            demo_home, arrays, limits, losses={"array": {"soiling_by_month": [min(each + extra, 1.0) for each in dirt]}}
        )
        for extra in (0.0, more)
    )
    # A hundredth of a milliwatt is what finding the voltage of an input at its current limit leaves open.
    assert (dirty.dc_kw <= clean.dc_kw + 1e-8).all()
    for name, kw in clean.array_kw.items():
        assert (dirty.array_kw[name] <= kw + 1e-9).all()


@settings(max_examples=8)
@given(tilt=st.floats(0.0, 90.0), turn=st.floats(-179.0, 179.0), model=st.sampled_from(["perez-driesse", "haydavies"]))
def test_south_in_the_north_equals_north_in_the_south_when_the_sky_is_mirrored(
    tilt: float, turn: float, model: str, demo_home: Home
) -> None:
    """Mirror the sun itself, north for south: step by step the same power to rounding, through the module's curve."""
    weather, sun = demo_home.weather, sun_over(demo_home.weather, demo_home.timeline)
    module = known_module(Module.model_validate(MODULE))
    mirrored = replace(sun, azimuth_deg=(180.0 - sun.azimuth_deg) % 360.0)
    kw = []
    for there, azimuth in ((sun, 180.0 + turn), (mirrored, (360.0 - turn) % 360.0)):
        array = Array.model_validate(strings(tilt_deg=tilt, azimuth_deg=azimuth))
        plane = plane_irradiance(array, weather, there, model, 0.2)
        kw.append(array_power(array, module, plane, {}, Losses(), np.ones(1), weather, there).own_kw)
    np.testing.assert_allclose(kw[0], kw[1], atol=1e-6)
    assert kw[0].sum() > 0
