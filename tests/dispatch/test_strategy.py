"""Which settings govern which step."""

from math import inf

import numpy as np
import pytest

from solarsim.dispatch.strategy import dispatch_from, raised
from solarsim.errors import ScenarioError
from solarsim.scenario.strategy import Strategy, StrategyWindow
from solarsim.scenario.system import Grid
from tests.builders import timeline

WHERE = timeline()
BASE = {"name": "s", "surplus_to": "battery", "battery_serves_load": True, "reserve": 0.2}


def strategy(*windows: dict[str, object], **changes: object) -> Strategy:
    return Strategy.model_validate({**BASE, **changes, "windows": windows})


def test_first_window_governs_and_the_rest_comes_from_the_base() -> None:
    dispatch = dispatch_from(
        strategy(
            {"months": (7,), "from": "16:00", "to": "21:00", "reserve": 0.5},
            {"months": (7,), "reserve": 0.4, "surplus_to": "grid"},
        ),
        None,
        WHERE,
    )
    july, peak = WHERE.month == 7, (WHERE.minute_of_day >= 960) & (WHERE.minute_of_day < 1260)
    assert set(dispatch.reserve[july & peak]) == {0.5}
    assert set(dispatch.reserve[july & ~peak]) == {0.4}
    assert set(dispatch.reserve[~july]) == {0.2}
    assert dispatch.surplus_to_battery[july & peak].all()
    assert not dispatch.surplus_to_battery[july & ~peak].any()


def test_every_setting_of_a_window_reaches_the_plan() -> None:
    evening = {"from": "16:00", "to": "21:00"}
    changes = {
        "surplus_to": "grid", "battery_serves_load": False, "reserve": 0.3, "solar_ceiling": 0.8,
        "charge_from_grid_to": 0.4, "sell_down_to": 0.6, "import_cap_kw": 2.0, "export_limit_kw": 1.5,
        "grid_charge_kw": 3.0, "discharge_limit_kw": 2.5, "sell_limit_kw": 1.0, "load_served": "backed_up",
        "off_grid_floor": 0.15,
    }  # fmt: skip
    dispatch = dispatch_from(strategy({**evening, **changes}, zero_export_bias_kw=0.05), None, WHERE)
    inside = (WHERE.minute_of_day >= 960) & (WHERE.minute_of_day < 1260)
    expected = {
        "surplus_to_battery": (False, True), "serves_load": (False, True), "reserve": (0.3, 0.2), "ceiling": (0.8, 1.0),
        "charge_to": (0.4, 0.0), "sell_to": (0.6, 1.0), "import_cap_kw": (2.0, inf), "export_limit_kw": (1.5, inf),
        "bias_kw": (0.05, 0.05), "grid_charge_kw": (3.0, inf), "discharge_limit_kw": (2.5, inf),
        "sell_limit_kw": (1.0, inf), "backed_up_only": (True, False), "off_grid_floor": (0.15, 0.0),
    }  # fmt: skip
    for name, (within, outside) in expected.items():
        assert set(getattr(dispatch, name)[inside].tolist()) == {within}, name
        assert set(getattr(dispatch, name)[~inside].tolist()) == {outside}, name


@pytest.mark.by_hand
def test_current_becomes_power_at_the_battery_s_voltage_whichever_unit_the_base_has() -> None:
    # 60 A x 51.2 V = 3.072 kW; 25 A x 51.2 V = 1.28 kW.
    dispatch = dispatch_from(
        strategy(
            {"from": "01:00", "to": "02:00", "grid_charge_a": 60.0, "discharge_limit_kw": 2.0},
            {"from": "02:00", "to": "03:00", "reserve": 0.3},
            grid_charge_kw=5.0,
            discharge_limit_a=25.0,
        ),
        None,
        WHERE,
        51.2,
    )
    hour = WHERE.minute_of_day // 60
    for name, levels in {"grid_charge_kw": (5.0, 3.072, 5.0), "discharge_limit_kw": (1.28, 2.0, 1.28)}.items():
        for number, level in enumerate(levels):
            assert getattr(dispatch, name)[hour == number] == pytest.approx(level), (name, number)


def test_window_that_never_governs_is_refused() -> None:
    with pytest.raises(ScenarioError, match=r"the 2nd window \(Jul .*never holds"):
        dispatch_from(
            strategy({"months": (6, 7), "reserve": 0.5}, {"months": (7,), "days": ("mon",), "reserve": 0.4}),
            None,
            WHERE,
        )


def test_window_on_days_that_the_year_does_not_have_is_refused_as_such() -> None:
    with pytest.raises(ScenarioError, match=r"the 1st window \(Jul holiday\) never holds: 2026 has no such hour"):
        dispatch_from(strategy({"months": (7,), "days": ("holiday",), "reserve": 0.5}), None, WHERE)


def test_utility_s_export_limit_stands_above_every_strategy() -> None:
    generous = dispatch_from(strategy(export_limit_kw=9.0), Grid(export_limit_kw=3.0), WHERE)
    strict = dispatch_from(strategy(export_limit_kw=1.0), Grid(export_limit_kw=3.0), WHERE)
    assert set(generous.export_limit_kw) == {3.0}
    assert set(strict.export_limit_kw) == {1.0}
    assert set(dispatch_from(strategy(), None, WHERE).export_limit_kw) == {inf}
    assert set(dispatch_from(strategy(), Grid(export_limit_kw=3.0), WHERE).export_limit_kw) == {3.0}


def test_every_array_has_one_entry_for_each_step() -> None:
    for each in dispatch_from(strategy(), None, WHERE):
        assert each.shape == (8760,)
        assert not np.isnan(each.astype(float)).any()


def test_a_strategy_is_lifted_to_a_reserve_where_it_is_below_it() -> None:
    window = StrategyWindow.model_validate({"from": "17:00", "to": "20:00", "sell_down_to": 0.3, "reserve": 0.2})
    low = Strategy(name="low", surplus_to="battery", battery_serves_load=True, reserve=0.1, windows=(window,))
    high = raised(low, 0.4)
    assert (high.reserve, high.windows[0].reserve, high.windows[0].sell_down_to) == (0.4, 0.4, 0.4)
    assert raised(low, 0.05) == low


def test_a_strategy_without_any_reserve_is_lifted_too() -> None:
    none = Strategy(name="none", surplus_to="battery", battery_serves_load=True, reserve=0.0, sell_down_to=0.0)
    high = raised(none, 0.2)
    assert (high.reserve, high.sell_down_to) == (0.2, 0.2)
