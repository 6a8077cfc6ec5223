"""What is bought: quantities that follow the hardware, what is there already, and lists that contradict it."""

import copy
from decimal import Decimal
from typing import Any

import pytest

from solarsim.errors import ScenarioError
from solarsim.ledger.purchase import Purchase, purchase_from
from solarsim.scenario.model import Scenario
from solarsim.scenario.read import read_scenario
from tests.builders import PLAIN, scenario

ROOF: dict[str, Any] = PLAIN["arrays"][0]
DATASHEET = {
    "name": "curve",
    "v_oc_v": 37.1,
    "i_sc_a": 13.9,
    "v_mp_v": 31.2,
    "i_mp_a": 13.15,
    "p_mp_per_c": -0.0034,
    "v_oc_per_c": -0.0027,
    "i_sc_per_c": 0.0005,
}
INPUT = {"max_kw": 9.0, "max_a": 40.0, "mppt_min_v": 100.0, "mppt_max_v": 450.0, "start_v": 120.0, "max_v": 500.0}
#: Two strings of 10 plain modules of 400 W, one of 8 from a datasheet (31.2 V x 13.15 A = 410.28 W), one of 6 behind an
#: inverter of its own; 2 x 16 + 16 cells of 280 Ah and 3.2 V.
HOME: dict[str, Any] = {
    "modules": [DATASHEET],
    "arrays": [
        ROOF | {"name": "south", "strings": 2},
        {key: value for key, value in ROOF.items() if key not in ("module_w", "temperature_coefficient_per_c")}
        | {"name": "east", "module": "curve", "modules_in_series": 8, "input": 2},
        {key: value for key, value in ROOF.items() if key != "input"}
        | {"name": "shed", "modules_in_series": 6, "ac_inverter": "string inverter"},
    ],
    "ac_inverters": [{"name": "string inverter", "ac_kw": 2.5, "efficiency": PLAIN["inverter"]["efficiency"]}],
    "inverter__inputs": [{"max_kw": 9.0}, INPUT],
    "battery__capacity_kwh": None,
    "battery__bank": [
        {"cells_in_series": 16, "cell_ah": 280.0, "cell_v": 3.2, "strings": 2},
        {"cells_in_series": 16, "cell_ah": 280.0, "cell_v": 3.2},
    ],
}


def home(*parts: dict[str, Any], **changes: Any) -> Scenario:
    listed = [{"name": f"part {number}", "unit_price": 10.0} | part for number, part in enumerate(parts)]
    return scenario(**{**copy.deepcopy(HOME), "costs": {"parts": listed}} | changes)


def bought(*parts: dict[str, Any], **changes: Any) -> Purchase:
    return purchase_from(home(*parts, **changes))


COUNTS: dict[str, tuple[dict[str, Any], float]] = {
    "module": ({"per": "module"}, 20 + 8 + 6),
    "module of a kind": ({"per": "module", "module": "curve"}, 8),
    "module of an array": ({"per": "module", "array": "south"}, 20),
    "two for each module": ({"per": "module", "quantity": 2.0}, 68),
    "array": ({"per": "array"}, 3),
    "string": ({"per": "string"}, 4),
    "string of an array": ({"per": "string", "array": "south"}, 2),
    "kw_dc": ({"per": "kw_dc"}, 20 * 0.4 + 8 * 0.41028 + 6 * 0.4),
    "kw_dc of a kind": ({"per": "kw_dc", "module": "curve"}, 8 * 0.41028),
    "inverter": ({"per": "inverter"}, 1),
    "kw_ac": ({"per": "kw_ac"}, 5.0),
    "kw_ac of another inverter": ({"per": "kw_ac", "ac_inverter": "string inverter"}, 2.5),
    "cell": ({"per": "cell"}, 48),
    "battery_string": ({"per": "battery_string"}, 3),
    "battery_kwh": ({"per": "battery_kwh"}, 48 * 280 * 3.2 / 1000),
    "system": ({"per": "system"}, 1),
    "fixed": ({"quantity": 7.0}, 7),
}


@pytest.mark.by_hand
@pytest.mark.parametrize(("part", "count"), COUNTS.values(), ids=list(COUNTS))
def test_quantity_follows_the_hardware(part: dict[str, Any], count: float) -> None:
    (line,) = bought(part).lines
    assert line.quantity == pytest.approx(count, rel=1e-12)
    assert float(line.amount) == pytest.approx(10.0 * count, abs=0.005)


@pytest.mark.by_hand
def test_twice_the_battery_costs_more_and_only_the_battery_does() -> None:
    """The demo's second bank entry doubled: 16 more cells at 112 and one more cabinet at 310."""
    demo = read_scenario()
    first, second = purchase_from(demo), purchase_from(demo.changed({"battery.bank.1.strings": 2}))
    assert first.upfront_cost == 13167.0
    assert second.upfront_cost - first.upfront_cost == 16 * 112 + 310
    assert second.without_battery.upfront_cost == first.without_battery.upfront_cost
    assert first.battery_cost == 32 * 112 + 2 * 310
    # 19 modules of 410 W; 16 cells of 280 and of 230 Ah, a tenth of them below the cutoff.
    assert first.cost_per_wdc == pytest.approx((13167 - 4204) / (19 * 410))
    assert first.cost_per_usable_kwh == pytest.approx(4204 / (16 * 3.2 * 0.510 * 0.9))


@pytest.mark.by_hand
def test_what_is_there_already_is_not_bought_but_replaced() -> None:
    found = bought(
        {"per": "module", "owned": 30.0, "life_years": 20, "replacement_price": 9.0}, {"quantity": 3.0, "owned": 5.0}
    )
    first, second = found.lines
    assert (first.quantity, first.bought, first.amount) == (34, 4, Decimal("40.00"))
    assert (second.bought, second.amount) == (0, 0)


def test_home_without_a_battery_buys_nothing_that_only_a_battery_needs() -> None:
    """The same purchase whether the home, the purchase or the arrangement is without the battery."""
    cells, cabinet = {"per": "cell", "of": "cells"}, {"quantity": 1.0, "of": "battery"}
    fitting = [{"name": "fitting", "per": "battery_string", "unit_price": 50.0}]
    with_battery = home({"per": "module"}, cells, cabinet)
    with_battery = with_battery.changed({"costs.labor": fitting, "costs.installation": 100.0})
    found = purchase_from(with_battery)
    assert found.upfront_cost == 340 + 480 + 10 + 150 + 100
    assert found.battery_cost == 480 + 10 + 150
    bare = purchase_from(with_battery.changed({"battery": None}))
    assert found.without_battery.upfront_cost == bare.upfront_cost == 440
    assert [line.name for line in bare.lines] == ["part 0", "installation"]
    assert bare.notes == ("no battery: not bought: 'part 2'",)
    tied = purchase_from(with_battery.changed({"arrangement": {"kind": "grid_tied"}}))
    assert (tied.upfront_cost, tied.battery_cost, tied.usable_kwh) == (440, 0, 0)


def test_battery_without_a_marked_part_has_no_known_cost() -> None:
    found = bought({"quantity": 1.0})
    assert (found.battery_cost, found.cost_per_wdc, found.cost_per_usable_kwh) == (None, None, None)


SIZES = [
    {"ac_kw": 5.0, "unit_price": 1000.0, "life_years": 12, "replacement_price": 900.0},
    {"ac_kw": 8.0, "unit_price": 1600.0, "battery_charge_kw": 7.0},
]


def test_inverter_of_each_size_has_its_own_price() -> None:
    written = home({"per": "module"}).changed({"costs.inverters": SIZES})
    line = purchase_from(written).lines[-1]
    assert (line.name, line.unit_price, line.life_years) == ("hybrid inverter 5 kW", 1000.0, 12)
    assert written.costs is not None
    larger = written.costs.inverters[1].changes
    assert larger == {"inverter.ac_kw": 8.0, "inverter.battery_charge_kw": 7.0}
    assert purchase_from(written.changed(larger)).lines[-1].unit_price == 1600.0
    only_rating = purchase_from(written.changed({"inverter.ac_kw": 8.0}))
    assert only_rating.notes == (
        "costs.inverters: the size of 8 kW lists other values than [inverter], which are used: battery_charge_kw",
    )
    with pytest.raises(ScenarioError, match=r"has no price for inverter.ac_kw 6; sizes with a price: 5, 8"):
        purchase_from(written.changed({"inverter.ac_kw": 6.0}))


CONTRADICTIONS: dict[str, tuple[dict[str, Any], str]] = {
    "modules": ({"quantity": 30.0, "of": "modules"}, "'part 0': 30 in the list, the arrays have 34 modules"),
    "three for each": (
        {"per": "module", "quantity": 3.0, "of": "modules"},
        "'part 0': 102 in the list, the arrays have 34 modules",
    ),
    "cells": ({"quantity": 96.0, "of": "cells"}, "'part 0': 96 in the list, the bank has 48 cells in 3 strings"),
}


@pytest.mark.parametrize(("part", "told"), CONTRADICTIONS.values(), ids=list(CONTRADICTIONS))
def test_fixed_quantity_that_contradicts_the_hardware_is_noted_and_in_a_complete_list_refused(
    part: dict[str, Any], told: str
) -> None:
    written = home(part)
    assert any(told in note for note in purchase_from(written).notes)
    with pytest.raises(ScenarioError, match=r"in the list, .*\(costs.complete\)"):
        purchase_from(written.changed({"costs.complete": True}))


def test_modules_may_be_listed_on_several_lines() -> None:
    assert bought({"quantity": 30.0, "of": "modules"}, {"quantity": 4.0, "of": "modules"}).notes == ()
    assert bought({"quantity": 30.0, "of": "modules"}, {"per": "string", "of": "modules"}).notes == ()


@pytest.mark.parametrize("quantity", [48.0, 3.0])
def test_battery_may_be_listed_by_the_cell_or_by_the_string(quantity: float) -> None:
    assert bought({"quantity": quantity, "of": "cells"}).notes == ()


GIFTS = [{"name": "a", "share": 0.7, "year": 0}, {"name": "b", "share": 0.7, "year": 1}]
BAD: dict[str, tuple[dict[str, Any], str]] = {
    "incentives above the price": ({"costs.incentives": GIFTS}, r"incentives of 476\.00 are more than .*\(340\.00\)"),
    "loan above what is left": (
        {"costs.incentives": GIFTS[:1], "costs.loan": {"share": 0.9, "rate": 0.06, "years": 10}},
        r"the loan of 306\.00 is more than is paid at the purchase \(102\.00, after incentives",
    ),
    "cells of a bank in kWh": (
        {"costs.parts.0.per": "cell", "battery.bank": None, "battery.capacity_kwh": 9.0, "battery.nominal_v": 51.2},
        r"costs.parts.1st.per: 'cell' needs battery.bank; a battery of capacity_kwh",
    ),
    "labor by the string of a bank in kWh": (
        {
            "costs.labor": [{"name": "fitting", "per": "battery_string", "unit_price": 5.0}],
            "battery.bank": None,
            "battery.capacity_kwh": 9.0,
        },
        r"costs.labor.1st.per: 'battery_string' needs battery.bank",
    ),
    "no costs": ({"costs": None}, r"has no table \[costs\]; add one with parts"),
}


@pytest.mark.parametrize(("changes", "told"), BAD.values(), ids=list(BAD))
def test_purchase_that_does_not_add_up_is_refused(changes: dict[str, Any], told: str) -> None:
    with pytest.raises(ScenarioError, match=told):
        purchase_from(home({"per": "module"}).changed(changes))
