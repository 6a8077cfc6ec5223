"""A result in a notebook: its fields in, HTML out. Its rows come first, as a table; the rest opens on demand."""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from html import escape
from typing import Any, Protocol, TypeGuard, runtime_checkable

import numpy as np

_MOST_ROWS, _MOST_COLUMNS = 60, 14
_MOST_ITEMS, _MOST_IN_CELL = 24, 3
_WITHOUT_UNIT = ("1", "text", "list", "table", "record", "any", "true or false")


class _Fact(Protocol):
    """What ``results.Fact`` has."""

    @property
    def meaning(self) -> str: ...
    @property
    def unit(self) -> str: ...


@runtime_checkable
class _Described(Protocol):
    """What ``results.Result`` has."""

    def facts(self) -> Mapping[str, _Fact]: ...


def result_html(result: _Described, rows: str = "") -> str:
    """Return a result as HTML that is also well-formed XML.

    Parameters
    ----------
    result : Result
        Any.
    rows : str
        Name of the field that holds its rows; empty where it is shown by its single values.

    Returns
    -------
    str
        One element. Every declared key is in it, with its unit, and its meaning beside it or where the pointer rests.
    """
    first = tuple(getattr(result, rows)) if rows else ()
    head = _table(first) if _are_described(first) else ""
    return f"<div><p><b>{escape(type(result).__name__)}</b></p>{head}{_parts(result, first)}</div>"


def _parts(result: _Described, shown: tuple[Any, ...] = ()) -> str:
    """Return the single values of a result as one table, then each of its parts; but not the rows already shown."""
    single: list[tuple[str, _Fact, object]] = []
    parts: list[str] = []
    for name, fact in result.facts().items():
        value = getattr(result, name)
        if isinstance(value, _Described):
            parts.append(_on_demand(_named(name, fact), _parts(value)))
        elif _are_described(value):
            if tuple(value) != shown:
                parts.append(_on_demand(_named(name, fact), _table(value) + _beyond_table(value)))
        else:
            single.append((name, fact, value))
    values = _single_table(single) if single else ""
    if values and shown:
        values = _on_demand("single values", values)
    return "".join([values, *parts, _beyond_table(shown)])


def _beyond_table(rows: Sequence[_Described]) -> str:
    """Return what rows hold that does not fit their table; open where there is one row."""
    parts = []
    for row in rows[:_MOST_ROWS]:
        values = [getattr(row, name) for name in row.facts()]
        if not all(map(_fits_cell, values)):
            parts.append(_on_demand(_text(values[0]), _parts(row), is_open=len(rows) == 1))
    return "".join(parts)


def _table(rows: Sequence[_Described]) -> str:
    """Return rows and their single values as a table: a column for each key, or a line where there are many keys."""
    facts = {
        name: fact for name, fact in rows[0].facts().items() if all(_fits_cell(getattr(row, name)) for row in rows)
    }
    if len(facts) > _MOST_COLUMNS and len(facts) > len(rows):
        return _turned(rows, facts)
    head = "".join(
        f'<th title="{escape(fact.meaning)}">{escape(name)}{_unit(fact, "<br/>")}</th>' for name, fact in facts.items()
    )
    lines = [[getattr(row, name) for name in facts] for row in rows[:_MOST_ROWS]]
    body = "".join(f"<tr>{''.join(f'<td>{_text(value)}</td>' for value in line)}</tr>" for line in lines)
    more = f"<p>{len(rows):,} rows; the first {_MOST_ROWS} are shown</p>" if len(rows) > _MOST_ROWS else ""
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>{more}"


def _turned(rows: Sequence[_Described], facts: Mapping[str, _Fact]) -> str:
    """Return a table with a line for each key and a column for each row."""
    lines = [
        f'<tr><th title="{escape(fact.meaning)}">{escape(name)}</th><td>{_unit(fact)}</td>'
        + "".join(f"<td>{_text(getattr(row, name))}</td>" for row in rows)
        + "</tr>"
        for name, fact in facts.items()
    ]
    return f"<table><tbody>{''.join(lines)}</tbody></table>"


def _single_table(values: Iterable[tuple[str, _Fact, object]]) -> str:
    """Return a row for each value: its key, itself, its unit and its meaning."""
    lines = "".join(
        f"<tr><th>{escape(name)}</th><td>{_text(value)}</td><td>{_unit(fact)}</td>"
        f'<td style="text-align: left">{escape(fact.meaning)}</td></tr>'
        for name, fact, value in values
    )
    return f"<table><tbody>{lines}</tbody></table>"


def _on_demand(words: str, inner: str, is_open: bool = False) -> str:
    """Return what opens when its words are chosen."""
    state = ' open="open"' if is_open else ""
    return f"<details{state}><summary>{words}</summary>{inner}</details>"


def _named(name: str, fact: _Fact) -> str:
    return f"{escape(name)}: {escape(fact.meaning)}"


def _unit(fact: _Fact, before: str = "") -> str:
    return "" if fact.unit in _WITHOUT_UNIT else before + escape(fact.unit)


def _are_described(values: object) -> TypeGuard[Sequence[_Described]]:
    """Return whether a value is a list of results with at least one."""
    return isinstance(values, tuple | list) and bool(values) and all(isinstance(each, _Described) for each in values)


def _fits_cell(value: object) -> bool:
    """Return whether a value is one number, one text or a few words."""
    if isinstance(value, tuple | list | np.ndarray | Mapping):
        return len(value) <= _MOST_IN_CELL and not any(isinstance(each, _Described) for each in value)
    return not isinstance(value, _Described)


def _text(value: object) -> str:
    """Return a value in a cell: names are text, never HTML, and keep their direction of writing to themselves."""
    if value is None:
        return ""
    if isinstance(value, bool | np.bool_):
        return str(bool(value)).lower()
    if isinstance(value, float | np.floating | Decimal):
        value = float(value)
        return f"{value:,.2f}" if abs(value) >= 1.0 else f"{round(value, 9) + 0.0:.4g}"
    if isinstance(value, Mapping):
        return ", ".join(f"{_text(key)} {_text(inner)}" for key, inner in value.items())
    if isinstance(value, tuple | list | np.ndarray):
        more = f" ... ({len(value)})" if len(value) > _MOST_ITEMS else ""
        between = "<br/>" if any(isinstance(each, str) for each in value) else ", "
        return between.join(map(_text, value[:_MOST_ITEMS])) + more
    return f"<bdi>{escape(''.join(each if each.isprintable() else ' ' for each in str(value)))}</bdi>"
