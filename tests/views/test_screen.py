"""The screen: nothing from a file reaches a terminal as a control character."""

import io
from typing import Any

import pytest

from solarsim.views.screen import Screen
from solarsim.views.tables import plain_table
from solarsim.views.texts import printable


def shown(*parts: Any, terminal: bool) -> str:
    screen = Screen()
    screen.file = io.StringIO()
    screen._force_terminal = terminal
    screen.show(*parts)
    return screen.file.getvalue()


@pytest.mark.parametrize("terminal", [True, False])
def test_text_and_tables_are_shown_without_control_characters(terminal: bool) -> None:
    table = plain_table("Name\x1b[5m", "kWh")
    table.add_row("a\x1b[2Jb", "1.0\x9b")
    text = shown("first\nsecond\x1b]0;title\x07 [bold]plain[/bold] :sun:", table, terminal=terminal)
    assert "\\x1b]0;title" in text
    assert "[bold]plain[/bold] :sun:" in text
    assert "first\nsecond" in text
    assert "\\x1b[2J" in text
    assert "\x1b[2J" not in text
    assert "\x1b]" not in text
    assert "\x9b" not in text


def test_printable_text_is_itself() -> None:
    assert printable("Zürich\u00a03 °C\n東京") == "Zürich\u00a03 °C\n東京"
    assert printable("\x00\t\r\x7f\x85\u202e\u2028\ud800") == "\\x00\\t\\r\\x7f\\x85\\u202e\\u2028\\ud800"


def test_a_table_is_whole_on_a_narrow_screen_and_text_still_wraps() -> None:
    table = plain_table("Name", "Amount of energy, kWh", "Other, kWh")
    table.add_row("a year", "123,456", "7")
    screen = Screen()
    screen.file, screen.width = io.StringIO(), 20
    screen.show("words that do not fit one line", table, "words that do not fit one line")
    lines = [line.rstrip() for line in screen.file.getvalue().splitlines()]
    assert any(line.split() == ["a", "year", "123,456", "7"] for line in lines)
    assert any("Amount of energy, kWh" in line for line in lines)
    assert lines.count("words that do not") == 2
