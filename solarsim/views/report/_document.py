"""The document: a report in; one HTML file that needs nothing beside itself out."""

from base64 import b64encode
from collections.abc import Callable, Iterator
from functools import cache
from hashlib import sha256
from importlib import resources
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from solarsim import __version__
from solarsim.results import Result
from solarsim.scenario.financing import Lease
from solarsim.scenario.keys import all_keys
from solarsim.studies.report.report import HomeReport, Report
from solarsim.views.bill import MONTH_NAMES
from solarsim.views.figure import figure
from solarsim.views.guide import guide_pages
from solarsim.views.money import CONVENTIONS, NOT_INCLUDED
from solarsim.views.outages import OUTAGE_CAUTION
from solarsim.views.report._marks import FILTERS, TESTS
from solarsim.views.report._pictures import household_figures, inline_svg
from solarsim.views.report._traced import Traced, value_of
from solarsim.views.risk import INPUT_WORDS
from solarsim.views.roof import LABELS
from solarsim.views.savings import PER_WORDS
from solarsim.views.texts import CAUTION
from solarsim.views.wiring import STANDARDS

_FOLDER = "templates"
_MOST_BYTES = 3_000_000  # of a file that is sent by mail
_LISTED = ("costs.parts", "costs.labor", "costs.inverters")  # in the list of what is purchased
_CASH = (
    ("Purchase", "purchase"),
    ("Dated changes", "changes"),
    ("Incentives", "incentives"),
    ("Loan received", "loan"),
    ("O&M", "o_and_m"),
    ("Replaced parts", "replacements"),
    ("Loan payments", "loan_payments"),
    ("Lease, power purchase", "contract"),
    ("Salvage", "salvage"),
)


def html(result: Report) -> str:
    """Return a report as one HTML file.

    Parameters
    ----------
    result : Report
        Of one scenario or several.

    Returns
    -------
    str
        HTML 5, its style, its few lines of script and all pictures inside.
    """
    whole = _rendered(result, all_pictures=True)
    return whole if len(whole.encode()) <= _MOST_BYTES else _rendered(result, all_pictures=False)


def _rendered(result: Report, all_pictures: bool) -> str:
    """Return the document; without all pictures only those of the household's pages and of the offers are in it."""
    script = _file("script.js")
    homes = [_HomeContext(home, number, result, all_pictures) for number, home in enumerate(result.homes)]
    return (
        _environment()
        .get_template("document.html.jinja")
        .render(
            version=__version__,
            report=Traced(result, "report:"),
            homes=homes,
            has=result.has,
            offers=None if result.offers is None else Traced(result.offers, "offers:"),
            offers_picture=_offers_picture(result),
            style=Markup(_file("style.css")),  # noqa: S704  # our own file
            script=Markup(script),  # noqa: S704
            script_hash=b64encode(sha256(script.encode()).digest()).decode(),
            sources=_table_of("sources"),
            safety=_list_of("safety"),
            caution=CAUTION,
            outage_caution=OUTAGE_CAUTION,
            conventions=CONVENTIONS,
            not_included=NOT_INCLUDED,
            month_names=MONTH_NAMES,
            per_words=PER_WORDS,
            standards=STANDARDS,
            loss_words=LABELS,
            input_words=INPUT_WORDS,
        )
    )


def _offers_picture(result: Report) -> Callable[[str], Markup] | None:
    """Return how the offers' picture is made with its alternative text; None where there is none."""
    offers = result.offers
    return None if offers is None else lambda words: inline_svg(figure(offers), "offers", words)


class _HomeContext:
    """One home as the templates read it: its results, traced, and its pictures."""

    def __init__(self, home: HomeReport, number: int, result: Report, all_pictures: bool) -> None:
        self.all_pictures = all_pictures
        self.number = number
        self.id = f"home{number}"
        self._home = home
        self._household = household_figures(home) if result.has("household") else {}
        chosen = home.strategy_number
        self.report = Traced(result, "report:").homes[number]
        self.compare = self._traced(home.comparison, "compare")
        self.run = self.compare.strategies[chosen]
        self.flows = [self._traced(each, f"flows@{place}") for place, each in enumerate(home.flows)]
        self.flow = self.flows[chosen]
        self.bill = self._traced(home.bill, f"bill@{chosen}")
        self.sheet = self._traced(home.sheet, f"sheet@{chosen}")
        self.roof = self._traced(home.roof, "roof")
        self.savings = self._maybe(home.savings, "savings")
        self.life = self._maybe(home.life, "life")
        self.best = None if self.life is None else self.life.strategies[chosen]
        self.risk = self._maybe(home.risk, f"risk@{chosen}")
        self.outages = self._maybe(home.outages, f"outages@{chosen}")
        self.wiring = self._maybe(home.wiring, "wiring")

    def _traced(self, result: Result, command: str) -> Traced:
        return Traced(result, f"{self.number}/{command}:")

    def _maybe(self, result: Result | None, command: str) -> Traced | None:
        return None if result is None else self._traced(result, command)

    @property
    def contract(self) -> str:
        """Under which contract the owner is paid; empty where the home owns the system."""
        costs = self._home.home.scenario.costs
        kind = None if costs is None else costs.contract
        return "" if kind is None else "lease" if isinstance(kind, Lease) else "power purchase agreement"

    def missing(self, study: str) -> Traced | None:
        """Return what a study lacks; None where it was made."""
        return next((each for each in self.report.missing if value_of(each.study) == study), None)

    def has_picture(self, name: str) -> bool:
        """Return whether the household's page has a picture."""
        return name in self._household

    def picture(self, name: str, words: str) -> Markup:
        """Return a picture with its alternative text."""
        home = self._home
        if name in self._household:
            drawn = self._household[name]
        elif name == "cash":
            drawn = figure(_known(home.life), strategy=home.strategy)
        else:
            whole = {"bill": home.bill, "sheet": home.sheet, "compare": home.comparison, "risk": home.risk,
                     "wiring": home.wiring}  # fmt: skip
            drawn = figure(_known(whole[name]))
        return inline_svg(drawn, f"{self.id}-{name}", words)

    def bill_months(self) -> Iterator[tuple[int, list[Traced], list[Traced]]]:
        """Yield each month with the lines of its bill before and after."""
        for month in range(1, 13):
            before, after = (
                [line for line in bill.lines if value_of(line.month) == month]
                for bill in (self.bill.bills[0], self.bill.bills[len(self.bill.bills) - 1])
            )
            yield month, before, after

    def assumptions(self) -> Iterator[tuple[str, str, Traced]]:
        """Yield key, meaning and value of what the money rests on, beside the list of what is purchased."""
        if self.life is not None:
            meanings = _meanings()
            for path, value in _leaves(self.life.assumed, ""):
                if not path.startswith(_LISTED):
                    yield path, meanings.get(_general(path), ""), value

    def cash_columns(self) -> list[tuple[str, str]]:
        """Return heading and key of each column of the cash flow that has any money in it."""
        best = self._home.best
        years = () if best is None else best.years
        return [(words, key) for words, key in _CASH if any(getattr(year, key) for year in years)]


def _known(result: Result | None) -> Result:
    """Return a result that is there: templates ask for a picture only where it is."""
    if result is None:
        raise LookupError("a picture of what was not computed")
    return result


def _leaves(traced: Traced, path: str) -> Iterator[tuple[str, Traced]]:
    """Yield every single value of nested tables with its dotted key."""
    value = value_of(traced)
    if isinstance(value, dict):
        for key in value:
            yield from _leaves(getattr(traced, key), f"{path}.{key}" if path else str(key))
    elif isinstance(value, list | tuple):
        for place in range(len(value)):
            yield from _leaves(traced[place], f"{path}.{place}")
    else:
        yield path, traced


def _general(path: str) -> str:
    """Return a key as the list of keys has it: ``*`` for every item of a list."""
    return ".".join("*" if part.isdecimal() else part for part in path.split("."))


@cache
def _meanings() -> dict[str, str]:
    return {key.path: key.meaning for key in all_keys()}


def _table_of(page: str) -> list[list[str]]:
    """Return the rows of the table on a page of the guide, its heading left out."""
    lines = [line for line in guide_pages()[page].splitlines() if line.startswith("|")]
    return [[cell.strip().replace("`", "") for cell in line.strip("|").split("|")] for line in lines[2:]]


def _list_of(page: str) -> list[str]:
    """Return the points of the list on a page of the guide."""
    return [line[2:] for line in guide_pages()[page].splitlines() if line.startswith("- ")]


@cache
def _file(name: str) -> str:
    return (resources.files(__package__) / _FOLDER / name).read_text(encoding="utf-8")


@cache
def _environment() -> Environment:
    """Return the templates' surroundings: everything is escaped, and a name that does not exist is an error."""
    made = Environment(
        loader=PackageLoader(__package__ or "", _FOLDER),
        autoescape=True,
        undefined=StrictUndefined,
    )
    made.filters.update(FILTERS)
    made.tests.update(TESTS)
    made.globals["zip"] = zip
    made.globals["enumerate"] = enumerate
    made_any: Any = made
    return made_any  # type: ignore[no-any-return]
