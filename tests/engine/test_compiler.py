"""The compiler: a cache in the usual place, elsewhere, or nowhere."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba
import pytest

from solarsim.engine import compiler


def double(value: float) -> float:
    return 2.0 * value


def refusing(usable: list[str]) -> Callable[..., Any]:
    """Return a compiler that has no cache but in some folders."""

    def njit(function: Any, *, cache: bool, error_model: str, **_: bool) -> Any:
        if cache and compiler._CONFIG["CACHE_DIR"] not in usable:
            raise RuntimeError("cannot cache function: no locator available")
        return function, cache, error_model

    return njit


@pytest.mark.parametrize(
    ("own", "cached", "words"),
    [
        ("mine", True, "once; it is kept in mine"),
        ("broken", False, "in every run, since no folder can be written to keep it; NUMBA_CACHE_DIR names one"),
        (None, False, "in every run, since no folder can be written to keep it; NUMBA_CACHE_DIR names one"),
    ],
)
def test_cache_is_elsewhere_or_nowhere_where_no_usual_folder_can_be_written(
    monkeypatch: pytest.MonkeyPatch, own: str | None, cached: bool, words: str
) -> None:
    monkeypatch.setattr(compiler, "_kept", ["once"])
    monkeypatch.setitem(compiler._CONFIG, "CACHE_DIR", "")
    monkeypatch.setattr(numba, "njit", refusing(["mine"]))
    monkeypatch.setattr(compiler, "own_folder", lambda: None if own is None else Path(own))
    for cache, found in ((True, cached), (True, cached), (False, False)):
        made: Any = compiler.njit(cache=cache, error_model="numpy")(double)
        assert made == (double, found, "numpy")
    assert compiler.how_often() == words


def test_cache_in_the_usual_place_is_not_mentioned() -> None:
    assert compiler.how_often() == "once"
