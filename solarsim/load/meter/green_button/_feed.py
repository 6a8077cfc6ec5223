"""The XML of a Green Button feed (NAESB ESPI in Atom), parsed element by element; its meaning is up to ``reader``.

The feed is never in memory as a tree: five numbers are kept of each reading, and of all else only what is used.
"""

import re
from array import array
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, NamedTuple
from xml.etree.ElementTree import ParseError
from xml.parsers.expat import ErrorString

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import XMLParser

from solarsim.errors import LoadError

NOT_STATED = -1
_ATOM, _ESPI = "{http://www.w3.org/2005/Atom}", "{http://naesb.org/espi}"
_ENTRY, _TITLE, _LINK = f"{_ATOM}entry", f"{_ATOM}title", f"{_ATOM}link"
SUMMARIES = ("ElectricPowerUsageSummary", "UsageSummary")
TOTALS = ("currentBillingPeriodOverAllConsumption", "overallConsumptionLastPeriod")
_RESOURCES = ("UsagePoint", "MeterReading", "ReadingType", "LocalTimeParameters", *SUMMARIES)
_CODE, _LENGTH_S, _VALUE, _POWER = (0, 2**16 - 1), (0, 2**32 - 1), (-(2**47), 2**47 - 1), (-12, 12)
_SECOND = (0, 4_102_444_799)  # from 1970 to 2099
_START, _DURATION, _READING = ("timePeriod", "start"), ("timePeriod", "duration"), ("IntervalReading", "value")
_QUALITY = ("ReadingQuality", "quality")
_NUMBERS = {  # every number that is used, by its parent and its name, and its range
    _START: _SECOND,
    _DURATION: _LENGTH_S,
    _READING: _VALUE,
    _QUALITY: _CODE,
    ("ServiceCategory", "kind"): _CODE,
    ("ReadingType", "accumulationBehaviour"): _CODE,
    ("ReadingType", "commodity"): _CODE,
    ("ReadingType", "defaultQuality"): _CODE,
    ("ReadingType", "flowDirection"): _CODE,
    ("ReadingType", "intervalLength"): _LENGTH_S,
    ("ReadingType", "powerOfTenMultiplier"): _POWER,
    ("ReadingType", "uom"): _CODE,
    ("billingPeriod", "start"): _SECOND,
    ("billingPeriod", "duration"): _LENGTH_S,
}
for _total in TOTALS:
    _NUMBERS |= {(_total, "powerOfTenMultiplier"): _POWER, (_total, "uom"): _CODE, (_total, "value"): _VALUE}
_ONCE = ("timePeriod", "IntervalReading", "ReadingType")  # parents of numbers that a reading or its type has once
ESTIMATED = (8, 9)
_WHOLE, _DECIMAL = re.compile(r"[+-]?[0-9]+"), re.compile(r"[+-]?[0-9]+\.[0-9]*")
_HOST_OR_QUERY = re.compile(r"^[A-Za-z][A-Za-z0-9+.-]*://[^/]*|[?#].*$")
_DEEPEST, _LONGEST_TEXT, _CHUNK = 64, 100, 1 << 16
_LONGEST_TAG = 1 << 20
_MOST_BYTES = 1_000_000_000  # it is read in pieces; ten years of five minutes
_CUT_SHORT = ("no element found", "unclosed token", "unclosed CDATA section", "partial character")
_ENCODING = ("unknown encoding", "encoding specified in XML declaration is incorrect")


@dataclass
class Entry:
    """What Atom has around a resource: its title and its links to itself, upwards and to what belongs to it."""

    title: str = ""
    own: str = ""
    up: str = ""
    related: list[str] = field(default_factory=list)


class Resource(NamedTuple):
    """One thing of a feed other than its readings: the entry around it and its numbers by parent and name."""

    entry: Entry
    numbers: dict[tuple[str, str], float]

    def number(self, parent: str, name: str, absent: int = 0) -> int:
        """Return a whole number, or ``absent``."""
        return int(self.numbers.get((parent, name), absent))

    @property
    def label(self) -> str:
        """What a person may know it by."""
        return self.entry.title or self.entry.own[:_LONGEST_TEXT] or "without a name"


class RawReadings(NamedTuple):
    """Starts [s since 1970, UTC], lengths [s], bare values, estimates and last lines of readings.

    ``NOT_STATED`` is a length or quality that is missing; a quality is 1 where the utility estimated, else 0.
    """

    start: "array[int]"
    duration_s: "array[int]"
    value: "array[float]"
    estimated: "array[int]"
    line: "array[int]"


class Feed:
    """A parser's target that keeps resources by their name in the standard, and readings by the link of their block."""

    def __init__(self, path: Path) -> None:
        self.resources: dict[str, list[Resource]] = {name: [] for name in _RESOURCES}
        self.series: dict[str, RawReadings] = {}
        self._parser = XMLParser(target=self, forbid_dtd=True)
        self._path = path
        self._names: list[str] = []
        self._text: str | None = None
        self._entry: Entry | None = None
        self._numbers: list[dict[tuple[str, str], float]] = []
        self._block = _no_readings()
        self._is_espi = False
        self._root = ""

    def parse(self, file: IO[bytes]) -> None:
        """Parse a file to its end; refuse what is no whole Green Button feed, or has a number out of its range."""
        chunk, before = b"", 0
        try:
            while chunk := file.read(_CHUNK):
                self._parser.feed(chunk)
                before += len(chunk)
                if before > _MOST_BYTES:
                    self._refuse(f"the file is longer than {_MOST_BYTES // 10**6} MB, the most that is read")
                if before - self._parser.parser.CurrentByteIndex > _LONGEST_TAG:
                    self._refuse(f"a tag or comment is longer than {_LONGEST_TAG} bytes")
            self._parser.close()
        except ParseError as error:
            at = self._parser.parser.ErrorByteIndex - before
            problem = ErrorString(error.code)
            if not self._root and problem == _CUT_SHORT[0]:
                raise LoadError(f"{self._path}: is empty") from None
            if problem in _CUT_SHORT:
                problem = "the file ends in the middle (cut short?)"
            elif problem in _ENCODING or (0 <= at < len(chunk) and chunk[at] > 127):
                problem = "is not in the encoding that it declares"
            raise LoadError(f"{self._path}: line {error.position[0]}: cannot be read as XML: {problem}") from None
        except DefusedXmlException:
            self._refuse("declares a document type or entities, which no Green Button file does")
        except (LookupError, ValueError):  # of Python's own, for names of encodings it does not have
            self._refuse("declares an encoding that cannot be read")
        self._keep_block()
        if not self._is_espi:
            raise LoadError(
                f"{self._path}: is not a Green Button file: its root is <{self._root}>, and it has no ESPI elements"
            )

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        """Enter an element."""
        if len(self._names) >= _DEEPEST:
            self._refuse(f"elements are nested more than {_DEEPEST} deep, which no Green Button file does")
        self._root = self._root or tag.rpartition("}")[2][:_LONGEST_TEXT]
        if tag.startswith(_ESPI):
            self._is_espi, name = True, tag.removeprefix(_ESPI)
        else:
            name = tag if tag.startswith("{") else f"{{}}{tag}"
        self._text = None
        if name == _ENTRY:
            self._keep_block()
            self._entry = Entry()
        elif name == _LINK:
            self._link(attributes)
        elif name == _TITLE or (self._names and (self._names[-1], name) in _NUMBERS):
            self._text = ""
        elif name == "IntervalReading" or name in self.resources:
            self._numbers.append({})
        self._names.append(name)

    def data(self, text: str) -> None:
        """Keep a piece of text."""
        if self._text is not None and len(self._text) <= _LONGEST_TEXT:
            self._text += text

    def end(self, _: str) -> None:
        """Leave an element."""
        name = self._names.pop()
        parent = self._names[-1] if self._names else ""
        if (parent, name) in _NUMBERS:
            self._keep_number((parent, name))
        elif name == "IntervalReading":
            self._keep_reading()
        elif name in self.resources:
            self.resources[name].append(Resource(self._entry or Entry(), self._numbers.pop()))
        elif name == _TITLE and parent == _ENTRY and self._entry:
            self._entry.title = " ".join((self._text or "")[:_LONGEST_TEXT].split())
        elif name == _ENTRY:
            self._keep_block()
            self._entry = None
        self._text = None

    def close(self) -> None:
        """Do nothing at the end of the document."""

    def _link(self, attributes: dict[str, str]) -> None:
        if self._entry is None:
            return
        place = _HOST_OR_QUERY.sub("", " ".join(attributes.get("href", "").split())).strip("/")
        relation = attributes.get("rel", "related")
        if relation == "self":
            self._entry.own = place
        elif relation == "up":
            self._entry.up = place
        elif place:
            self._entry.related.append(place)

    def _keep_number(self, key: tuple[str, str]) -> None:
        text = (self._text or "").strip()
        lowest, highest = _NUMBERS[key]
        decimal = key[1] == "value" and _DECIMAL.fullmatch(text)
        is_number = len(text) <= _LONGEST_TEXT and (decimal or _WHOLE.fullmatch(text))
        if not is_number or not lowest <= float(text) <= highest:
            must = "a number" if key[1] == "value" else "a whole number"
            shown = text[:_LONGEST_TEXT]
            self._refuse(f"{key[0]}/{key[1]} is {shown!r}, must be {must} from {lowest} to {highest}")
        if not self._numbers:  # it is in nothing that is kept
            return
        numbers = self._numbers[-1]
        if key[0] in _ONCE and key in numbers:
            self._refuse(f"{key[0]}/{key[1]} appears twice in one reading or reading type")
        if key == _QUALITY:  # a reading may carry several
            numbers[key] = max(float(int(text) in ESTIMATED), numbers.get(key, 0))
        else:
            numbers[key] = float(text)

    def _keep_reading(self) -> None:
        numbers = self._numbers.pop()
        for key in (_START, _READING):
            if key not in numbers:
                self._refuse(f"a reading ends without {key[0]}/{key[1]}")
        self._block.start.append(int(numbers[_START]))
        self._block.duration_s.append(int(numbers.get(_DURATION, NOT_STATED)))
        self._block.value.append(numbers[_READING])
        self._block.estimated.append(int(numbers.get(_QUALITY, NOT_STATED)))
        self._block.line.append(self._parser.parser.CurrentLineNumber)

    def _keep_block(self) -> None:
        """Put the readings of a block to those with the same link: Atom may have links last."""
        if not self._block.start:
            return
        entry = self._entry or Entry()
        collection, found, _ = entry.own.rpartition("/IntervalBlock")
        kept = self.series.setdefault(entry.up or (collection if found else ""), _no_readings())
        for column, more in zip(kept, self._block, strict=True):
            column.extend(more)  # type: ignore[attr-defined]  # two kinds of array
        self._block = _no_readings()

    def _refuse(self, problem: str) -> None:
        raise LoadError(f"{self._path}: line {self._parser.parser.CurrentLineNumber}: {problem}") from None


def _no_readings() -> RawReadings:
    return RawReadings(array("q"), array("q"), array("d"), array("b"), array("q"))
