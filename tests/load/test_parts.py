"""The house's load from what stands in it."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solarsim.errors import ScenarioError
from solarsim.load._days import day_of_step
from solarsim.load._parts import house_load, part_year
from tests.builders import timeline
from tests.load.parts import PARTS, part, parts, table, tables, weather

WHERE = timeline()
WITH_HOLIDAYS = timeline(holidays={"country": "US", "observed": False})  # so that drawn windows hold
HOUR = WHERE.minute_of_day // 60
SKY = weather(np.tile(np.linspace(-12.0, 38.0, 24), 365), 400.0)


def load_of(kind: str, **changes: Any) -> Any:
    return part_year(part(kind, **changes), WHERE, SKY).load_kw


@pytest.mark.by_hand
def test_fridge_runs_its_share_of_the_year() -> None:
    # 150 W x 0.35 = 52.5 W; x 8760 h = 459.9 kWh.
    load_kw = load_of("appliance", power_w=150, always_duty=0.35)
    assert load_kw == pytest.approx(0.0525)
    assert load_kw.sum() == pytest.approx(459.9)


@pytest.mark.by_hand
def test_cooker_runs_in_the_first_window_that_holds() -> None:
    # Weekends 11 to 13 at half of 2 kW; every day 18 to 20 at all of it: 104 x 2 x 1 + 365 x 2 x 2 = 1668 kWh.
    windows = [
        {"days": ["weekend"], "from": "11:00", "to": "13:00", "duty": 0.5},
        {"from": "18:00", "to": "20:00", "duty": 1.0},
    ]
    load_kw = load_of("appliance", power_w=2000, always_duty=None, windows=windows)
    assert load_kw.sum() == pytest.approx(1668.0)
    assert set(HOUR[(load_kw > 0) & (WHERE.weekday < 5)].tolist()) == {18, 19}
    assert set(load_kw[WHERE.weekday == 5].tolist()) == {0.0, 1.0, 2.0}


@pytest.mark.by_hand
def test_base_household_keeps_its_sums() -> None:
    bills = [100.0 + month for month in range(12)]
    by_month = load_of("shape", annual_kwh=None, monthly_kwh=bills)
    assert np.bincount(WHERE.month - 1, by_month) == pytest.approx(bills)
    # A year's 8760 kWh are 24 kWh a day: 31 x 24 = 744 kWh in January.
    by_year = load_of("shape", annual_kwh=8760)
    assert by_year.sum() == pytest.approx(8760.0)
    assert by_year[WHERE.month == 1].sum() == pytest.approx(744.0)


def test_load_by_part_and_critical_load_add_up() -> None:
    house = house_load(parts(*(table(kind, critical=kind in ("appliance", "well_pump")) for kind in PARTS)), WHERE, SKY)
    assert list(house.kw_by_part) == [kind.replace("_", " ") for kind in PARTS]
    np.testing.assert_allclose(house.load_kw, sum(house.kw_by_part.values()))
    np.testing.assert_allclose(house.critical_kw, house.kw_by_part["appliance"] + house.kw_by_part["well pump"])
    assert (house.critical_kw <= house.load_kw).all()


def test_house_without_parts_uses_nothing() -> None:
    assert house_load((), WHERE, SKY).load_kw.max() == 0.0


@pytest.mark.by_hand
def test_notes_tell_what_could_not_be_delivered() -> None:
    weak = table("water_heater", name="bath", heater_kw=0.1)
    short = table("electric_car", plugged_in=[{"days": ["sat"], "from": "00:00", "to": "01:00"}])
    house = house_load(parts(table("appliance"), weak, short), WHERE, SKY)
    # 0.1 kW x 8760 h = 876 of 3,819.7 kWh; 52 Saturdays x 4 kWh = 208 of 365 x 8 = 2,920 kWh.
    assert house.notes[0] == "'bath': 2,943.7 of 3,819.7 kWh of electricity could not be delivered, on 365 days"
    assert house.notes[1].startswith(
        "'electric car': 2,712.0 of 2,920.0 kWh of electricity could not be delivered, on "
    )
    assert house.parts["appliance"].unmet_year_kwh == 0.0
    assert house.parts["electric car"].unmet_year_kwh == pytest.approx(2712.0)


@settings(max_examples=60)
@given(st.lists(tables(), min_size=1, max_size=5))
def test_adding_a_part_adds_exactly_its_own_load(drawn: list[dict[str, Any]]) -> None:
    named = parts(*({**each, "name": f"part {number}"} for number, each in enumerate(drawn)))
    with_last, without, alone = (house_load(each, WITH_HOLIDAYS, SKY) for each in (named, named[:-1], named[-1:]))
    np.testing.assert_array_equal(with_last.load_kw, without.load_kw + alone.load_kw)
    np.testing.assert_array_equal(with_last.critical_kw, without.critical_kw + alone.critical_kw)


@settings(max_examples=80)
@given(tables())
def test_no_part_is_negative_and_every_part_s_balance_closes(drawn: dict[str, Any]) -> None:
    year = part_year(parts(drawn)[0], WITH_HOLIDAYS, SKY)
    assert year.load_kw.shape == (8760,)
    assert year.load_kw.min() >= 0.0
    assert year.unmet_kwh.min() >= 0.0
    assert np.isfinite(year.load_kw).all()
    assert year.need_kwh == pytest.approx(year.delivered_kwh + year.unmet_year_kwh, abs=1e-9)
    if year.counted_as == "electricity":
        assert year.load_kw.sum() == pytest.approx(year.delivered_kwh, abs=1e-9)
    limit = drawn.get("charger_kw", drawn.get("heater_kw", drawn.get("power_w", 1e6) / 1000))
    assert year.load_kw.max() <= limit
    assert year.unmet_days(day_of_step(WITH_HOLIDAYS)) <= 365


def test_every_problem_of_every_part_is_told_at_once() -> None:
    never = [{"days": ["holiday"], "duty": 1.0}]
    wrong = (
        table("appliance", name="iron", always_duty=None, windows=never),
        table("electric_car", plugged_in=[{}]),
        table("well_pump", windows=[{"days": ["holiday"]}, {"months": [2], "days": ["holiday"]}]),
    )
    with pytest.raises(ScenarioError, match=r"part 'iron': windows: the 1st window \(holiday\) never holds") as told:
        house_load(parts(*wrong), WHERE, SKY)
    assert [problem.split(":")[0] for problem in told.value.problems] == [
        "part 'iron'",
        "part 'electric car'",
        "part 'well pump'",
        "part 'well pump'",
    ]


def test_two_parts_of_one_name_are_refused() -> None:
    twice = (part("appliance"), part("shape", name="appliance"))
    with pytest.raises(ScenarioError, match="two parts are named 'appliance'"):
        house_load(twice, WHERE, SKY)
