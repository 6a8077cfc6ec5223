"""What must hold at every step length: books close, the year is a circle, no energy comes or goes with the steps."""

from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solarsim.home import Home, home_from
from solarsim.load._days import DAYS, day_of_step
from solarsim.load._parts import house_load
from solarsim.run import simulate
from solarsim.scenario.model import Scenario
from solarsim.weather._steps import on_steps
from tests.builders import timeline
from tests.draws import stretches
from tests.load.parts import PARTS, parts, table, weather
from tests.properties.test_books import BOOK_KW, books_by_outsider

STEPS = {minutes: timeline(step_minutes=minutes) for minutes in (60, 30, 15)}


@cache
def home_at(minutes: int) -> Home:
    from solarsim.scenario.read import read_scenario

    return home_from(read_scenario().changed({"site.step_minutes": minutes}))


@settings(max_examples=60)
@given(data=st.data(), minutes=st.sampled_from([30, 15]))
def test_every_book_closes_at_finer_steps(data: st.DataObject, minutes: int) -> None:
    stretch = data.draw(stretches(home_at(minutes), 480))
    flows = stretch.flows()
    battery = stretch.scenario.battery
    assert battery is not None
    assert flows.timeline.step_h == minutes / 60
    for book, residual in books_by_outsider(flows, battery.low_cutoff).items():
        assert residual <= BOOK_KW, book


@pytest.mark.parametrize("minutes", [60, 30, 15])
def test_year_is_a_circle_and_load_and_prices_keep_their_sums(demo: Scenario, minutes: int) -> None:
    home, hourly = home_at(minutes), home_at(60)
    assert home.load_kw.sum() * minutes / 60 == pytest.approx(hourly.load_kw.sum(), rel=1e-12)
    assert home.prices.import_price.mean() == pytest.approx(hourly.prices.import_price.mean(), rel=1e-12)
    np.testing.assert_allclose(home.prices.hours.bill_days, hourly.prices.hours.bill_days)
    offered = home.production.dc_kw.sum() * minutes / 60
    assert offered == pytest.approx(hourly.production.dc_kw.sum(), rel=2e-3)  # the sun's way within the hour
    for strategy in demo.strategies:
        run = simulate(home.scenario, strategy.name, home)
        assert abs(run.year_gap_kwh) < 0.01
        assert run.ledger.balance_error_kw <= BOOK_KW


@settings(max_examples=25)
@given(
    kind=st.sampled_from(sorted(PARTS)),
    changes=st.sampled_from([{}, {"windows": [{"from": "23:00", "to": "06:00"}]}]),
    minutes=st.sampled_from([30, 15]),
    seed=st.integers(0, 99),
)
def test_parts_of_the_house_use_the_same_energy_at_every_step(
    kind: str, changes: dict[str, Any], minutes: int, seed: int
) -> None:
    """Hold each week to its energy, since a car or a tank may be refilled across midnight.

    What heats and cools follows a temperature that moves within the hour; all else is exact.
    """
    own = changes if kind in ("water_heater", "well_pump") else {}
    house = parts(table(kind, **own))
    rng = np.random.default_rng(seed)
    hourly_sky = weather(temp_air_c=12.0 + 8.0 * np.sin(np.arange(8760) / 24 * 2 * np.pi + rng.random()))
    found = {}
    for each in (60, minutes):
        where = STEPS[each]
        load = house_load(house, where, on_steps(hourly_sky, where))
        assert not load.notes
        found[each] = np.bincount(day_of_step(where) // 7, load.load_kw, minlength=DAYS // 7) * where.step_h
    tolerance = 0.02 if kind in ("heat_pump", "air_conditioner") else 1e-9
    np.testing.assert_allclose(found[minutes][1:], found[60][1:], rtol=tolerance, atol=1e-9)


def test_cells_are_as_warm_at_every_step(demo: Scenario) -> None:
    """Cells in a garage follow the air by an exponential lag: the means of quarter hours are those of hours."""
    cells = {}
    for minutes in (60, 15):
        placed = {"battery.place": "garage", "battery.room_c": None}
        scenario = demo.changed({"site.step_minutes": minutes, **placed})
        home = home_from(scenario)
        temperature = home.bank.temperature_c
        assert temperature is not None
        cells[minutes] = temperature.reshape(8760, -1).mean(axis=1)
        assert np.isfinite(simulate(scenario, scenario.strategies[0].name, home).flows["soc"]).all()
    assert cells[15] == pytest.approx(cells[60], abs=0.6)
    assert cells[15].mean() == pytest.approx(cells[60].mean(), abs=0.01)


def test_hours_are_what_they_were(demo: Scenario, demo_home: Home) -> None:
    """Without the key and with 60 minutes the run is one and the same."""
    again = home_from(demo.changed({"site.step_minutes": 60}))
    for name in ("dni_w_m2", "temp_air_c"):
        np.testing.assert_array_equal(getattr(again.weather, name), getattr(demo_home.weather, name))
    np.testing.assert_array_equal(again.production.dc_kw, demo_home.production.dc_kw)
    np.testing.assert_array_equal(again.load_kw, demo_home.load_kw)
