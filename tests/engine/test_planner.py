"""Controllers that plan: what they order, and that they know nothing of what is to come."""

from math import inf
from typing import Any

import numpy as np
import pytest

from solarsim.engine.foresight import Worth, possible_orders
from solarsim.engine.planner import Memory, Outlook, before_first_plan, follow_plans
from solarsim.engine.records import Floats, Inputs, Limits
from tests.builders import inputs_of, limits
from tests.engine.test_year import dispatch

STRONG = limits(charge_kw=20.0, discharge_kw=20.0)
STRONG = STRONG._replace(curve=STRONG.curve._replace(rated_kw=20.0))
CHOICES = possible_orders(10)
#: Compiling the plans takes ten seconds in a new environment.
pytestmark = pytest.mark.slow


def worth_of(import_price: Floats, export_price: Floats, wear_price: float = 0.0) -> Worth:
    steps, none = import_price.size, np.zeros(import_price.size)
    return Worth(import_price, export_price, 0.0, 0.0, 10.0, np.full(steps, inf), none, wear_price, none, 0.0)


def known(steps: int, a_plan: int, ahead: int) -> Outlook:
    """Return the outlook of a controller that knows the steps to come."""
    begins = np.arange(0, steps, a_plan)
    source = ((begins[:, None] + np.arange(ahead)) % steps)[:, None, :]
    return Outlook(begins, a_plan, np.ones((begins.size, 1)), source, np.ones(source.shape), np.ones(source.shape))


def home(steps: int, pv_kw: Floats | None = None, load_kw: Floats | None = None, hardware: Limits = STRONG) -> Inputs:
    nothing = np.zeros(steps)
    pv, load = (nothing if each is None else each for each in (pv_kw, load_kw))
    return inputs_of(hardware, dispatch(steps, reserve=0.1), pv, load)


def followed(inputs: Inputs, worth: Worth, outlook: Outlook) -> Memory:
    return follow_plans(inputs, inputs, CHOICES, worth, outlook, before_first_plan(inputs, 11), 0, inputs.pv_kw.size)


@pytest.mark.by_hand
def test_controller_buys_cheap_and_sells_at_high_prices() -> None:
    """Lossless, 10 kWh of which 1 stays: each day 9 kWh are bought at 0.1 and sold at 0.5."""
    days = 6
    prices, inputs = np.tile([0.1, 0.5], days), home(2 * days)
    seen = followed(inputs, worth_of(prices, prices), known(2 * days, 2, 4))
    np.testing.assert_allclose(seen.import_kw, np.tile([9.0, 0.0], days))
    np.testing.assert_allclose(seen.export_kw, np.tile([0.0, 9.0], days))


@pytest.mark.by_hand
@pytest.mark.parametrize(("wear_price", "trades"), [(0.39, True), (0.41, False)])
def test_controller_does_not_wear_the_battery_for_less_than_that_costs(wear_price: float, trades: bool) -> None:
    """A kWh bought at 0.1 and sold at 0.5 earns 0.4."""
    prices, inputs = np.tile([0.1, 0.5], 3), home(6)
    seen = followed(inputs, worth_of(prices, prices, wear_price=wear_price), known(6, 2, 4))
    assert (seen.export_kw.sum() > 1.0) == trades


@pytest.mark.by_hand
@pytest.mark.parametrize(("chance_of_sun", "buys"), [(0.55, True), (0.65, False)])
def test_controller_weighs_what_may_come(chance_of_sun: float, buys: bool) -> None:
    """The newsvendor (any text on inventories): a kWh at 0.2 that saves 0.5 only without sun is worth it below 0.6."""
    load, expected_sun = np.array([0.0, 5.0]), np.array([0.0, 5.0, 0.0, 0.0])
    inputs = home(2, load_kw=load)
    expected = home(4, pv_kw=expected_sun, load_kw=np.tile(load, 2))
    source = np.array([[[0, 1], [2, 3]]])
    weight = np.array([[chance_of_sun, 1.0 - chance_of_sun]])
    outlook = Outlook(np.array([0]), 2, weight, source, np.ones(source.shape), np.ones(source.shape))
    worth = worth_of(np.array([0.2, 0.5]), np.zeros(2))
    seen = follow_plans(inputs, expected, CHOICES, worth, outlook, before_first_plan(inputs, 11), 0, 2)
    assert seen.import_kw[0] == pytest.approx(4.0 if buys else 0.0)  # the load of 5 less what is stored above 0


def test_controller_that_expects_nothing_gives_the_first_order() -> None:
    """What it expects is worth nothing: the sun serves the home, then fills the battery."""
    sun, load = np.tile([4.0, 0.0], 5), np.tile([1.0, 2.0], 5)
    inputs, outlook = home(10, sun, load), known(10, 2, 4)
    worth = worth_of(np.full(10, 0.3), np.full(10, 0.5))
    seen = followed(inputs, worth, outlook._replace(weight=np.zeros((5, 1))))
    assert not seen.chosen.any()
    assert followed(inputs, worth, outlook).chosen.any()


def test_stretches_add_up_to_the_whole() -> None:
    days = 8
    rng = np.random.default_rng(3)
    inputs = home(2 * days, rng.random(2 * days) * 6.0, rng.random(2 * days) * 4.0)
    prices = rng.random(2 * days)
    worth, outlook = worth_of(prices, 0.5 * prices), known(2 * days, 2, 4)
    memory = before_first_plan(inputs, 11)
    for first, end in ((0, 6), (6, 16)):
        memory = follow_plans(inputs, inputs, CHOICES, worth, outlook, memory, first, end)
    whole = followed(inputs, worth, outlook)
    np.testing.assert_array_equal(memory.chosen, whole.chosen)
    np.testing.assert_array_equal(memory.later_cost, whole.later_cost)
    assert memory.stored_kwh == whole.stored_kwh


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"weight": np.ones((5, 2))}, "do not fit"),
        ({"begins": np.array([1, 2, 4, 6, 8])}, "do not fit"),
        ({"source": np.full((5, 1, 4), 10)}, "a step that the expected series do not have"),
        ({"source": np.full((5, 1, 4), -1)}, "a step that the expected series do not have"),
        ({"begins": np.array([0, 2, 2, 6, 8])}, "looks 4 ahead"),
        ({"begins": np.array([0, 5, 6, 7, 8])}, "followed for 5 steps, and looks 4 ahead"),
    ],
)
def test_outlook_that_does_not_fit_is_refused(change: dict[str, Any], told: str) -> None:
    inputs = home(10)
    with pytest.raises(ValueError, match=told):
        followed(inputs, worth_of(np.ones(10), np.ones(10)), known(10, 2, 4)._replace(**change))
