"""Tables for a person: what they lose and how wide they are."""

import io

import pytest
from rich.console import Console
from rich.table import Table

from solarsim.views.tables import OneOrMore, plain_table, whole


def shown(table: Table | OneOrMore, width: int) -> list[str]:
    """Return the lines of a table on a terminal of some columns."""
    console = Console(file=io.StringIO(), width=width, color_system=None)
    console.print(table)
    text = console.file.getvalue()  # type: ignore[attr-defined]  # it is a StringIO
    return [line.rstrip() for line in text.splitlines()]


@pytest.mark.parametrize("width", [30, 60])
def test_names_fold_and_numbers_stay_whole(width: int) -> None:
    table = plain_table("Name", "Amount", "Other")
    table.add_row("a name that is much too long for its column", whole(12345.4), whole(-0.4))
    text = " ".join(" ".join(shown(table, width)).split())
    assert "12,345" in text
    assert text.endswith("0") or " 0 " in text
    assert "-0" not in text
    assert "…" not in text


def test_a_table_too_wide_for_the_screen_is_shown_as_its_parts() -> None:
    both, left, right = plain_table("Name", "Left", "Right"), plain_table("Name", "Left"), plain_table("Name", "Right")
    whole_or_parts = OneOrMore(both, (left, right))
    wide, narrow = (" ".join(shown(whole_or_parts, width)).split() for width in (40, 24))
    assert [wide.count(word) for word in ("Name", "Left", "Right")] == [1, 1, 1]
    assert [narrow.count(word) for word in ("Name", "Left", "Right")] == [2, 1, 1]
