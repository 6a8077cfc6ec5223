"""A scenario that was checked, for a person: the check in; what was found, assumed and is missing out."""

from collections.abc import Iterator
from textwrap import fill
from typing import Any

from solarsim.studies.check.check import Assumed, Check

_WIDTH = 78
_PLAIN = ("1", "text", "true or false", "table", "list")


def page(result: Check) -> list[Any]:
    """Return what a person sees of a check.

    Parameters
    ----------
    result : Check
        Of a scenario, right or wrong.

    Returns
    -------
    list
        Text, at most 80 columns wide where keys and names allow.
    """
    values = [each for each in result.assumed if each.value is not None]
    absent = [each.key for each in result.assumed if each.value is None and each.key.count(".") < 2]
    parts: list[Any] = [
        _verdict(result),
        "\n".join(fill(line, _WIDTH, subsequent_indent="  ") for line in result.contents),
    ]
    if result.files:
        parts.append("\n".join(["Files:", *_file_lines(result)]))
    if values:
        parts.append("\n".join(["Assumed, since these keys are left out:", *_assumed_lines(values)]))
    if absent:
        parts.append(_paragraph("Not in the scenario, so not modeled: " + ", ".join(absent) + "."))
    ready = [each.command for each in result.commands if not each.missing]
    then = "" if result.valid else " (once the errors are fixed)"
    parts.append(_paragraph(f"Ready for: {', '.join(ready) or 'no command'}{then}."))
    if len(ready) < len(result.commands):
        parts.append("\n".join(["Missing:", *_missing_lines(result)]))
    parts.append("solarsim guide KEY explains any key.")
    return parts


def _verdict(result: Check) -> str:
    count = len(result.problems)
    if not count:
        return f"{result.scenario}: no errors found."
    return f"{result.scenario}: {count} error{'s' if count > 1 else ''}, one line each on standard error."


def _paragraph(text: str) -> str:
    return fill(text, _WIDTH, break_on_hyphens=False, break_long_words=False)


def _file_lines(result: Check) -> Iterator[str]:
    """Yield each file with what was found in it, below."""
    for each in result.files:
        yield f"  {each.key}: {each.file}"
        yield fill(
            each.found or "not read", _WIDTH, initial_indent="    ", subsequent_indent="    ", break_on_hyphens=False
        )


def _assumed_lines(values: list[Assumed]) -> Iterator[str]:
    """Yield the keys of each table with their values, in one paragraph."""
    tables: dict[str, list[str]] = {}
    for each in values:
        table, _, key = each.key.partition(".")
        tables.setdefault(table, []).append(f"{key.replace('*.', '')} {_shown(each)}")
    for table, keys in tables.items():
        yield fill(f"{table}: {', '.join(keys)}", _WIDTH, initial_indent="  ", subsequent_indent="    ")


def _shown(each: Assumed) -> str:
    """Return a value with its unit."""
    if isinstance(each.value, bool):
        return str(each.value).lower()
    if not isinstance(each.value, int | float):
        return str(each.value)
    return f"{each.value:g}" + ("" if each.unit in _PLAIN or each.unit.startswith("currency") else f" {each.unit}")


def _missing_lines(result: Check) -> Iterator[str]:
    """Yield commands that lack the same, with what to write."""
    commands: dict[tuple[str, ...], list[str]] = {}
    for each in result.commands:
        if each.missing:
            commands.setdefault(each.missing, []).append(each.command)
    for lines, names in commands.items():
        yield fill(", ".join(names), _WIDTH, initial_indent="  ", subsequent_indent="  ")
        for line in lines:
            yield fill(line, _WIDTH, initial_indent="    ", subsequent_indent="      ", break_on_hyphens=False)
