"""Where something is written in a scenario file."""

import pytest

from solarsim.scenario.lines import _line_of, window_line
from solarsim.scenario.read import read_scenario

_HEADERS = """# comment
[[strategies]]
name = "one"
[[strategies]]
name = "two"    # [not a table]
[[strategies.windows]]
from = "01:00"
[[strategies.windows]]
from = "02:00"
"""
_INLINE = """[[strategies]]
name = "one"
windows = [
    # { a comment }
    { from = "01:00", days = ["sat"] },
    { from = "02:00" },
]
"""
_ONE_LINE = 'strategies = [{ name = "one", windows = [{ from = "01:00" }] }]'


@pytest.mark.parametrize(
    ("text", "strategy", "window", "line"),
    [
        (_HEADERS, "two", 0, 6),
        (_HEADERS, "two", 1, 8),
        (_HEADERS, "two", -1, 4),
        (_HEADERS, "two", 2, None),
        (_HEADERS, "three", 0, None),
        (_INLINE, "one", 0, 5),
        (_INLINE, "one", 1, 6),
        (_ONE_LINE, "one", 0, 1),
        ("strategies = 3", "one", 0, None),
        ("[[strategies", "one", 0, None),
    ],
)
def test_line_of_a_window(text: str, strategy: str, window: int, line: int | None) -> None:
    assert _line_of(text, strategy, window) == line


def test_a_changed_strategy_has_no_line() -> None:
    demo = read_scenario()
    assert window_line(demo, "winter night charge", 0) is not None
    assert (
        window_line(demo.changed({'strategies."winter night charge".reserve': 0.3}), "winter night charge", 0) is None
    )
    assert window_line(demo.changed({"battery.low_cutoff": 0.05}), "winter night charge", 0) is not None
