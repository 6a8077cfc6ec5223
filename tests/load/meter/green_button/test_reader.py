"""Green Button feeds, written small by the tests themselves."""

import tracemalloc
from pathlib import Path

import numpy as np
import pytest

from solarsim.errors import LoadError
from solarsim.load.meter import Readings, read_green_button
from tests.load.meter.feeds import (
    LOCAL_TIME,
    SINCE,
    block,
    both_ways,
    entry,
    feed,
    kind,
    meter,
    numbers,
    one_meter,
    point,
    reading,
    summary,
)

NO_LOCAL_TIME = "states no local time; its starts are read as UTC, as the standard has them"


def read(folder: Path, content: str | bytes) -> Readings:
    path = folder / "feed.xml"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_green_button(path)


def notes(found: Readings) -> list[str]:
    return [note.partition("feed.xml: ")[2] for note in found.notes]


def hours(found: Readings) -> list[float]:
    return [float(each) for each in (found.start.astype(np.int64) - SINCE) / 3600]


def test_delivered_and_received_stand_side_by_side(tmp_path: Path) -> None:
    found = read(tmp_path, both_ways([reading(1, 20), reading(0, 10)], [reading(0, 300), reading(1, 0)]))
    assert found.start.dtype == np.dtype("datetime64[s]")
    assert hours(found) == [0.0, 1.0]
    assert found.duration_s.tolist() == [3600, 3600]
    assert found.import_kwh.tolist() == [0.010, 0.020]
    assert found.export_kwh.tolist() == [0.300, 0.0]
    assert (found.clock, found.notes) == ("utc", ())


def test_a_direction_without_a_reading_is_zero_and_said(tmp_path: Path) -> None:
    found = read(tmp_path, both_ways([reading(0, 10), reading(1, 20)], [reading(2, 300)]))
    assert found.import_kwh.tolist() == [0.010, 0.020, 0.0]
    assert found.export_kwh.tolist() == [0.0, 0.0, 0.300]
    assert [each.split(":")[0] for each in notes(found)] == ["delivered", "received"]
    assert "missing for 1 readings of the other direction; read as 0" in notes(found)[0]


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("codes", "value", "duration_s", "kwh"),
    [
        ({"powerOfTenMultiplier": 0}, 385, 3600, 0.385),
        ({"powerOfTenMultiplier": 3}, 2, 3600, 2.0),
        ({"powerOfTenMultiplier": -3}, 385_000, 900, 0.385),
        ({}, "385.5", 1800, 0.3855),
        ({"uom": 38}, 2000, 900, 0.5),  # 2 kW for a quarter of an hour
        ({"uom": 38, "powerOfTenMultiplier": 3, "accumulationBehaviour": 12}, 2, 1800, 1.0),
        ({"intervalLength": 1800}, 385, None, 0.385),
    ],
)
def test_units_and_multipliers(
    tmp_path: Path, codes: dict[str, int], value: object, duration_s: int | None, kwh: float
) -> None:
    found = read(tmp_path, one_meter(reading(0, value, duration_s), **codes))
    assert found.import_kwh.tolist() == [kwh]
    assert found.duration_s.tolist() == [duration_s or 1800]


def test_quality_8_and_9_are_estimated_and_a_type_may_set_the_default(tmp_path: Path) -> None:
    given = [reading(hour, 1, quality=code) for hour, code in enumerate((8, 9, 17, None))]
    assert read(tmp_path, one_meter(*given)).estimated.tolist() == [True, True, False, False]
    assert read(tmp_path, one_meter(*given, defaultQuality=8)).estimated.tolist() == [True, True, False, True]


def test_one_mark_of_several_is_enough_to_be_estimated(tmp_path: Path) -> None:
    marks = "".join(f"<ReadingQuality><quality>{code}</quality></ReadingQuality>" for code in (9, 17))
    marked = reading(0, 1).replace("<timePeriod>", f"{marks}<timePeriod>")
    assert read(tmp_path, one_meter(marked)).estimated.tolist() == [True]


def test_gas_is_left_out_and_said(tmp_path: Path) -> None:
    mixed = [point(1), point(2, service=1), meter(1), meter(1, 2, home=2), kind(1), kind(2, uom=169)]
    found = read(tmp_path, feed(*mixed, block(reading(0, 5), home=2), block(reading(0, 385)), LOCAL_TIME))
    assert found.import_kwh.tolist() == [0.385]
    assert notes(found) == ["1 readings of gas were skipped"]


def test_the_summary_of_another_service_is_not_compared(tmp_path: Path) -> None:
    mixed = [point(1), point(2, service=1), meter(), kind(), block(reading(0, 385)), LOCAL_TIME]
    assert notes(read(tmp_path, feed(*mixed, summary(999, home=2)))) == []
    assert notes(read(tmp_path, feed(*mixed, summary(999, home=1)))) != []


def test_other_units_and_coarser_readings_beside_the_energy_are_left_out_and_said(tmp_path: Path) -> None:
    kinds = [kind(1), kind(2, uom=29), kind(3, uom=38), kind(4)]
    blocks = [block(reading(0, 7, 86400 if i == 4 else 3600), number=i) for i in (1, 2, 3, 4)]
    found = read(tmp_path, feed(point(), *(meter(i, i) for i in (1, 2, 3, 4)), *kinds, *blocks, LOCAL_TIME))
    assert found.import_kwh.tolist() == [0.007]
    assert notes(found) == [
        "readings of uom 29, neither Wh nor W, were skipped",
        "delivered: readings in W were skipped: there are some in Wh",
        "delivered: 1 readings longer than an hour were skipped: there are shorter ones",
    ]


def test_net_is_left_out_where_both_directions_stand_for_themselves(tmp_path: Path) -> None:
    three = feed(
        *(point(), meter(1, 1), meter(2, 2), meter(3, 3), kind(1), kind(2, flowDirection=19), kind(3, flowDirection=4)),
        *(block(reading(0, value), number=i) for i, value in ((1, 5), (2, 7), (3, -2))),
    )
    found = read(tmp_path, three)
    assert (found.import_kwh.tolist(), found.export_kwh.tolist()) == ([0.005], [0.007])
    assert "readings of flowDirection 4 were skipped" in notes(found)[0]


def test_loose_feeds_need_no_links_where_there_is_one_of_each(tmp_path: Path) -> None:
    loose = feed(
        entry(f"<ReadingType>{numbers(uom=72)}</ReadingType>"),
        entry(f"<IntervalBlock>{reading(0, 385)}</IntervalBlock>"),
        entry(f"<ReadingType>{numbers(uom=72)}</ReadingType>"),  # said again, alike
        '<link rel="self" href="/feed/1"/>',
        entry("<billingPeriod><start>0</start></billingPeriod>"),  # in nothing that is kept
    )
    found = read(tmp_path, loose)
    assert found.import_kwh.tolist() == [0.385]
    assert notes(found) == ["states no flow direction; read as delivered to the home", NO_LOCAL_TIME]


def test_a_feed_without_atom_is_read(tmp_path: Path) -> None:
    bare = (
        '<e:all xmlns:e="http://naesb.org/espi"><e:ReadingType><e:uom>72</e:uom></e:ReadingType><e:IntervalBlock>'
        f"<e:IntervalReading><e:timePeriod><e:duration>3600</e:duration><e:start>{SINCE}</e:start></e:timePeriod>"
        "<e:value>385</e:value></e:IntervalReading></e:IntervalBlock></e:all>"
    )
    assert read(tmp_path, bare).import_kwh.tolist() == [0.385]


def test_readings_given_twice_alike_are_dropped_and_said(tmp_path: Path) -> None:
    found = read(tmp_path, one_meter(reading(1, 2), reading(0, 1), reading(1, 2, quality=8)))
    assert hours(found) == [0.0, 1.0]
    assert found.import_kwh.tolist() == [0.001, 0.002]
    assert found.estimated.tolist() == [False, True]
    assert notes(found) == ["1 readings repeat another and were dropped"]


@pytest.mark.by_hand
def test_a_running_register_gives_differences_and_keeps_its_gaps(tmp_path: Path) -> None:
    """Values at the end of hours 0, 1, 2 and 5: two hours of 20 and 30 Wh, then 900 Wh in a gap of three hours."""
    values = [reading(0, 100), reading(1, 120), reading(2, 150, quality=9), reading(5, 1050)]
    found = read(tmp_path, one_meter(*values, accumulationBehaviour=3))
    assert hours(found) == [1.0, 2.0]
    assert found.import_kwh.tolist() == [0.020, 0.030]
    assert found.estimated.tolist() == [False, True]
    assert "4 values of a running register" in notes(found)[0]
    assert "0.900 kWh of the running register fall into gaps of more than an hour" in notes(found)[1]


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("stated", "period", "said"),
    [
        (1003, "", []),  # 0.3 % more than 1,000 Wh
        (1006, "", ["its summary states 1.006 kWh, its readings add up to 1.000 kWh"]),
        (400, f"<billingPeriod>{numbers(start=SINCE, duration=3600)}</billingPeriod>", []),  # the first hour
        (
            410,
            f"<billingPeriod>{numbers(start=SINCE, duration=3600)}</billingPeriod>",
            [
                "its summary states 0.410 kWh for 0.0416667 days from 2024-01-01T00:00:00 UTC,"
                " its readings add up to 0.400 kWh"
            ],
        ),
        (999, f"<billingPeriod>{numbers(start=SINCE, duration=9999)}</billingPeriod>", []),  # not covered
    ],
)
def test_the_file_s_own_summary_is_compared(tmp_path: Path, stated: int, period: str, said: list[str]) -> None:
    content = one_meter(reading(0, 400), reading(1, 600)).replace("</feed>", summary(stated, period) + "</feed>")
    assert notes(read(tmp_path, content)) == said


GOOD = reading(0, 385)
TWO_HOMES = [point(1, title="Main house"), point(2), meter(), meter(2, home=2), kind(), block(GOOD)]
REFUSED = {
    "two meters": (
        feed(*TWO_HOMES, block(GOOD, number=2, home=2)),
        "has two electricity meters: 'Main house', 'espi/UsagePoint/2'; use a file of one meter",
    ),
    "gas only": (
        feed(point(1, 1), meter(), kind(), block(GOOD)),
        "has no readings of electricity, only 1 readings of gas",
    ),
    "no readings": (one_meter(), "has no readings of electricity$"),
    "no reading type": (feed(block(GOOD)), "line 2: no link names the reading type of this reading, one of 0"),
    "loose, two types": (
        feed(kind(1), kind(2, uom=38), entry(f"<IntervalBlock>{GOOD}</IntervalBlock>")),
        "no link names the reading type of this reading, one of 2",
    ),
    "loose, two homes": (
        feed(point(1), point(2), kind(), entry(f"<IntervalBlock>{GOOD}</IntervalBlock>")),
        "no link names the usage point of this reading, one of 2",
    ),
    "unit": (one_meter(GOOD, uom=5), "counts neither Wh .uom 72. nor W .uom 38., but uom 5"),
    "net": (one_meter(GOOD, flowDirection=4), "line 5: flowDirection is 4, must be 1"),
    "received only": (one_meter(GOOD, flowDirection=19), "has energy received from the home but none delivered"),
    "negative": (one_meter(GOOD, reading(1, -3)), "line 6: value -3 is negative"),
    "daily": (
        one_meter(reading(0, 9, 86400)),
        "line 5: .* at 2024-01-01T00:00:00 UTC is 86400 s long, must be at most",
    ),
    "one long": (one_meter(GOOD, reading(1, 9, 7200)), "line 6: .*T01:00:00 UTC is 7200 s long, must be at most"),
    "no length": (one_meter(reading(0, 9, None), intervalLength=0), "line 5: .* has no length"),
    "doubled": (one_meter(GOOD, reading(0, 386)), "lines 5 and 6: .* have different values: 0.385 and 0.386"),
    "doubled, longer": (one_meter(GOOD, reading(0, 385, 900)), "have different lengths: 3600 s and 900 s"),
    "overlap": (one_meter(GOOD, reading(0.5, 1)), r"T00:00:00 UTC \(3600 s\) and 2024-01-01T00:30:00 UTC overlap"),
    "two lengths": (both_ways([GOOD], [reading(0, 1, 900)]), "delivered and received are 3600 s and 900 s long"),
    "two rhythms": (both_ways([GOOD], [reading(0.5, 1, 900)]), "overlap"),
    "backwards": (
        one_meter(reading(0, 120), reading(1, 110), accumulationBehaviour=1),
        "line 6: the running register falls from 120 to 110 at 2024-01-01T02:00:00 UTC",
    ),
    "one value": (one_meter(GOOD, accumulationBehaviour=1), "a running register needs at least two values"),
    "daily register": (one_meter(GOOD, reading(24, 400), accumulationBehaviour=1), "is 86400 s long, must be at most"),
    "behavior Wh": (one_meter(GOOD, accumulationBehaviour=12), "accumulationBehaviour is 12, for readings in Wh"),
    "behavior W": (one_meter(GOOD, accumulationBehaviour=3, uom=38), "accumulationBehaviour is 3, for readings in W"),
    "word": (one_meter(reading(0, "n/a")), "line 5: IntervalReading/value is 'n/a', must be a number from"),
    "empty value": (one_meter(reading(0, "")), "line 5: IntervalReading/value is '', must be a number"),
    "endless value": (one_meter(reading(0, "1" * 5000)), "line 5: IntervalReading/value is '1{100}', must be"),
    "padded value": (one_meter(reading(0, "0" * 5000)), "line 5: IntervalReading/value is '0{100}', must be"),
    "infinite": (one_meter(reading(0, "inf")), "value is 'inf'"),
    "milliseconds": (one_meter(reading(SINCE, 1)), "line 5: timePeriod/start is .*, must be a whole number from 0 to"),
    "multiplier": (one_meter(GOOD, powerOfTenMultiplier=400), "powerOfTenMultiplier is '400'"),
    "no start": (one_meter("<IntervalReading><value>1</value></IntervalReading>"), "ends without timePeriod/start"),
    "no value": (one_meter(GOOD.replace("value>", "cost>")), "line 5: a reading ends without IntervalReading/value"),
    "another feed": (
        feed(entry("").replace("naesb.org/espi", "other.example")),
        "is not a Green Button file: its root is <feed>",
    ),
    "no namespace": ("<IntervalBlock/>", "is not a Green Button file: its root is <IntervalBlock>"),
    "empty": ("", "feed.xml: is empty$"),
    "blank": (" \n", "feed.xml: is empty$"),
    "no XML": ("start,kwh\n2024,1\n", "line 1: cannot be read as XML: syntax error$"),
    "cut short": (one_meter(GOOD, GOOD)[:-20], r"line \d+: cannot be read as XML: the file ends in the middle"),
    "mismatched": (feed("<entry></feed>"), "line 2: cannot be read as XML: mismatched tag"),
    "latin-1": (feed(point(title="Café")).encode("latin-1"), "line 2: .* is not in the encoding that it declares"),
    "unknown encoding": ('<?xml version="1.0" encoding="none"?><feed/>', "line 1: declares an encoding that cannot"),
    "many-byte encoding": ('<?xml version="1.0" encoding="utf-7"?><feed/>', "line 1: .*encoding"),
    "bomb": (
        '<!DOCTYPE f [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;">]>\n' + feed("<title>&b;</title>"),
        "line 1: declares a document type or entities",
    ),
    "outside entity": (
        '\n<!DOCTYPE f [<!ENTITY a SYSTEM "file:///etc/hostname">]>' + feed("<title>&a;</title>"),
        "line 2: declares a document type or entities",
    ),
    "undefined entity": (feed("<title>&a;</title>"), "line 2: cannot be read as XML: undefined entity"),
    "deep": ("<a>" * 100_000, "line 1: elements are nested more than 64 deep"),
    "endless tag": ("<feed><!--" + "x" * 3_000_000, "line 1: a tag or comment is longer than 1048576 bytes"),
}


@pytest.mark.parametrize(("content", "told"), REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_read_is_refused_in_one_line(tmp_path: Path, content: str | bytes, told: str) -> None:
    with pytest.raises(LoadError, match=told) as refused:
        read(tmp_path, content)
    assert len(refused.value.problems) == 1
    assert str(refused.value).startswith(f"{tmp_path / 'feed.xml'}: ")
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("name", "told"), [("none.xml", "No such file"), (".", "directory"), ("a\0b", "can have that name")]
)
def test_files_that_cannot_be_opened(tmp_path: Path, name: str, told: str) -> None:
    with pytest.raises(LoadError, match=f"cannot be read: .*{told}"):
        read_green_button(tmp_path / name)


def test_the_feed_never_stands_in_memory(tmp_path: Path) -> None:
    """Two thousand empty blocks and entries of no use, 0.8 MB, take no more room than a hundred."""
    junk = entry("<Other><a>1</a></Other>" * 10, f"{'x' * 90}", title="y" * 90) + block()
    peaks = []
    for count in (50, 1_000):
        path = tmp_path / "feed.xml"
        path.write_text(feed(point(), meter(), kind(), block(reading(0, 385)), LOCAL_TIME, *[junk] * count))
        tracemalloc.start()
        assert read_green_button(path).import_kwh.tolist() == [0.385]
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] < peaks[0] + 100_000
