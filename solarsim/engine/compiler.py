"""The compiler of the engine, with a cache wherever one can be kept: a function in, a compiled one out."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Literal, TypeVar

import numba

from solarsim.folders import own_folder

if TYPE_CHECKING:
    from numba.core.dispatcher import Dispatcher

_F = TypeVar("_F", bound=Callable[..., Any])
_CONFIG = vars(numba.config)  # numba reads it for each function
_NOWHERE = "in every run, since no folder can be written to keep it; NUMBA_CACHE_DIR names one"
_kept = ["once"]


def njit(
    *, cache: bool, error_model: Literal["python", "numpy"], forceinline: bool = False
) -> "Callable[[_F], Dispatcher[_F]]":
    """Return numba's decorator of this name; where no usual folder can be written, the cache is elsewhere or nowhere.

    Parameters
    ----------
    cache : bool
        Whether to keep what was compiled, if that is possible.
    error_model, forceinline
        See numba.

    Returns
    -------
    callable
        The decorator.
    """

    def compiled(function: _F) -> "Dispatcher[_F]":
        kept = cache and _kept[0] != _NOWHERE
        try:
            done: Dispatcher[_F] = numba.njit(function, cache=kept, error_model=error_model, forceinline=forceinline)
            return done
        except RuntimeError:
            if not kept:
                raise
        # Neither beside the file nor in the user's home.
        folder = own_folder()
        if folder is None or str(folder) == _CONFIG["CACHE_DIR"]:
            _kept[0] = _NOWHERE
        else:
            _CONFIG["CACHE_DIR"] = str(folder)
            _kept[0] = f"once; it is kept in {folder}"
        return compiled(function)

    return compiled


def how_often() -> str:
    """Return in words how often the engine is compiled, as a part of a message.

    Returns
    -------
    str
        ``once``, and where it is kept if that is unusual.
    """
    return _kept[0]
