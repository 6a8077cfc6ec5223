"""The report's file: what it shows, escaped and whole, and that every number in it is a command's."""

import json
import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest

import solarsim
from solarsim.results import Result
from solarsim.studies.report.report import Report, report
from solarsim.views import report as view
from solarsim.views.guide import guide_pages
from solarsim.views.money import CONVENTIONS
from solarsim.views.report import _document
from solarsim.views.report._traced import Traced, path_of, value_of
from solarsim.views.wiring import STANDARDS
from tests.builders import scenario
from tests.cli.command import run
from tests.cli.test_words import avoided
from tests.views.report_html import Reader, Shown, number_in

TEMPLATES = Path(view.__file__).parent / "templates"
NASTY = '<script>alert(1)</script> \u202eabc "><img src=x>{{7*7}}'
MADE_ON = date(2026, 3, 1)


@pytest.fixture(scope="module")
def plain() -> tuple[Report, str]:
    """Write the report of a home with no costs, no life, no arrangement, and a name that wants to be a program."""
    home = scenario(name=NASTY, strategies__0__name=NASTY, rate_plan__rates__0__name=NASTY)
    found = report(home, made_on=MADE_ON)
    return found, view.text(found)


def test_names_stay_names(plain: tuple[Report, str]) -> None:
    html = plain[1]
    reader = Reader(html)
    assert html.count("<script>") == 1  # our own
    assert "<img" not in html
    assert "\u202e" not in html
    names = {each.text for each in reader.shown if each.path in ("report:homes/0/scenario", "report:homes/0/strategy")}
    assert names == {NASTY.replace("\u202e", r"\u202e")}


def test_what_is_missing_is_said_with_its_keys(plain: tuple[Report, str]) -> None:
    html = " ".join(re.sub(r"<[^>]+>", "", plain[1]).split())
    assert "P90 and NPV under uncertainty were not computed." in html
    assert "Not computed: cash flow by year, payback over the life, NPV and IRR." in html
    for key in ("discount_rate", "[costs]; add one with parts", "[arrangement]", "[life.uncertainty]", "[wiring]"):
        assert key in html
    assert view.page(plain[0])[2] == (
        "Not computed: what is purchased, its cost, and simple payback. The scenario has no table [costs]; add one with"
        " parts."
    )


def test_nothing_comes_from_elsewhere_and_no_id_is_there_twice(plain: tuple[Report, str]) -> None:
    html = plain[1]
    assert re.findall(r"""(?:src|href|action)=["'](?!#)""", html) == []
    assert re.findall(r"url\((?!#)", html) == []
    ids = re.findall(r'\bid="([^"]+)"', html)
    assert len(ids) == len(set(ids)) > 100
    used = set(re.findall(r'(?:url\(#|href="#)([^")]+)', html))
    assert used <= set(ids)


def test_pictures_of_the_household_are_public(plain: tuple[Report, str]) -> None:
    drawn = solarsim.figure(plain[0], picture="money")
    assert [text.get_text() for text in drawn.axes[0].texts] == [
        f"{each.energy_cost:,.0f}"
        for each in (plain[0].homes[0].comparison.baseline, plain[0].homes[0].comparison.runs[0])
    ]
    with pytest.raises(ValueError, match="picture 'moon' must be one of money, energy, sunny_day, cloudy_day"):
        solarsim.figure(plain[0], picture="moon")


@pytest.mark.slow
def test_file_that_would_be_too_large_leaves_wide_pictures_out(
    plain: tuple[Report, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(_document, "_MOST_BYTES", 1)
    html = view.text(plain[0])
    assert "Picture left out, to keep the file below 3 MB" in html
    assert html.count("<svg") == 4  # the household's own


def test_traced_value_reads_only_what_is_declared(plain: tuple[Report, str]) -> None:
    traced = Traced(plain[0].homes[0].comparison, "0/compare:")
    bill = traced.strategies[0].annual_bill
    assert path_of(bill) == "0/compare:strategies/0/annual_bill"
    assert value_of(bill) == plain[0].homes[0].comparison.runs[0].annual_bill
    with pytest.raises(AttributeError, match="Comparison declares no 'home'"):
        _ = traced.home


COMMANDS_OF_A_STRATEGY = ("flows", "bill", "sheet", "risk", "outages")
DRAWS = ("--lifetimes", "10")


def owner_json(path: str, names: list[str]) -> Any:
    """Run the command that owns a path, as a person would, and return its JSON."""
    command, _, strategy = path.partition(":")[0].rpartition("/")[2].partition("@")
    words = ["--strategy", names[int(strategy)]] if strategy else []
    done = run(command, "greensboro", *words, *(DRAWS if command in ("risk", "report") else ()), "--json")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def agrees(each: Shown, owned: Any) -> bool:
    """Return whether what is shown is what the command prints, and is rounded as it should be."""
    if each.value is None:
        return each.text == str(owned)
    if owned is None:
        return (each.value, each.text) == ("", "-")
    if isinstance(owned, bool | str):
        return each.value == (owned if isinstance(owned, str) else str(owned).lower())
    exact = abs(float(each.value) - owned) <= 1e-8 * max(1.0, abs(owned))
    number = number_in(each.text)
    return exact and (number is None or abs(number[0] - owned) <= number[1] * 1.000001 + 1e-12)


@pytest.mark.slow
def test_every_number_is_that_of_the_command_that_owns_it() -> None:
    demo = solarsim.read_scenario()
    found = report(demo, lifetimes=10)
    reader = Reader(view.text(found))
    names = [each.name for each in demo.strategies]
    owners: dict[str, Any] = {}
    wrong = []
    for each in reader.shown:
        command, _, keys = each.path.partition(":")
        if command not in owners:
            owners[command] = owner_json(each.path, names)
        owned = owners[command]
        for key in keys.split("/"):
            owned = owned[int(key)] if isinstance(owned, list) else owned[key]
        if not agrees(each, owned):
            wrong.append((each, owned))
    assert wrong == []
    assert len(reader.shown) > 1500
    assert {command.rpartition("/")[2].partition("@")[0] for command in owners} == {
        "report", "compare", "flows", "bill", "sheet", "roof", "savings", "life", "risk", "outages", "wiring",
    }  # fmt: skip
    assert rogue_numbers(reader) == []
    words = " ".join([*reader.plain, *(each.text for each in reader.shown if each.value is None)])
    assert avoided(words) == set()


def rogue_numbers(reader: Reader) -> list[str]:
    """Return words with digits that are neither traced nor written in a template or in the package's own texts."""
    static = [path.read_text() for path in TEMPLATES.glob("*.jinja")]
    static += [guide_pages()["sources"].replace("`", ""), guide_pages()["safety"], solarsim.__version__]
    static += [CONVENTIONS, *STANDARDS.values(), *_document._meanings().values()]
    texts = " ".join(static)
    texts = re.sub(r"{{.*?}}|{%.*?%}|<[^>]*>|\|", " ", texts) + " ".join(re.findall(r'"([^"<>]*)"', texts))
    known = {word.strip(".,;()") for word in texts.split()}
    keys = re.compile(r"(life|costs)\.[\w.]+")
    words = [word for text in reader.plain for word in text.split() if re.search(r"\d", word)]
    return [word for word in words if word.strip(".,;()") not in known and not keys.fullmatch(word)]


def test_report_is_a_result_like_any_other(plain: tuple[Report, str]) -> None:
    assert isinstance(plain[0], Result)
    assert list(plain[0].table()["strategy"]) == [NASTY]
