"""Collection of garbage: how often a process looks for it."""

import gc

_NEW_OBJECTS = 500_000  # from one look at the youngest to the next; Python's own 700 are for small programs


def collect_rarely() -> None:
    """Look for garbage rarely, from now on in this process.

    Importing pvlib and numba makes a million objects that stay: looking among them again and again would cost a third
    of a short command's time, and a tenth of a worker's.

    Examples
    --------
    >>> import gc
    >>> before = gc.get_threshold()
    >>> collect_rarely()
    >>> gc.get_threshold()[0]
    500000
    >>> gc.set_threshold(*before)
    """
    gc.set_threshold(_NEW_OBJECTS, 50, 100)
