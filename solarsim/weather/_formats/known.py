"""What a file is by its first lines, whatever it is called: text in, the name of its format out."""

import re
from pathlib import Path

from solarsim.errors import WeatherError
from solarsim.weather._formats.pvgis import HOURLY, TIME

_TM2 = re.compile(r"\s*\d{5} .* [NS]\s+\d+\s+\d+ [EW]\s+\d+\s+\d+\s+-?\d+\s*")
#: First bytes of files that are no text.
_CONTAINERS = {
    b"PK\x03\x04": "a zip archive or workbook; unpack it, or save its sheet as CSV",
    b"\x1f\x8b": "compressed; unpack it",
    b"7z\xbc\xaf": "compressed; unpack it",
    b"\x89HDF": "NetCDF or HDF, which is not read",
    b"CDF": "NetCDF, which is not read",
    b"\xff\xfe": "UTF-16 text; save it as UTF-8",
    b"\xfe\xff": "UTF-16 text; save it as UTF-8",
    b"%PDF": "a PDF document",
    b"<": "a web page or XML; was the download refused?",
}
#: Formats of measured radiation: minutes, a day or month a file, so that none of them is a year.
_NO_YEAR = {
    "SURFRAD": re.compile(r"[^\n]*\n\s*-?\d+\.\d+\s+-?\d+\.\d+\s+\d+ m version"),
    "BSRN": re.compile(r"\*[CU]0001\s"),
    "SRML": re.compile(r"\d{4,6}\t\d{4}\t\d{4}\t"),
    "CAMS": re.compile(r"# (?:Coding: utf-8|utf-8)", re.IGNORECASE),
    "CRN": re.compile(r"\d{5} \d{8} \d{4} \d{8} \d{4} "),
}
_HEAD = 4000


def refuse_containers(raw: bytes, path: Path) -> None:
    """Refuse what is no text, by its name."""
    for first, what in _CONTAINERS.items():
        if raw.startswith(first):
            raise WeatherError(f"{path}: is {what}")
    if b"\0" in raw:
        raise WeatherError(f"{path}: is not text (zero byte at {raw.index(0)})")


def refuse_other_formats(text: str, stated: str, path: Path) -> None:
    """Refuse a file of another known format than the scenario states."""
    found = format_of(text)
    if found is not None and found != stated:
        raise WeatherError(f'{path}: is of format {found}, not {stated}; write format = "{found}"')
    for name, first_lines in _NO_YEAR.items():
        if found is None and first_lines.match(text[:_HEAD]):
            raise WeatherError(
                f"{path}: is a {name} file, which holds less than a year or lacks columns; write the hours of a year as"
                " csv"
            )


def format_of(text: str) -> str | None:
    """Return the format whose first lines a file has; None where it has those of none."""
    head = text[:_HEAD].lstrip("\n\r ")
    first, _, rest = head.partition("\n")
    if first.upper().startswith("LOCATION,"):
        return "epw"
    if first.startswith("Source,Location ID,"):
        return "psm"
    if first.startswith(("Latitude (decimal degrees)", TIME)) or (head.startswith("{") and f'"{HOURLY}"' in text):
        return "pvgis"
    if rest.lstrip('"').startswith("Date (MM/DD/YYYY)"):
        return "tmy3"
    if _TM2.fullmatch(first):
        return "tm2"
    named = next((line for line in head.split("\n") if not line.startswith("#")), "")
    return "csv" if "ghi_w_m2" in named else None
