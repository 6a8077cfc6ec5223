"""The figure of any result."""

from dataclasses import dataclass
from pathlib import Path

import pytest

import solarsim
from solarsim.errors import OutputError
from solarsim.results import Result, fact
from solarsim.studies.load import load_year
from solarsim.studies.modules import modules
from solarsim.views import load as load_view
from solarsim.views.figure import LINE_COLORS, LINE_STYLES, figure_bytes, new_figure, view_of
from tests.builders import scenario


@dataclass(frozen=True, eq=False, repr=False)
class _Foreign(Result):
    name: str = fact("name", "text")


def test_a_result_is_drawn_by_the_view_of_its_study() -> None:
    year = load_year(scenario())
    assert view_of(year) is load_view
    assert solarsim.figure(year).get_suptitle().startswith("plain home: load of 2026")


def test_what_has_no_figure_is_refused() -> None:
    with pytest.raises(TypeError, match="ModuleSearch: has no figure"):
        solarsim.figure(modules("cs6k 300ms"))
    with pytest.raises(TypeError, match="_Foreign: is not the result of a study"):
        solarsim.figure(_Foreign("x"))
    with pytest.raises(TypeError, match="LoadMonth: is a part of a result"):
        solarsim.figure(load_year(scenario()).months[0])


@pytest.mark.parametrize(("suffix", "begins"), [("png", b"\x89PNG"), ("svg", b"<?xml"), ("PDF", b"%PDF")])
def test_the_suffix_is_the_format(suffix: str, begins: bytes) -> None:
    assert figure_bytes(new_figure(2, 1, "t"), Path(f"a.{suffix}")).startswith(begins)


def test_another_suffix_is_refused() -> None:
    with pytest.raises(OutputError, match=r"a\.gif: .*\.png, \.svg or \.pdf"):
        figure_bytes(new_figure(2, 1, "t"), Path("a.gif"))


def test_lines_differ_without_color_too() -> None:
    assert len(set(LINE_COLORS)) == len(set(map(str, LINE_STYLES))) == 7
