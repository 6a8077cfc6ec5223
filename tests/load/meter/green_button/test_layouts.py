"""Green Button feeds of any layout: what a feed was written from is what is read."""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solarsim.errors import LoadError
from solarsim.load.meter import read_green_button
from tests.load.meter.feeds import LOCAL_TIME, SINCE, block, feed, kind, meter, one_meter, point, reading


def written(folder: pytest.TempPathFactory, content: str) -> Path:
    path = folder.mktemp("feed") / "feed.xml"
    path.write_text(content)
    return path


def problems(path: Path) -> tuple[str, ...]:
    try:
        read_green_button(path)
    except LoadError as refused:
        return refused.problems
    return ()


values = st.integers(0, 10**7)
layouts = st.dictionaries(st.integers(0, 500), values, min_size=2, max_size=30)


@given(
    delivered=layouts,
    received=st.none() | layouts,
    interval_s=st.sampled_from([60, 300, 900, 1800, 3600]),
    uom=st.sampled_from([72, 38]),
    power=st.integers(-3, 6),
    says_length=st.booleans(),
    draw=st.data(),
)
def test_what_was_written_is_read(
    tmp_path_factory: pytest.TempPathFactory,
    delivered: dict[int, int],
    received: dict[int, int] | None,
    interval_s: int,
    uom: int,
    power: int,
    says_length: bool,
    draw: st.DataObject,
) -> None:
    """Any order, blocks, unit, multiplier and interval: each interval keeps its energy, and so does their sum."""
    codes = {"uom": uom, "powerOfTenMultiplier": power, "intervalLength": interval_s}
    entries = [point(), meter(1, 1), kind(1, **codes), LOCAL_TIME]
    if received is not None:
        entries += [meter(2, 2), kind(2, **codes | {"flowDirection": 19})]
    for number, series in ((1, delivered), (2, received or {})):
        left = draw.draw(st.permutations(sorted(series)))
        while left:
            size = draw.draw(st.integers(1, len(left)))
            length = interval_s if says_length else None
            inside = [reading(place * interval_s / 3600, series[place], length) for place in left[:size]]
            entries.append(block(*inside, number=number))
            left = left[size:]
    found = read_green_button(written(tmp_path_factory, feed(*draw.draw(st.permutations(entries)))))

    unit_kwh = Fraction(10) ** (power - 3) * (Fraction(interval_s, 3600) if uom == 38 else 1)
    places = sorted(delivered.keys() | (received or {}).keys())
    assert ((found.start.astype(np.int64) - SINCE) // interval_s).tolist() == places
    assert set(found.duration_s.tolist()) == {interval_s}
    for column, series in ((found.import_kwh, delivered), (found.export_kwh, received or {})):
        assert column.tolist() == pytest.approx([float(series.get(place, 0) * unit_kwh) for place in places], rel=1e-14)
        assert column.sum() == pytest.approx(float(sum(series.values()) * unit_kwh), rel=1e-12)


@given(st.lists(values, min_size=1, max_size=30), st.integers(0, 10**9), st.sampled_from([1, 3]), st.booleans())
def test_a_register_gives_the_amounts_it_was_made_of(
    tmp_path_factory: pytest.TempPathFactory, amounts: list[int], first: int, behaviour: int, instants: bool
) -> None:
    """Whether its values belong to instants or to the hours that end there."""
    register = np.cumsum([first, *amounts])
    length_s = 0 if instants else 3600
    values_read = [reading(hour - length_s / 3600, int(value), length_s) for hour, value in enumerate(register)]
    content = one_meter(*values_read[::-1], accumulationBehaviour=behaviour)
    found = read_green_button(written(tmp_path_factory, content))
    assert ((found.start.astype(np.int64) - SINCE) / 3600).tolist() == list(range(len(amounts)))
    assert found.import_kwh.tolist() == [amount / 1000 for amount in amounts]


@given(st.data())
def test_a_broken_feed_is_refused_or_read_but_never_breaks_the_reader(
    tmp_path_factory: pytest.TempPathFactory, draw: st.DataObject
) -> None:
    """One byte changed, or the end cut off."""
    whole = one_meter(reading(0, 385, quality=8), reading(1, 20)).encode()
    at = draw.draw(st.integers(0, len(whole) - 1))
    rest = draw.draw(st.just(b"") | st.binary(min_size=1, max_size=1).map(lambda byte: byte + whole[at + 1 :]))
    path = tmp_path_factory.mktemp("feed") / "feed.xml"
    path.write_bytes(whole[:at] + rest)
    told = problems(path)
    assert len(told) <= 1
    assert all(each.startswith(f"{path}: ") and "\n" not in each for each in told)
