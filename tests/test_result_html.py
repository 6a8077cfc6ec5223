"""A result in a notebook: every key is shown, names are text and never HTML, long tables are cut."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from xml.etree.ElementTree import Element

import numpy as np
import pytest
from defusedxml import ElementTree

import solarsim
from solarsim.results import Result, fact
from solarsim.studies.compare.compare import Comparison
from tests.builders import scenario


def keys_of(value: object) -> Iterator[str]:
    """Yield every key that a result and its parts declare."""
    if isinstance(value, Result):
        for name in value.facts():
            yield name
            yield from keys_of(getattr(value, name))
    elif isinstance(value, tuple | list):
        for each in value:
            yield from keys_of(each)


def shown(result: Result) -> Element:
    """Return what a notebook shows; it must be well-formed."""
    found: Element = ElementTree.fromstring(result._repr_html_())
    return found


def test_every_key_of_a_result_and_its_parts_is_there(demo_comparison: Comparison) -> None:
    plain = scenario()
    for result in (demo_comparison, solarsim.weather_year(plain), solarsim.load_year(plain), solarsim.bill(plain)):
        words = {text.partition(":")[0] for text in shown(result).itertext()}
        assert set(keys_of(result)) - {"months"} <= words | {"strategies", "years", "bills"}, type(result).__name__


def test_a_comparison_has_a_line_for_each_key_and_a_column_for_each_strategy(demo_comparison: Comparison) -> None:
    table = shown(demo_comparison).find("table")
    assert table is not None
    lines = {
        line.findtext("th"): ["".join(cell.itertext()) for cell in line.findall("td")] for line in table.iter("tr")
    }
    assert lines["name"] == ["", *(run.name for run in demo_comparison.runs)]
    assert lines["annual_bill"] == ["currency", *(f"{run.annual_bill:,.2f}" for run in demo_comparison.runs)]
    assert lines["battery_savings_share"] == ["", *[""] * len(demo_comparison.runs)]  # not asked for


@dataclass(frozen=True, eq=False, repr=False)
class _Row(Result):
    name: str = fact("its <name>", "text")
    kwh: float = fact("energy", "kWh")
    ok: bool = fact("whether it is good", "true or false")
    by_hour: np.ndarray = fact("one for each hour", "kW")
    share: Mapping[str, float] | None = fact("some", "1", default=None)


@dataclass(frozen=True, eq=False, repr=False)
class _Whole(Result):
    _rows = "rows"

    rows: tuple[_Row, ...] = fact("all", "table")
    notes: tuple[str, ...] = fact("what to know", "list", default=())


ROW = _Row("<script>alert(1)</script>\u202e\x07", 1234.5, True, np.arange(30.0))


def test_names_are_text_and_numbers_are_short() -> None:
    html = _Whole((ROW,), ("a & b", "c"))._repr_html_()
    assert "<script" not in html
    assert "\u202e" not in html
    assert "\x07" not in html
    table = shown(_Whole((ROW,))).find("table")
    assert table is not None
    assert [cell.attrib["title"] for cell in table.iter("th")] == ["its <name>", "energy", "whether it is good", "some"]
    assert ["".join(cell.itertext()) for cell in table.iter("td")] == [
        "<script>alert(1)</script>  ",
        "1,234.50",
        "true",
        "",
    ]
    assert "22, 23 ... (30)" in html.replace(".00", "")  # the hours do not fit a cell: they are below
    assert "<bdi>a &amp; b</bdi><br/><bdi>c</bdi>" in html


@pytest.mark.parametrize(
    ("value", "text"), [(0.12345678, "0.1235"), (-3e-15, "0"), (-1234.567, "-1,234.57"), (float("inf"), "inf")]
)
def test_numbers(value: float, text: str) -> None:
    assert f"<td>{text}</td>" in replace(ROW, kwh=value)._repr_html_()


def test_a_long_table_is_cut_and_says_how_long_it_is() -> None:
    html = _Whole((replace(ROW, by_hour=np.arange(2.0)),) * 1000)._repr_html_()
    assert html.count("<tr>") == 62  # a head, 60 rows, and notes
    assert "1,000 rows; the first 60 are shown" in html


def test_without_rows_the_single_values_are_shown() -> None:
    found = shown(_Whole((), ("note",)))
    assert [line.findtext("th") for line in found.iter("tr")] == ["rows", "notes"]
    assert found.find("details") is None
