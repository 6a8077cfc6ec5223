"""The sum of a fleet in UTC: against adding up the hourly tables of its homes by their own labels."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from functools import cache
from typing import Any

import numpy as np
import pandas as pd
import pytest

from solarsim.errors import MachineError
from solarsim.ledger.flows import Flows
from solarsim.run import Run, simulate
from solarsim.studies.fleet._sums import BASELINE, COLUMNS, LOWEST, MOST_NAMES, FleetSums, Key
from tests.builders import scenario, timeline


@cache
def _run(changes: tuple[tuple[str, Any], ...]) -> Run:
    return simulate(scenario(**dict(changes)), "home first")


def flows_of(zone: str = "America/New_York", year: int = 2026, **changes: Any) -> Flows:
    """Return a year of the plain home, its labels moved to another zone or year."""
    run = _run(tuple(changes.items()))
    minutes = round(60 * run.flows.timeline.step_h)
    return replace(run.flows, timeline=timeline(zone, year, step_minutes=minutes))


def by_hand(years: Sequence[Flows], year: int, minutes: int) -> dict[str, np.ndarray[Any, Any]]:
    """Add up the hourly tables as a spreadsheet would: by the UTC time of each row, back into the year."""
    begin, count = datetime(year, 1, 1, tzinfo=UTC), 365 * 24 * 60 // minutes
    found = {column: np.zeros(count) for column in COLUMNS}
    for flows in years:
        table = flows.table()
        step_min = round((table.index[1] - table.index[0]).total_seconds() / 60)
        change = np.diff(table["battery_kwh"], prepend=flows.start_kwh) * 60 / step_min
        table = table.assign(charge_kw=np.maximum(change, 0), discharge_kw=np.maximum(-change, 0))
        first = [
            round((time - begin).total_seconds() / 60 / minutes)
            for time in pd.DatetimeIndex(table.index).tz_convert("UTC")
        ]
        for part in range(step_min // minutes):
            for column in COLUMNS:
                np.add.at(found[column], (np.array(first) + part) % count, table[column].to_numpy())
    return found


@pytest.mark.second_opinion
def test_sum_is_that_of_the_hourly_tables_by_their_own_utc_labels() -> None:
    """The labels are read by pandas; zones west and east, one with half an hour, and half-hour steps."""
    years = [
        flows_of(),
        flows_of("Asia/Kolkata"),
        flows_of("Pacific/Auckland", load__monthly_kwh=(400.0,) * 12),
        flows_of("America/Los_Angeles", site__step_minutes=30),
    ]
    sums = FleetSums(2026)
    for flows in years:
        sums.add(flows, [LOWEST, Key("strategy", "home first")])
    assert sums.minutes == 30
    expected = by_hand(years, 2026, 30)
    for column in COLUMNS:
        assert np.abs(sums.totals[LOWEST].kw(column) - expected[column]).max() < 1e-6
        assert expected[column].max() > 1.0
    peaks = sum(float(flows["import_kw"].max()) for flows in years)
    assert sums.totals[LOWEST].homes == 4
    assert sums.totals[LOWEST].import_peaks * 2.0**-36 == pytest.approx(peaks)


def test_sum_is_the_same_bits_in_any_order_and_any_parts() -> None:
    years = [flows_of("Asia/Kolkata"), flows_of(), flows_of(load__monthly_kwh=(123.4,) * 12)]
    found = []
    for order, cut in (((0, 1, 2), 1), ((2, 1, 0), 2), ((1, 2, 0), 0)):
        one, other = FleetSums(2026), FleetSums(2026)
        for place, number in enumerate(order):
            (one if place < cut else other).add(years[number], [BASELINE])
        one.merge(other)
        found.append(one.totals[BASELINE].values)
    assert all(np.array_equal(found[0], each) for each in found)


@pytest.mark.by_hand
def test_a_year_of_another_weekday_is_moved_by_at_most_three_days() -> None:
    """1 January 2024 is a Monday, that of 2026 a Thursday: the year moves back by 3 days, by 5 h less to UTC."""
    flows, sums = flows_of(year=2024), FleetSums(2026)
    sums.add(flows, [BASELINE])
    assert np.abs(sums.totals[BASELINE].kw("load_kw") - np.roll(flows["load_kw"], 5 - 72)).max() < 1e-9
    weekday = [date(2024, 1, 15).weekday(), date(2026, 1, 12).weekday()]
    assert weekday == [0, 0]


def test_leap_day_is_left_out_of_the_labels() -> None:
    starts = FleetSums(2024).starts()
    assert starts.size == 8760
    assert (str(starts[59 * 24 - 1]), str(starts[59 * 24])) == ("2024-02-28T23:00:00", "2024-03-01T00:00:00")
    assert str(starts[-1]) == "2024-12-31T23:00:00"


def test_too_many_names_of_strategies_are_no_longer_added_up_in_any_order() -> None:
    flows = flows_of()
    many, few = FleetSums(2026), FleetSums(2026)
    few.add(flows, [BASELINE, Key("strategy", "one more")])
    for number in range(MOST_NAMES):
        many.add(flows, [BASELINE, Key("strategy", f"name {number}")])
    assert len(many.totals) == MOST_NAMES + 1
    for one, other in ((many, few), (few, many)):
        total = FleetSums(2026)
        total.merge(one)
        total.merge(other)
        assert total.too_many
        assert list(total.totals) == [BASELINE]
        assert total.totals[BASELINE].homes == MOST_NAMES + 1


def test_more_than_the_numbers_hold_is_refused() -> None:
    one, other = FleetSums(2026), FleetSums(2026)
    for each in (one, other):
        each.add(flows_of(), [BASELINE])
    one.totals[BASELINE].values[0, 0] = 2**62
    with pytest.raises(MachineError, match="beyond 67 GW"):
        other.merge(one)
