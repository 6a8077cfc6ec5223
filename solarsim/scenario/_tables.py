"""From TOML to the raw tables of a scenario, with the files that they name: text in, dicts and prices out."""

import os
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from solarsim.errors import ScenarioError, file_bytes, key_of
from solarsim.scenario.csv_columns import numbers_from_csv

_ENDLESS = re.compile(r"[\d_]{4300}")
_STATEMENT = re.compile(r"(?m)^(?=[ \t]*[\[\w\"'])")
_MOST_TRIED = 500
_AT_END = "at end of document"
_TOML_HINT = (
    "; a number has a decimal point, text is written in quotes, true and false are in lower case, a path has / and"
    " no \\"
)
_DATES = (  # the places where a date is allowed
    ("site", "holidays", "dates"),
    ("rate_plan", "holidays", "dates"),
    ("load", "meter", "until"),
    ("outages", "events"),
)


@dataclass(frozen=True)
class Origin:
    """Where a scenario comes from: its raw tables, the folder that paths are relative to, and its file, if any."""

    tables: Mapping[str, Any] = field(default_factory=dict)
    folder: Path = Path()
    file: Path | None = None
    notes: tuple[str, ...] = ()

    def path(self, name: str) -> Path:
        """Return the path of a file that the tables name."""
        return self.folder / os.path.expanduser(name)  # pathlib's own raises where there is no such person

    def problem(self, text: str) -> str:
        """Return a problem with the scenario file before it."""
        return text if self.file is None else f"{self.file}: {text}"

    def rate_plan_tables(self, name: str) -> dict[str, Any]:
        """Return the tables of a rate plan's own file, with its paths relative to the scenario's folder."""
        file = self.path(name)
        tables = tables_of_file(file)
        if "rate_plan" in tables:
            raise ScenarioError(f"{file}: is a scenario; a rate plan file holds only the keys of the table 'rate_plan'")
        prices = tables.get("export", {}).get("file") if isinstance(tables.get("export"), dict) else None
        if isinstance(prices, str):
            tables["export"]["file"] = os.path.relpath(file.parent / os.path.expanduser(prices), self.folder)
        return tables


def tables_of_file(path: Path) -> dict[str, Any]:
    """Return the tables of a TOML file."""
    return tables_of_text(text_of_file(path), f"{path}: ")


def tables_of_text(text: str, before: str = "") -> dict[str, Any]:
    """Return the tables of TOML text; ``before`` precedes a problem."""
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise ScenarioError(f"{before}is not valid TOML: it is nested too deep") from None
    except tomllib.TOMLDecodeError as error:
        told = str(error)
        if _AT_END in told:
            told = told.replace(_AT_END, f"begins in line {_last_statement(text)}, is never closed")
        raise ScenarioError(f"{before}is not valid TOML: {told}{_TOML_HINT}") from None
    except ValueError:
        line = next((number for number, each in enumerate(text.split("\n"), start=1) if _ENDLESS.search(each)), 0)
        raise ScenarioError(f"{before}is not valid TOML: line {line} has a number of thousands of digits") from None


def _last_statement(text: str) -> int:
    """Return the line in which that begins that swallows the end of a text: all before it is valid."""
    starts = [found.start() for found in _STATEMENT.finditer(text)]
    for start in reversed(starts[-_MOST_TRIED:]):
        try:
            tomllib.loads(text[:start])
        except ValueError:
            continue
        return text.count("\n", 0, start) + 1
    return 1


def text_of_file(path: Path) -> str:
    """Return the text of a UTF-8 file."""
    try:
        return file_bytes(path, ScenarioError).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ScenarioError(f"{path}: is not UTF-8 text (byte {error.start})") from None


def hourly_prices(rate_plan: Any, origin: Origin) -> tuple[float, ...] | None:
    """Return the export prices of the file that a rate plan's tables name; None where they name none."""
    export = rate_plan.get("export") if isinstance(rate_plan, Mapping) else None
    name = export.get("file") if isinstance(export, Mapping) and export.get("pay") == "hourly_file" else None
    if not isinstance(name, str):
        return None
    file = origin.path(name)
    prices = numbers_from_csv(text_of_file(file), file, ("export_price",), ScenarioError)["export_price"]
    if prices.size != 8760:
        raise ScenarioError(f"{file}: has {prices.size} rows, must have 8760: one for each hour of a year")
    if abs(prices).max() > 1000.0:
        row = int(abs(prices).argmax())
        raise ScenarioError(
            f"{file}: export_price is {prices[row]:g} in row {row + 1}, must be from -1000 to 1000 per kWh"
        )
    return tuple(prices.tolist())


def misplaced_dates(content: Mapping[str, Any]) -> list[str]:
    """Return one line for each date where text in quotes is expected."""
    return [
        f"{key_of(where)}: {day} must be text in quotes"
        for where, day in _dates_in(content, ())
        if not any(tuple(where[: len(place)]) == place for place in _DATES)
    ]


def _dates_in(content: Any, where: tuple[int | str, ...]) -> Iterator[tuple[tuple[int | str, ...], date]]:
    if isinstance(content, date):
        yield where, content
    elif isinstance(content, Mapping | list):
        for key, each in content.items() if isinstance(content, Mapping) else enumerate(content):
            yield from _dates_in(each, (*where, key))
