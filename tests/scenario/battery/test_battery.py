"""The battery table: presets, what is written wins, and settings that no cell could bear."""

import re
from typing import Any

import pytest

from solarsim.errors import ScenarioError
from solarsim.scenario.battery.battery import NEED_CHEMISTRY, Battery
from solarsim.scenario.battery.chemistry import PRESETS
from tests.builders import scenario

PRESET_KEYS = ("round_trip_efficiency", "low_cutoff", "self_discharge_per_month", "max_charge_kw", "max_discharge_kw")


def battery(**keys: Any) -> Battery:
    """Give the plain home's battery with keys replaced."""
    found = scenario(**{f"battery__{key}": value for key, value in keys.items()}).battery
    assert found is not None
    return found


def bare(**keys: Any) -> Battery:
    """Give a battery of 10 kWh that leaves all to its chemistry but the keys that are given."""
    strategy = {"name": "base", "surplus_to": "battery", "battery_serves_load": True, "reserve": 0.5}
    changes = {f"battery__{key}": value for key, value in {**dict.fromkeys(PRESET_KEYS), **keys}.items()}
    found = scenario(**changes, strategies=[strategy]).battery
    assert found is not None
    return found


@pytest.mark.parametrize("chemistry", list(PRESETS))
@pytest.mark.trade
def test_a_chemistry_stands_for_what_is_left_out(chemistry: str) -> None:
    found, preset = bare(chemistry=chemistry, place="indoor"), PRESETS[chemistry]
    for key in preset._fields:
        assert getattr(found, key) == getattr(preset, key), key
    assert found.rate_kw("charge") == pytest.approx(10.0 * preset.charge_c_rate)
    assert {"round_trip_efficiency", "charge_c_rate", "room_c"} <= found.presets.keys()
    assert ("peukert" in found.presets) == chemistry.endswith("lead_acid")


def test_what_is_written_wins_and_is_no_preset() -> None:
    found = bare(chemistry="lfp", place="garage", round_trip_efficiency=0.91, charge_min_c=2.0, max_charge_kw=4.0)
    assert (found.round_trip_efficiency, found.charge_min_c) == (0.91, 2.0)
    assert found.rate_kw("charge") is None
    assert not {"round_trip_efficiency", "charge_min_c", "charge_c_rate", "room_c"} & found.presets.keys()


def test_without_a_chemistry_there_is_no_limit_that_was_not_written() -> None:
    found = battery()
    assert (found.taper_from, found.peukert, found.rate_kw("charge"), found.presets) == (1.0, 1.0, None, {})
    assert found.charge_min_c < -1e9 < 1e9 < found.charge_max_c


IMPOSSIBLE: dict[str, tuple[str, dict[str, Any]]] = {
    "no chemistry, no efficiency": ("round_trip_efficiency is missing: write it", {"round_trip_efficiency": None}),
    "place without chemistry": ("place: needs a chemistry (lfp", {"place": "garage"}),
    "taper without chemistry": ("taper_from: needs a chemistry", {"taper_from": 0.9}),
    "warranty without chemistry": ("warranty: needs a chem", {"warranty": {"years": 1.0, "remaining": 0.7}}),
    "unknown chemistry": ("battery.chemistry: 'lpf' is not known; did you mean 'lfp'?", {"chemistry": "lpf"}),
    "unknown place": ("battery.place: 'cellar' is not known", {"chemistry": "lfp", "place": "cellar"}),
    "nowhere": ("place is missing: indoor, garage or outdoor", {"chemistry": "lfp"}),
    "room outdoors": ("room_c 20 is for an indoor bank", {"place": "outdoor", "room_c": 20.0}),
    "cold limits crossed": ("charge_min_c 12, charge_slow_below_c 10 and", {"charge_min_c": 12.0}),
    "hot below slow": ("charge_max_c 5 must rise in this order", {"charge_max_c": 5.0}),
    "discharge limits crossed": ("discharge_min_c 60 must be below discharge_max_c 55", {"discharge_min_c": 60.0}),
    "taper from below the floor": ("taper_from 0.05 must be above low_cutoff 0.1", {"taper_from": 0.05}),
    "taper above full": ("battery.taper_from: 95.0 must be at most 1; 95% is written 0.95", {"taper_from": 95.0}),
    "slow faster than fast": ("charge_slow_c_rate 0.8 is above charge_c_rate 0.5", {"charge_slow_c_rate": 0.8}),
    "charging frozen lithium": ("lithium cells must not be charged below -20 C", {"charge_min_c": -30.0}),
    "Peukert of lithium": ("peukert and rated_h are for lead-acid", {"peukert": 1.2}),
    "Peukert below 1": ("battery.peukert: 0.9 must be at least 1", {"peukert": 0.9}),
    "no C-rate": ("battery.charge_c_rate: 0.0 must be above 0", {"charge_c_rate": 0.0}),
    "C-rate of a capacitor": ("battery.discharge_c_rate: 50.0 must be at most 10", {"discharge_c_rate": 50.0}),
    "heater of nothing": ("battery.heater.w: 0.0 must be above 0", {"heater": {"w": 0.0, "below_c": 3.0}}),
    "heater for ever": ("heater.below_c 20 must be below charge_max_c 15", {
        "heater": {"w": 50.0, "below_c": 20.0}, "charge_max_c": 15.0}),
    "heater misspelled": ("battery.heater.watt: unknown key", {"heater": {"watt": 50.0, "below_c": 3.0}}),
    "worn out when new": ("battery.end_of_life: 1.0 must be below 1", {"end_of_life": 1.0}),
    "warranty beyond the end": ("warranty.remaining 0.9 is above end_of_life 0.8", {
        "warranty": {"years": 10.0, "remaining": 0.9}}),
    "warranty of no years": ("battery.warranty.years: 0.0 must be above 0", {
        "warranty": {"years": 0.0, "remaining": 0.7}}),
    "price, which stands in the parts list": ("battery.price: unknown key", {"price": 5.0}),
    "NMC cells called iron phosphate": ("cell_v 3.7 is not a voltage of lithium iron phosphate", {
        "capacity_kwh": None, "bank": [{"cells_in_series": 14, "cell_ah": 100.0, "cell_v": 3.7}]}),
    "round trip above 1": ("round_trip_efficiency: 1.1 must be at most 1", {"round_trip_efficiency": 1.1}),
    "frost in kelvin": ("battery.charge_min_c: 273.15 must be at most 90", {"charge_min_c": 273.15}),
}  # fmt: skip


@pytest.mark.parametrize(("says", "keys"), IMPOSSIBLE.values(), ids=list(IMPOSSIBLE))
def test_impossible_settings_are_refused_by_name(says: str, keys: dict[str, Any]) -> None:
    alone = "needs" in says or "write it" in says or "chemistry" in keys
    cells = {} if alone else {"chemistry": "lfp", "place": "indoor"}
    if "room_c" in keys or keys.get("place"):
        cells.pop("place", None)
    with pytest.raises(ScenarioError, match=re.escape(says)):
        battery(**cells, **keys)


def test_a_misspelled_chemistry_is_one_line_and_hides_nothing_else() -> None:
    with pytest.raises(ScenarioError) as found:
        battery(chemistry="lpf", place="indoor")
    assert len(found.value.problems) == 1


def test_blocks_of_several_cells_are_known_by_their_voltage() -> None:
    row = {"cells_in_series": 4, "cell_ah": 100.0}
    for chemistry, cell_v in (("lfp", 12.8), ("flooded_lead_acid", 12.0), ("sealed_lead_acid", 6.0)):
        found = battery(chemistry=chemistry, place="indoor", capacity_kwh=None, bank=[{**row, "cell_v": cell_v}])
        assert found.kwh == pytest.approx(4 * cell_v / 10)


def test_every_key_that_needs_a_chemistry_is_a_key() -> None:
    assert set(NEED_CHEMISTRY) <= set(Battery.model_fields)
