"""What controllers expect: past days, a forecast, what comes; and that none knows more."""

from collections.abc import Callable

import numpy as np
import pytest

from solarsim.engine.planner import Outlook
from solarsim.engine.records import Floats, Inputs, Ints
from solarsim.studies.ladder._controllers import orders_chosen
from solarsim.studies.ladder._outlooks import DAYS_AHEAD, PAST_DAYS, forecast, known_hours, like_days
from tests.studies.ladder.small import A_DAY, STEPS, WEEKS, prices, weeks

N = STEPS.size


def from_past_days(_: Inputs) -> Outlook:
    return like_days(N, A_DAY, WEEKS.day_kind)


def with_forecast(inputs: Inputs) -> Outlook:
    return forecast(inputs, A_DAY, 0.3, 1)


def with_known_hours(_: Inputs) -> Outlook:
    return known_hours(N, A_DAY)


def test_past_days_are_past_and_likely_together() -> None:
    outlook = like_days(N, A_DAY, WEEKS.day_kind)
    used = outlook.weight > 0.0
    latest = np.where(used, outlook.source.max(axis=2), -1)
    assert (latest < outlook.begins[:, None]).all()
    assert not used[0].any()
    np.testing.assert_allclose(outlook.weight[1:].sum(axis=1), 1.0)
    assert used.sum(axis=1).tolist() == [min(day, PAST_DAYS) for day in range(N // A_DAY)]


def test_past_days_of_the_same_kind_count_more() -> None:
    kinds: Ints = np.repeat(np.array([0, 0, 0, 1]), A_DAY)
    weight = like_days(kinds.size, A_DAY, kinds).weight
    assert weight[2, 0] == pytest.approx(weight[2, 1] / 0.9)  # both of its kind; the newer counts more
    assert weight[3].sum() == pytest.approx(1.0)
    assert weight[3, 0] == pytest.approx(0.9**1 / (0.9 + 0.9**2 + 0.9**3))  # none of its kind: by age alone


def test_forecast_without_error_is_what_comes() -> None:
    told, known = forecast(weeks(), A_DAY, 0.0, 1), known_hours(N, A_DAY)
    for one, other in zip(told, known, strict=True):
        np.testing.assert_array_equal(one, other)


@pytest.mark.parametrize("error", [0.1, 0.3, 0.6])
def test_forecast_expects_days_about_as_they_come_and_knows_how_far_off_it_may_be(error: float) -> None:
    outlook = forecast(weeks(), A_DAY, error, 2)
    middle = np.median(outlook.sun[:, :, 0], axis=1)
    assert 0.7 < np.median(middle) < 1.4
    assert float(np.abs(np.log(middle)).mean()) < 1.5 * error
    spread = outlook.sun[5:, :, 0].std(axis=1) / outlook.sun[5:, :, 0].mean(axis=1)
    assert float(np.median(spread)) < 1.2 * error
    assert float(np.median(spread)) > 0.3 * error
    np.testing.assert_allclose(outlook.weight.sum(axis=1), 1.0)


def test_forecast_of_a_dark_day_is_no_number_out_of_range() -> None:
    inputs = weeks()
    inputs.pv_kw[: 10 * A_DAY] = 0.0
    outlook = forecast(inputs, A_DAY, 0.3, 1)
    assert np.isfinite(outlook.sun).all()
    assert (outlook.sun[:3, :, 0] == 1.0).all()


@pytest.mark.slow  # as all that compiles plans
@pytest.mark.parametrize(
    ("look", "known_ahead"),
    [(from_past_days, 0), (with_forecast, DAYS_AHEAD), (with_known_hours, DAYS_AHEAD)],
    ids=["past days", "forecast", "known hours"],
)
@pytest.mark.parametrize(
    "rates",
    [
        {},
        {"demand": ({"name": "peak", "price": 8.0, "windows": ({"from": "16:00", "to": "22:00"},)},)},
        {
            "export": {
                "pay": "net_metering", "net_within": "rate", "surplus": "carried_as_kwh", "true_up_month": 6,
                "remainder_price": 0.02,
            }
        },
        {"rates": ({"name": "all", "tiers": ({"price": 0.1, "up_to_kwh": 150.0}, {"price": 0.3})},)},
    ],
    ids=["sum of hours", "demand", "net metering", "tiers"],
)  # fmt: skip
def test_no_past_order_knows_the_future(
    look: Callable[[Inputs], Outlook], known_ahead: int, rates: dict[str, object]
) -> None:
    """All that comes after a day changes: sun, load, what cells allow. Orders until then, and what is known, stay."""
    before, other, day = weeks(), weeks(7), 9
    after = (day + known_ahead) * A_DAY
    keep = np.arange(N) < after

    def mixed(now: Floats, then: Floats | float) -> Floats:
        return np.where(keep, now, then)

    # The known hours of the last days of a year are its first ones; these stay as they were.
    changed = before._replace(
        pv_kw=mixed(before.pv_kw, other.pv_kw[::-1]),
        load_kw=mixed(before.load_kw, 2.0 * other.load_kw),
        cells=before.cells._replace(charge_kw=mixed(before.cells.charge_kw, 1.0)),
    )
    chosen = []
    for inputs in (before, changed):
        with_caps, orders = orders_chosen(inputs, inputs, prices(**rates), look(inputs))
        chosen.append((orders[: day * A_DAY], with_caps.dispatch.import_cap_kw[: day * A_DAY]))
    np.testing.assert_array_equal(chosen[0][0], chosen[1][0])
    np.testing.assert_array_equal(chosen[0][1], chosen[1][1])


@pytest.mark.slow
@pytest.mark.parametrize("look", [from_past_days, with_forecast, with_known_hours])
def test_orders_do_depend_on_the_past(look: Callable[[Inputs], Outlook]) -> None:
    """The test before this one can fail: where the past changes, orders do."""
    before, other = weeks(), weeks(7)
    chosen = [orders_chosen(each, each, prices(), look(each))[1] for each in (before, other)]
    assert (chosen[0] != chosen[1]).any()
