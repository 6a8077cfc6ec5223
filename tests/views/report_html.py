"""Read a report as a program does: its traced values, and all other text."""

import re
from html.parser import HTMLParser
from typing import NamedTuple

_ALONE = {"meta", "br"}


class Shown(NamedTuple):
    """A value that names the command that owns it."""

    path: str
    value: str | None  # None: it is a text
    text: str


class Reader(HTMLParser):
    """Traced values in ``shown``, other text in ``plain``; pictures, style and script are left out."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.shown: list[Shown] = []
        self.plain: list[str] = []
        self._open: list[tuple[str, dict[str, str | None]]] = []
        self._inside: list[str] = []
        self.feed(html)
        assert self._open == [], "an element is not closed"

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        """Note an element that has something inside."""
        if tag not in _ALONE:
            self._open.append((tag, dict(attributes)))
            if "data-from" in dict(attributes):
                self._inside = []

    def handle_startendtag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        """Pass over an element of a picture that has nothing inside."""

    def handle_endtag(self, tag: str) -> None:
        """Keep what a traced element holds."""
        opened, attributes = self._open.pop()
        assert opened == tag, f"</{tag}> closes <{opened}>"
        path = attributes.get("data-from")
        if path is not None:
            self.shown.append(Shown(path, attributes.get("value"), "".join(self._inside)))

    def handle_data(self, data: str) -> None:
        """Keep text that a person sees."""
        tags = {tag for tag, _ in self._open}
        if tags & {"svg", "style", "script", "option"}:
            return
        if any("data-from" in attributes for _, attributes in self._open):
            self._inside.append(data)
        elif data.strip():
            self.plain.append(" ".join(data.split()))


def number_in(text: str) -> tuple[float, float] | None:
    """Return a shown number and half a unit of its last digit; None where the text is no plain number."""
    found = re.fullmatch(r"(-?[\d,]+(?:\.(\d+))?)(%?)(?: h)?", text.strip())
    if found is None:
        return None
    scale = 0.01 if found[3] else 1.0
    digits = len(found[2] or "")
    return scale * float(found[1].replace(",", "")), scale * 0.5 * 10.0**-digits
