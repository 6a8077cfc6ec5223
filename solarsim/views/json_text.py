"""Results as text for other programs: records in, JSON out."""

import json
from math import isfinite


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
    return json.dumps(_tidy(record), indent=2, allow_nan=False, ensure_ascii=False)


def _tidy(value: object) -> object:
    if isinstance(value, dict):
        return {key: _tidy(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_tidy(inner) for inner in value]
    if isinstance(value, float):
        return round(value, 9) + 0.0 if isfinite(value) else value
    return value
