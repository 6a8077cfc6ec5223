"""Results as text for other programs: records in, JSON out."""

import json
from math import isfinite

from solarsim.views.texts import printable


def to_json(record: object) -> str:
    """Write a record as JSON; a number that JSON does not know is a fault of ours.

    Parameters
    ----------
    record : object
        Dicts, lists, text, numbers.

    Returns
    -------
    str
        Indented, one key a line.
    """
    text = json.dumps(_tidy(record), indent=2, allow_nan=False, ensure_ascii=False)
    # JSON itself escapes the old control characters only; a terminal knows more of them.
    return text if printable(text) == text else json.dumps(_tidy(record), indent=2, allow_nan=False)


def _tidy(value: object) -> object:
    if isinstance(value, dict):
        return {key: _tidy(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_tidy(inner) for inner in value]
    if isinstance(value, float):
        return round(value, 9) + 0.0 if isfinite(value) else value
    return value
