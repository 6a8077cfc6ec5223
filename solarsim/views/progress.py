"""Progress of long work: the number done in, a line with the time left out, on a terminal or in a notebook."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import monotonic
from typing import Any

from solarsim.views.texts import printable

_SURE_S = 1.0  # a speed measured for less is a matter of which worker came first
_NOTEBOOK_EVERY_S = 0.2  # a line for each step would fill the notebook's messages


class Progress:
    """A line that says how far some work is; to be passed to a study as ``progress``, or called by any loop.

    Parameters
    ----------
    show : callable
        Shows a line in place of the one before.
    counted : str
        What is counted.
    clock : callable
        Time in seconds.

    Examples
    --------
    >>> times = iter([0.0, 10.0])
    >>> told = Progress(print, "lifetimes", lambda: next(times))
    >>> told(200, 1000)
    lifetimes: 200 of 1,000
    >>> told(400, 1000)
    lifetimes: 400 of 1,000, 20.0 a second, 30 s left
    """

    def __init__(self, show: Callable[[str], None], counted: str, clock: Callable[[], float] = monotonic) -> None:
        self._show, self._counted, self._clock = show, counted, clock
        self._of = self._done = self._first = -1
        self._began_s = 0.0

    def __call__(self, done: int, of: int, *_: int) -> None:
        """Show how far the work is, and how long it still takes at the speed since the first call.

        Parameters
        ----------
        done, of : int
            How many are done, and how many there are. Another ``of``, or fewer done, begins anew.
        """
        now_s = self._clock()
        if of != self._of or done < self._done:
            self._first, self._began_s = done, now_s
        self._done, self._of = done, of
        passed_s, since = now_s - self._began_s, done - self._first
        words = f"{self._counted}: {done:,} of {of:,}"
        if passed_s >= _SURE_S and since > 0:
            rate = since / passed_s
            words += f", {rate:,.1f} a second, {duration((of - done) / rate)} left"
        self._show(words)

    def say(self, words: str) -> None:
        """Show other words.

        Parameters
        ----------
        words : str
            What is being done.
        """
        self._show(words)


def duration(seconds: float) -> str:
    """Return a time in the largest unit of which there are at least two.

    Parameters
    ----------
    seconds : float
        The time.

    Returns
    -------
    str
        With its unit.

    Examples
    --------
    >>> duration(90.0), duration(150.0), duration(7200.0)
    ('90 s', '2.5 min', '2.0 h')
    """
    for unit_s, name in ((86400.0, "days"), (3600.0, "h"), (60.0, "min")):
        if seconds >= 2 * unit_s:
            return f"{seconds / unit_s:.1f} {name}"
    return f"{seconds:.0f} s"


@contextmanager
def progress(words: str = "working", counted: str | None = None) -> Iterator[Progress]:
    """Show the progress of what is done inside: on a terminal, or in a notebook; elsewhere nothing is written.

    Parameters
    ----------
    words : str
        What is being done.
    counted : str, optional
        What is counted, where that is said in other words.

    Yields
    ------
    Progress
        For a study that takes ``progress``: ``size``, ``risk``, ``tune``, ``fleet``. Also a function of your own loop.

    Examples
    --------
    >>> import solarsim
    >>> with solarsim.progress("lifetimes") as told:
    ...     found = solarsim.risk(solarsim.read_scenario(), lifetimes=10, progress=told)
    >>> found.lifetimes
    10
    """
    from rich.console import Console

    console = Console(stderr=True, markup=False, emoji=False)
    if console.is_jupyter:
        with _in_notebook(words) as show:
            yield Progress(show, counted or words)
        return
    with console.status(f"{printable(words)} ...") as status:
        yield Progress(lambda now: status.update(f"{printable(now)} ..."), counted or words)


@contextmanager
def _in_notebook(words: str) -> Iterator[Callable[[str], None]]:
    """Yield a function that replaces one line under the cell; in the end the line says how long the work took."""
    from IPython.display import display

    def bundle(text: str) -> Any:
        return {"text/plain": printable(text)}

    began_s = shown_s = monotonic()
    line: Any = display(bundle(f"{words} ..."), raw=True, display_id=True)
    end = "stopped"

    def show(now: str) -> None:
        nonlocal shown_s
        if monotonic() - shown_s >= _NOTEBOOK_EVERY_S:
            shown_s = monotonic()
            line.update(bundle(f"{now} ..."), raw=True)

    try:
        yield show
        end = "done"
    finally:
        line.update(bundle(f"{words}: {end} after {duration(monotonic() - began_s)}"), raw=True)
