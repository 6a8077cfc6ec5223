"""What stands at the house."""

from collections.abc import Mapping

import pytest

from solarsim.errors import ScenarioError
from solarsim.scenario.battery.battery import Battery, CellString
from tests.builders import scenario

STRINGS = (
    {"cells_in_series": 16, "cell_ah": 150.0, "cell_v": 3.2},
    {"cells_in_series": 16, "cell_ah": 155.0, "cell_v": 3.2, "strings": 2},
)


def bank(*strings: Mapping[str, object]) -> Battery:
    return Battery.model_validate(
        {
            "bank": strings,
            "round_trip_efficiency": 0.90,
            "low_cutoff": 0.1,
            "self_discharge_per_month": 0.0,
            "max_charge_a": 100.0,
        }
    )


@pytest.mark.trade
def test_bank_of_three_strings_that_differ() -> None:
    """16 cells of 150 Ah in series, with two strings of 155 Ah in parallel: 23.5 kWh at 51.2 V (common practice)."""
    battery = bank(*STRINGS)
    assert battery.kwh == pytest.approx(23.5, abs=0.06)
    assert battery.volts == pytest.approx(51.2)


@pytest.mark.by_hand
def test_energy_of_a_string_is_cells_times_ampere_hours_times_volts() -> None:
    # 16 x 150 Ah x 3.2 V / 1000 = 7.68 kWh.
    assert CellString(cells_in_series=16, cell_ah=150.0, cell_v=3.2).kwh == pytest.approx(7.68)


@pytest.mark.published
def test_round_trip_is_split_between_the_two_ways() -> None:
    """By hand: 0.90 is 0.948683 each way, its root.

    Split of a round trip of 0.90: 0.948683 each way.
    """
    assert bank(*STRINGS).one_way_efficiency == pytest.approx(0.948683, abs=5e-7)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"battery__bank": [*STRINGS, {**STRINGS[0], "cells_in_series": 15}], "battery__capacity_kwh": None},
         r"51\.2 V and 48 V \(cells_in_series x cell_v\) must not be connected in parallel"),
        ({"battery__bank": list(STRINGS)}, "either the bank .* or capacity_kwh"),
        ({"battery__capacity_kwh": None}, "either the bank .* or capacity_kwh"),
        ({"battery__max_charge_a": 100.0}, "limits in ampere need nominal_v"),
        ({"battery__max_charge_kw": None}, "nothing limits its charge"),
        ({"inverter__battery_charge_a": 100.0}, "need battery.nominal_v"),
        ({"inverter__efficiency": {"peak": 0.97}}, "belong together"),
        ({"inverter__efficiency": {}}, "give one of"),
        ({"inverter__efficiency": {"peak": 0.96, "weighted": 0.97, "weights": "cec"}}, "above the peak"),
        ({"inverter__standby_w": 2000.0}, "one is in another unit"),
        ({"arrays__0__input": 2}, "on input 2, but the inverter has inputs 1 to 1"),
        ({"strategies__0__reserve": 0.05}, "below the battery's low_cutoff 0.1"),
        ({"load__file": "x.csv"}, "give one of: a file; a meter; monthly_kwh"),
        ({"load__shape": None}, "belong together"),
        ({"weather__format": "csv"}, "states no place"),
        ({"weather__place": {"latitude_deg": 1.0, "longitude_deg": 1.0, "elevation_m": 1.0, "utc_offset_h": 1.0}},
         "states its own place"),
        ({"site__holidays": {"observed": True}}, "either a country or a list of dates"),
        ({"site__holidays": {"country": "US"}}, "'observed' must say"),
    ],
)  # fmt: skip
def test_half_or_double_specified_parts_are_refused(changes: dict[str, object], told: str) -> None:
    with pytest.raises(ScenarioError, match=told):
        scenario(**changes)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"load__annual_kwh": 4000.0}, "give one of: a file; a meter; monthly_kwh or annual_kwh with a shape"),
        ({"load__shape": None}, "and shape belong together"),
        ({"inverter__standby_w": 1000.0}, "one is in another unit"),  # a fifth of 5 kW
        ({"strategies__0__windows": [{"from": "16:00", "to": "21:00", "reserve": 0.05}]}, "low_cutoff 0.1"),
        ({"battery__max_discharge_kw": None}, "nothing limits its discharge"),
        ({"inverter__efficiency": {"points": [{"load": 0.5, "efficiency": e} for e in (0.95, 0.96, 0.97)]}},
         "at least three different loads"),
        ({"battery__bank": [{"cells_in_series": 16, "cell_ah": 100.0, "cell_v": 3.2}], "battery__capacity_kwh": None,
          "battery__nominal_v": 51.2}, "nominal_v follows from the bank's strings"),
    ],
)  # fmt: skip
def test_more_half_or_double_specified_parts_are_refused(changes: dict[str, object], told: str) -> None:
    with pytest.raises(ScenarioError, match=told):
        scenario(**changes)


def test_bias_may_belong_to_a_window_of_zero_export() -> None:
    window = {"from": "10:00", "to": "14:00", "export_limit_kw": 0.0}
    scenario(strategies__0__zero_export_bias_kw=0.03, strategies__0__windows=[window])
