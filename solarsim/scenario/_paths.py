"""Which keys of a scenario are paths of files: raw tables and a rule for paths in, tables with other paths out."""

from collections.abc import Callable, Mapping
from typing import Any

#: Keys whose text, or each text of whose list, is the path of a file, in any table.
_FILES = ("file", "shape_file", "other_files")


def with_paths(tables: Mapping[str, Any], mend: Callable[[str], str]) -> dict[str, Any]:
    """Return the tables with each path replaced by what a function makes of it."""
    found = _mended(tables, mend, False)
    if isinstance(found.get("rate_plan"), str):
        found["rate_plan"] = mend(found["rate_plan"])
    plans = found.get("plans")
    if isinstance(plans, dict) and isinstance(plans.get("files"), list):
        plans["files"] = [mend(each) if isinstance(each, str) else each for each in plans["files"]]
    return dict(found)


def _mended(value: Any, mend: Callable[[str], str], is_path: bool) -> Any:
    if isinstance(value, Mapping):
        return {key: _mended(each, mend, key in _FILES) for key, each in value.items()}
    if isinstance(value, list):
        return [_mended(each, mend, is_path) for each in value]
    return mend(value) if is_path and isinstance(value, str) else value
