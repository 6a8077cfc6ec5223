"""What may be written in ``[costs]`` and ``[life]``, and what is refused by its key."""

import copy
from typing import Any

import pytest

from solarsim.errors import ScenarioError
from solarsim.scenario.life import Lifetime
from solarsim.scenario.read import read_scenario
from tests.builders import scenario

COSTS: dict[str, Any] = {
    "parts": [
        {"name": "panels", "quantity": 10.0, "unit_price": 200.0},
        {
            "name": "cells",
            "quantity": 4.0,
            "unit_price": 250.0,
            "of": "cells",
            "life_years": 15,
            "replacement_price": 90.0,
        },
    ],
    "installation": 1000.0,
    "incentives": [{"name": "rebate", "share": 0.25, "year": 0}],
    "loan": {"share": 0.5, "rate": 0.06, "years": 10},
    "o_and_m_per_year": 80.0,
}
SPREAD = {"distribution": "normal", "standard_deviation": 0.01}
LIFE: dict[str, Any] = {
    "years": 20,
    "money": "nominal",
    "discount_rate": 0.05,
    "panel_degradation_per_year": 0.005,
    "battery_fade_per_year": 0.02,
    "price_growth": {"energy": 0.03},
    "uncertainty": {"lifetimes": 100, "seed": 1, "price_growth": {"energy": SPREAD}},
}
WEATHER = [{"file": "a.csv", "format": "epw"}, {"file": "b.csv", "format": "epw"}]
PART, INCENTIVE, LOAN, UNSURE = "costs__parts__1__", "costs__incentives__0__", "costs__loan__", "life__uncertainty__"
LOW_HIGH = {"distribution": "uniform", "low": -0.01, "high": 0.01}


LEASE = {"years": 20, "monthly_payment": 90.0, "escalator_per_year": 0.02, "maintained": True}
POWER = {"years": 20, "price_per_kwh": 0.1, "escalator_per_year": 0.02, "maintained": True}
LEASED: dict[str, Any] = {"costs__loan": None, "costs__incentives": []}
BIGGER = {"name": "bigger", "year": 3, "set": ["inverter.ac_kw=6"]}
CHANGE, AT = {"life__changes": [BIGGER]}, "life__changes__0__"


def home(**changes: Any) -> Any:
    return scenario(**{"costs": copy.deepcopy(COSTS), "life": copy.deepcopy(LIFE)} | copy.deepcopy(changes))


def test_all_of_it_together_is_allowed() -> None:
    found = home()
    assert found.life.price_growth.customer_charge == 0.0


def test_today_s_costs_stay_valid_and_the_demo_has_a_life() -> None:
    plain = scenario(costs={"parts": [{"name": "all", "quantity": 1.0, "unit_price": 9.0}]})
    assert plain.costs is not None
    assert (plain.costs.incentives, plain.costs.loan, plain.costs.contract, plain.life) == ((), None, None, None)
    assert read_scenario().life is not None


BAD = {
    "part that wears out for nothing": (
        {PART + "replacement_price": None},
        "costs.parts.2nd: life_years is given without replacement_price; give both or neither",
    ),
    "part of what": ({PART + "of": "cell"}, "costs.parts.2nd.of: 'cell' is not known; did you mean 'cells'?"),
    "half a life": ({PART + "life_years": 12.5}, "costs.parts.2nd.life_years: 12.5 must be a whole number"),
    "life of nothing": ({PART + "life_years": 0}, "costs.parts.2nd.life_years: 0 must be at least 1"),
    "price below nothing": ({PART + "replacement_price": -1.0}, "replacement_price: -1.0 must be at least 0"),
    "a battery replaced, and its cells not": (
        {"costs__parts": [{**COSTS["parts"][1], "of": "battery"}]},
        "costs: 'cells' of 'battery' is replaced, but no part is of 'cells', so none would make the battery as new",
    ),
    "cells of two lives": (
        {"costs__parts": [COSTS["parts"][1], {**COSTS["parts"][1], "life_years": 9}]},
        "costs: parts of 'cells' have different life_years",
    ),
    "part without a quantity": ({PART + "quantity": None}, "costs.parts.2nd: give per (what its quantity follows)"),
    "part per what": ({PART + "per": "panel"}, "costs.parts.2nd.per: 'panel' is not known"),
    "part of an array by the inverter": (
        {PART + "per": "inverter", PART + "array": "roof"},
        "costs.parts.2nd: array needs per = module, array, string or kw_dc",
    ),
    "part of no array": (
        {PART + "per": "module", PART + "array": "rof"},
        "costs.parts.2nd.array: 'rof' is not in arrays; did you mean 'roof'?",
    ),
    "part of no inverter": (
        {PART + "per": "kw_ac", PART + "ac_inverter": "old"},
        "costs.parts.2nd.ac_inverter: 'old' is not in ac_inverters",
    ),
    "part of a module and of an array": (
        {PART + "per": "string", PART + "array": "roof", PART + "module": "a"},
        "costs.parts.2nd: give either module or array",
    ),
    "two inverters of one size": (
        {"costs__inverters": [{"ac_kw": 5.0, "unit_price": 1.0}, {"ac_kw": 5.0, "unit_price": 2.0}]},
        "costs: inverters: more than one has 5 kW; the rating tells them apart",
    ),
    "owned below nothing": ({PART + "owned": -1.0}, "costs.parts.2nd.owned: -1.0 must be at least 0"),
    "installation that earns": ({"costs__installation": -5.0}, "costs.installation: -5.0 must be at least 0"),
    "O&M misspelled": (
        {"costs__upkep_per_year": 5.0},
        "costs.upkep_per_year: unknown key; did you mean 'o_and_m_per_year'?",
    ),
    "incentive twice over": ({INCENTIVE + "amount": 5.0}, "costs.incentives.1st: give either share or amount"),
    "incentive of nothing": ({INCENTIVE + "share": None}, "costs.incentives.1st: give either share or amount"),
    "incentive in percent": (
        {INCENTIVE + "share": 25.0},
        "costs.incentives.1st.share: 25.0 must be at most 1; 25% is written 0.25",
    ),
    "cap of an amount": (
        {"costs__incentives": [{"name": "a", "amount": 9.0, "cap": 5.0, "year": 0}]},
        "costs.incentives.1st: cap belongs to a share",
    ),
    "incentive of no year": ({INCENTIVE + "year": None}, "costs.incentives.1st.year: is missing"),
    "incentive too late": ({INCENTIVE + "year": 21}, "costs.incentives: 'rebate' is paid in year 21, after the 20"),
    "loan twice over": ({LOAN + "amount": 100.0}, "costs.loan: give either share or amount"),
    "interest in percent": ({LOAN + "rate": 6.0}, "costs.loan.rate: 6.0 must be at most 0.5; 6% is written 0.06"),
    "loan beyond the horizon": ({LOAN + "years": 25}, "costs.loan.years: 25 are more than the 20 of life.years"),
    "loan in real money": ({"life__money": "real"}, "life.money: 'real' cannot be used with costs.loan"),
    "fee in percent": ({LOAN + "dealer_fee": 20.0}, "costs.loan.dealer_fee: 20.0 must be at most 0.6"),
    "lease and loan": (
        {"costs__lease": LEASE, "costs__incentives": []},
        "costs: loan and lease: a system is paid in one way; keep one",
    ),
    "lease and power purchase": (
        {"costs__lease": LEASE, "costs__power_purchase": POWER, "costs__loan": None},
        "costs: lease and power_purchase: a system is paid in one way; keep one",
    ),
    "incentive as a share of no price": (
        {"costs__lease": LEASE, "costs__loan": None},
        "costs: incentives: 'rebate' is a share of a price that is not paid under a lease",
    ),
    "lease with an open end": (
        LEASED | {"costs__lease": LEASE | {"years": 12}},
        "costs.lease: ends after 12 of the 20 years of life.years; write at_end",
    ),
    "lease with two ends": (
        LEASED | {"costs__lease": LEASE | {"at_end": "renewed", "buyout": {"year": 5, "price": 9.0}}},
        "costs.lease: give either buyout or at_end",
    ),
    "buyout after the term": (
        LEASED | {"costs__lease": LEASE | {"buyout": {"year": 21, "price": 9.0}}},
        "costs.lease: buyout.year 21 is after the 20 years of the term",
    ),
    "lease in real money": (
        LEASED | {"costs__lease": LEASE, "life__money": "real"},
        "life.money: 'real' cannot be used with costs.lease",
    ),
    "upkeep by whom": (
        LEASED | {"costs__power_purchase": {**POWER, "maintained": "yes"}},
        "costs.power_purchase.maintained: 'yes' must be true or false",
    ),
    "change in the past": (CHANGE | {AT + "year": 1}, "life.changes.1st.year: 1 must be at least 2"),
    "change of nothing": (CHANGE | {AT + "set": []}, "life.changes.1st.set: has 0 entries, must have at least 1"),
    "change without a value": (
        CHANGE | {AT + "set": ["inverter.ac_kw"]},
        "life.changes.1st: inverter.ac_kw: must be KEY",
    ),
    "change of the place": (
        CHANGE | {AT + "set": ["site.albedo=0.3"]},
        "life.changes.1st: set: 'site' holds for the whole life and cannot change within it",
    ),
    "two changes of one name": ({"life__changes": [BIGGER, BIGGER]}, "life: changes: more than one is named 'bigger'"),
    "no money named": ({"life__money": None}, "life.money: is missing"),
    "years without end": ({"life__years": 61}, "life.years: 61 must be at most 60"),
    "discount in percent": ({"life__discount_rate": 5.0}, "life.discount_rate: 5.0 must be at most 0.5"),
    "panels that get newer": (
        {"life__panel_degradation_per_year": -0.01},
        "life.panel_degradation_per_year: -0.01 must be at least 0",
    ),
    "battery without fade": ({"life__battery_fade_per_year": None}, "life.battery_fade_per_year: is missing; write it"),
    "fade without battery": ({"battery": None}, "life.battery_fade_per_year: there is no battery"),
    "growth of the wrong kind": (
        {"life__price_growth": {"enrgy": 0.02}},
        "life.price_growth.enrgy: unknown key; did you mean 'energy'?",
    ),
    "growth in percent": ({"life__price_growth": {"energy": 3.0}}, "life.price_growth.energy: 3.0 must be at most 0.3"),
    "salvage unknown": ({"life__salvage": "half"}, "life.salvage: 'half' is not known; allowed: none, linear"),
    "few lifetimes": ({UNSURE + "lifetimes": 3}, "life.uncertainty.lifetimes: 3 must be at least 10"),
    "no seed": ({UNSURE + "seed": None}, "life.uncertainty.seed: is missing"),
    "distribution unknown": (
        {UNSURE + "load_growth_per_year": {**SPREAD, "distribution": "gaussian"}},
        "life.uncertainty.load_growth_per_year.distribution: 'gaussian' is not known; allowed: normal",
    ),
    "normal with ends": (
        {UNSURE + "load_growth_per_year": {**SPREAD, "low": 0.0}},
        "load_growth_per_year: 'normal' needs standard_deviation, and nothing else",
    ),
    "uniform with half an end": (
        {UNSURE + "load_growth_per_year": {"distribution": "uniform", "low": 0.0}},
        "load_growth_per_year: 'uniform' needs low and high, and nothing else",
    ),
    "ends the wrong way round": (
        {UNSURE + "load_growth_per_year": {"distribution": "uniform", "low": 0.02, "high": 0.01}},
        "load_growth_per_year: low 0.02 is not below high 0.01",
    ),
    "spread beside its value": (
        {UNSURE + "price_growth": {"energy": LOW_HIGH}},
        "life: uncertainty.price_growth.energy: low -0.01 to high 0.01 leave out the stated 0.03",
    ),
    "spread of panels that get newer": (
        {UNSURE + "panel_degradation_per_year": LOW_HIGH},
        "life: uncertainty.panel_degradation_per_year: low -0.01 is below 0: nothing gets newer",
    ),
    "weather twice over": (
        {UNSURE + "weather_files": WEATHER, UNSURE + "weather_standard_deviation": 0.05},
        "life.uncertainty: give either weather_standard_deviation or weather_files",
    ),
    "one weather year": ({UNSURE + "weather_files": WEATHER[:1]}, "weather_files: has 1 entries, must have at least 2"),
    "spread of no rate": (
        {
            "battery__chemistry": "lfp",
            "battery__place": "indoor",
            "life__battery_fade_per_year": None,
            UNSURE + "battery_fade_per_year": SPREAD,
        },
        "life.uncertainty.battery_fade_per_year: needs life.battery_fade_per_year, which it is a spread of",
    ),
    "spread of no battery": (
        {"battery": None, "life__battery_fade_per_year": None, UNSURE + "battery_fade_per_year": SPREAD},
        "life.uncertainty.battery_fade_per_year: there is no battery",
    ),
}


@pytest.mark.parametrize(("changes", "says"), BAD.values(), ids=list(BAD))
def test_wrong_costs_and_lives_are_told_in_one_line_by_key(changes: dict[str, Any], says: str) -> None:
    with pytest.raises(ScenarioError) as refused:
        home(**changes)
    assert len(refused.value.problems) == 1, refused.value
    assert says in refused.value.problems[0]


def test_every_uncertain_rate_is_named_with_its_stated_value() -> None:
    unsure = LIFE["uncertainty"] | {"load_growth_per_year": SPREAD, "battery_fade_per_year": SPREAD}
    life = Lifetime.model_validate(LIFE | {"uncertainty": unsure})
    assert [(name, value) for name, value, _ in life.spreads()] == [
        ("battery_fade_per_year", 0.02),
        ("load_growth_per_year", 0.0),
        ("price_growth.energy", 0.03),
    ]
