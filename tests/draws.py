"""Random homes for property tests: hypothesis draws tables that a user could write."""

from dataclasses import replace
from typing import Any

import numpy as np
from hypothesis import strategies as st

from solarsim.clock.timeline import Timeline
from solarsim.dispatch.strategy import dispatch_from
from solarsim.engine.records import Cells, Dispatch, Inputs, Ints, Limits, cells_at_ease
from solarsim.engine.year import Year, run_year
from solarsim.errors import ScenarioError
from solarsim.hardware.cell_temperature import bank_over_year
from solarsim.hardware.limits import limits_from
from solarsim.home import Home
from solarsim.ledger.flows import Flows, flows_from_year
from solarsim.ledger.prices import Prices, prices_from
from solarsim.scenario.battery.chemistry import LITHIUM
from solarsim.scenario.model import Scenario
from tests.builders import inputs_of, scenario

MONTHS = st.none() | st.lists(st.integers(1, 12), min_size=1, max_size=6, unique=True)
DAYS = st.none() | st.lists(st.sampled_from(["weekday", "weekend", "holiday", "mon", "sat"]), min_size=1, unique=True)
HOURS = st.lists(st.integers(0, 23), min_size=2, max_size=2, unique=True)


LIMITS = ("grid_charge_kw", "discharge_limit_kw", "sell_limit_kw")


def _share(low: float = 0.0, high: float = 1.0) -> st.SearchStrategy[float]:
    return st.integers(0, 20).map(lambda step: round(low + (high - low) * step / 20, 4))


@st.composite
def windows(draw: st.DrawFn) -> dict[str, Any]:
    """Draw when: months, days and hours, any of them left out."""
    window: dict[str, Any] = {"months": draw(MONTHS), "days": draw(DAYS)}
    if draw(st.booleans()):
        start, end = draw(HOURS)
        window |= {"from": f"{start:02d}:00", "to": f"{end:02d}:00"}
    return {key: value for key, value in window.items() if value is not None}


@st.composite
def settings(draw: st.DrawFn, minimum: float) -> dict[str, Any]:
    """Draw what a strategy asks for, levels in an order that makes sense."""
    reserve = draw(_share(minimum))
    sell = draw(st.just(1.0) | _share(reserve))
    return {
        "surplus_to": draw(st.sampled_from(["battery", "grid"])),
        "battery_serves_load": draw(st.booleans()),
        "reserve": reserve,
        "solar_ceiling": draw(st.just(1.0) | _share(reserve)),
        "charge_from_grid_to": draw(st.just(0.0) | _share(0.0, sell)),
        "sell_down_to": sell,
        **draw(st.fixed_dictionaries({}, optional={"import_cap_kw": _share(0.0, 4.0)})),
        **draw(st.fixed_dictionaries({}, optional={key: _share(0.0, 4.0) for key in LIMITS})),
        **draw(st.fixed_dictionaries({}, optional={"export_limit_kw": st.just(0.0) | _share(0.0, 5.0)})),
    }


@st.composite
def cells(draw: st.DrawFn, minimum: float) -> dict[str, Any]:
    """Draw a chemistry, where its cells stand, a heater, and where charging slows down."""
    chemistry = draw(st.sampled_from(["lfp", "nmc", "flooded_lead_acid", "sealed_lead_acid"]))
    heater = draw(st.none() | st.builds(lambda w: {"w": w, "below_c": 5.0}, _share(10.0, 400.0)))
    return {
        "battery__chemistry": chemistry,
        "battery__place": draw(st.sampled_from(["indoor", "garage", "outdoor"])),
        "battery__taper_from": draw(st.just(1.0) | _share(minimum + 0.05, 0.99)),
        **({} if heater is None else {"battery__heater": heater}),
        **({} if chemistry in LITHIUM else {"battery__peukert": draw(_share(1.0, 1.4))}),
    }


@st.composite
def scenarios(draw: st.DrawFn, perfect: bool = False, cold: bool = False) -> Scenario:
    """Draw a home: inverter, battery, grid, prices and one strategy with windows.

    Parameters
    ----------
    perfect : bool
        Constant efficiencies, no standby, one price, no export pay, no self-discharge.
    cold : bool
        Always with a chemistry.
    """
    minimum = draw(_share(0.0, 0.3))
    constant = {"constant": draw(_share(0.85, 1.0))}
    pair = {"peak": 0.976, "weighted": draw(_share(0.955, 0.975)), "weights": "cec"}
    changes: dict[str, Any] = {
        "inverter__ac_kw": draw(_share(0.5, 8.0)),
        "inverter__efficiency": constant if perfect or draw(st.booleans()) else pair,
        "inverter__standby_w": 0.0 if perfect else draw(_share(0.0, 90.0)),
        "battery__capacity_kwh": draw(st.just(0.0) | _share(0.5, 30.0)),
        "battery__round_trip_efficiency": draw(_share(0.7, 1.0)),
        "battery__low_cutoff": minimum,
        "battery__self_discharge_per_month": 0.0 if perfect else draw(_share(0.0, 0.3)),
        "battery__max_charge_kw": draw(_share(0.2, 8.0)),
        "battery__max_discharge_kw": draw(_share(0.2, 8.0)),
    }
    if not perfect:
        changes |= draw(cells(minimum)) if cold or draw(st.booleans()) else {}
        low, high = draw(_share(0.0, 0.2)), draw(_share(0.2, 0.6))
        pays = st.just({"pay": "none"}) | st.just({"pay": "same_as_import"}) | st.just({"pay": "flat", "price": low})
        changes["rate_plan__export"] = draw(pays)
        changes["rate_plan__rates"] = [
            {"name": "dear", "import_price": high, "windows": [draw(windows())]},
            {"name": "other", "import_price": draw(_share(low, high))},
        ]
        if draw(st.booleans()):
            changes["grid"] = {"export_limit_kw": draw(st.just(0.0) | _share(0.0, 4.0))}
    base = draw(settings(minimum))
    strategy = {"name": "drawn", **base}
    if perfect:
        strategy = {"name": "drawn", "surplus_to": "battery", "battery_serves_load": True, "reserve": minimum}
    elif base.get("export_limit_kw") == 0.0:
        strategy["zero_export_bias_kw"] = draw(_share(0.0, 0.2))
    if not perfect:
        strategy["windows"] = [draw(windows()) | draw(settings(minimum)) for _ in range(draw(st.integers(0, 3)))]
    return scenario(**changes, strategies=[strategy])


class Stretch:
    """A random stretch of a year at a drawn home, run round until it closes."""

    def __init__(self, drawn: Scenario, home: Home, piece: Ints, sun: float) -> None:
        whole, self.scenario = home.timeline, drawn
        self.timeline: Timeline = cut(whole, piece)
        self.pv_kw, self.load_kw = sun * home.production.dc_kw[piece], home.load_kw[piece].copy()
        prices_from(drawn.rate_plan, whole)  # windows that overlap anywhere in the year are drawn again
        self.prices: Prices = prices_from(drawn.rate_plan, self.timeline)
        self.limits: Limits = limits_from(drawn.inverter, drawn.battery, whole.step_h)
        # Stretches of a mild winter become hard ones.
        bank = bank_over_year(drawn.battery, self.limits, home.weather.temp_air_c[piece] - 8.0)
        self.cells: Cells = bank.cells
        self.temperature_c = bank.temperature_c
        whole_plan = dispatch_from(drawn.strategies[0], drawn.grid, whole)
        self.dispatch: Dispatch = Dispatch._make(np.ascontiguousarray(each[piece]) for each in whole_plan)

    @property
    def inputs(self) -> Inputs:
        """What the engine runs it with."""
        return inputs_of(self.limits, self.dispatch, self.pv_kw, self.load_kw, self.cells)

    def flows(self, **changes: Any) -> Flows:
        """Run it, with fields of its limits replaced."""
        limits = self.limits._replace(**changes)
        cells = cells_at_ease(limits, self.pv_kw.size) if changes else self.cells
        return self.flows_of(run_year(self.inputs._replace(limits=limits, cells=cells)))

    def flows_of(self, year: Year) -> Flows:
        """Return the flows of a year that was run with its series."""
        return flows_from_year(self.timeline, self.prices, year)


def cut(timeline: Timeline, piece: slice | Ints) -> Timeline:
    names = ("utc_start", "wall", "wall_offset_h", "month", "weekday", "minute_of_day", "day_kind")
    return replace(timeline, **{name: getattr(timeline, name)[piece] for name in names})


@st.composite
def stretches(draw: st.DrawFn, home: Home, steps: int | Ints, perfect: bool = False, cold: bool = False) -> Stretch:
    """Draw a home and so many steps, or just these, of the year; windows that never hold are drawn again."""
    piece = draw(st.integers(0, 8760 - steps)) + np.arange(steps) if isinstance(steps, int) else steps
    sun = draw(st.sampled_from([0.0, 0.3, 1.0, 2.5]))
    for _ in range(5):
        drawn = draw(scenarios(perfect=perfect, cold=cold))
        try:
            return Stretch(drawn, home, piece, sun)
        except ScenarioError:
            continue
    plain = draw(scenarios(perfect=True))
    return Stretch(plain, home, piece, sun)
