"""The XML of a Green Button feed (NAESB ESPI in Atom), heard element by element; what it means is not known here.

The feed never stands in memory as a tree: of each reading five numbers are kept, of everything else only
what is listened to.
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
_NUMBERS = {  # every number that is listened to, by its parent and its name, and where it must lie
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
ESTIMATED = (8, 9)
_WHOLE, _DECIMAL = re.compile(r"[+-]?[0-9]+"), re.compile(r"[+-]?[0-9]+\.[0-9]*")
_HOST_OR_QUERY = re.compile(r"^[A-Za-z][A-Za-z0-9+.-]*://[^/]*|[?#].*$")
_DEEPEST, _LONGEST_TEXT, _CHUNK = 64, 100, 1 << 16
_LONGEST_TAG = 1 << 20
_CUT_SHORT = ("no element found", "unclosed token", "unclosed CDATA section", "partial character")
_ENCODING = ("unknown encoding", "encoding specified in XML declaration is incorrect")


@dataclass
class Entry:
    """What Atom says around a resource.

    Attributes
    ----------
    title : str
        For people.
    own, up : str
        Links to itself and to the collection or resource it stands in; empty where there are none.
    related : list of str
        Links to what belongs to it or describes it.
    """

    title: str = ""
    own: str = ""
    up: str = ""
    related: list[str] = field(default_factory=list)


class Resource(NamedTuple):
    """One thing of a feed other than its readings: the entry around it and its numbers by parent and name."""

    entry: Entry
    numbers: dict[tuple[str, str], float]

    def number(self, parent: str, name: str, absent: int = 0) -> int:
        """Give a whole number, or what stands for its absence."""
        return int(self.numbers.get((parent, name), absent))

    @property
    def label(self) -> str:
        """What a person may know it by."""
        return self.entry.title or self.entry.own[:_LONGEST_TEXT] or "without a name"


class Columns(NamedTuple):
    """Readings as they stand, before they mean anything; ``NOT_STATED`` where a length or quality is missing.

    Attributes
    ----------
    start : array of int
        Seconds since 1970, UTC [s].
    duration_s : array of int
        Length [s].
    value : array of float
        Without unit or power of ten.
    estimated : array of int
        1 where the utility says that it estimated, 0 where it says something else.
    line : array of int
        Line of the file on which the reading ends.
    """

    start: "array[int]"
    duration_s: "array[int]"
    value: "array[float]"
    estimated: "array[int]"
    line: "array[int]"


class Feed:
    """Listens to a feed and keeps what it says.

    Attributes
    ----------
    resources : dict of str to list of Resource
        By their name in the standard.
    series : dict of str to Columns
        The readings of all blocks, by the link that says what a block belongs to; empty where none does.
    """

    resources: dict[str, list["Resource"]]
    series: dict[str, "Columns"]

    def __init__(self, path: Path) -> None:
        self.resources = {name: [] for name in _RESOURCES}
        self.series = {}
        self._parser = XMLParser(target=self, forbid_dtd=True)
        self._path = path
        self._names: list[str] = []
        self._text: str | None = None
        self._entry: Entry | None = None
        self._numbers: list[dict[tuple[str, str], float]] = []
        self._block = _no_readings()
        self._is_espi = False
        self._root = ""

    def hear(self, file: IO[bytes]) -> None:
        """Listen to the end.

        Parameters
        ----------
        file : binary file
            Open for reading.

        Raises
        ------
        LoadError
            It is empty, is not XML, is cut short, is not in the encoding it declares, declares a document
            type or entities, is nested or has tags without end, holds nothing of ESPI, or a number in it
            is missing, is none or lies outside what the standard allows.
        """
        chunk, before = b"", 0
        try:
            while chunk := file.read(_CHUNK):
                self._parser.feed(chunk)
                before += len(chunk)
                if before - self._parser.parser.CurrentByteIndex > _LONGEST_TAG:
                    self._refuse(f"a tag or comment is longer than {_LONGEST_TAG} bytes")
            self._parser.close()
        except ParseError as error:
            at = self._parser.parser.ErrorByteIndex - before
            told = ErrorString(error.code)
            if not self._root and told == _CUT_SHORT[0]:
                raise LoadError(f"{self._path}: is empty") from None
            if told in _CUT_SHORT:
                told = "the file ends in the middle (cut short?)"
            elif told in _ENCODING or (0 <= at < len(chunk) and chunk[at] > 127):
                told = "is not in the encoding that it declares"
            raise LoadError(f"{self._path}: line {error.position[0]}: cannot be read as XML: {told}") from None
        except DefusedXmlException:
            self._refuse("declares a document type or entities, which no Green Button file does")
        except (LookupError, ValueError):  # of Python's own, for names of encodings it does not have
            self._refuse("declares an encoding that cannot be read")
        self._keep_block()
        if not self._is_espi:
            raise LoadError(
                f"{self._path}: is not a Green Button file: its root is <{self._root}>, and it holds nothing of ESPI"
            )

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        """Enter an element."""
        if len(self._names) >= _DEEPEST:
            self._refuse(f"elements stand more than {_DEEPEST} deep, which no Green Button file does")
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
        """Hear a piece of text."""
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
        if not self._numbers:  # stands in nothing that is kept
            return
        numbers = self._numbers[-1]
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
        """Put the readings heard so far to those that belong to the same: Atom may give links last."""
        if not self._block.start:
            return
        entry = self._entry or Entry()
        collection, found, _ = entry.own.rpartition("/IntervalBlock")
        kept = self.series.setdefault(entry.up or (collection if found else ""), _no_readings())
        kept.start.extend(self._block.start)
        kept.duration_s.extend(self._block.duration_s)
        kept.value.extend(self._block.value)
        kept.estimated.extend(self._block.estimated)
        kept.line.extend(self._block.line)
        self._block = _no_readings()

    def _refuse(self, problem: str) -> None:
        raise LoadError(f"{self._path}: line {self._parser.parser.CurrentLineNumber}: {problem}") from None


def _no_readings() -> Columns:
    return Columns(array("q"), array("q"), array("d"), array("b"), array("q"))
