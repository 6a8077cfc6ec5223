"""The report in a real browser: nothing is missing, nothing runs over, nothing is asked for, names stay names."""

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from solarsim.scenario.model import Scenario
from solarsim.scenario.read import packaged_folder, read_scenario
from solarsim.studies.report.report import report
from solarsim.views.report import text
from tests.axe_core import axe_script
from tests.browser import Page, browser
from tests.builders import scenario

pytestmark = pytest.mark.slow
SCENARIOS = sorted(path.stem for path in packaged_folder("scenarios").glob("*.toml"))
NASTY = '<script>alert(1)</script>\u202e\u200f"><img src onerror=alert(2)>'
LETTER, A4 = (8.5, 11.0), (8.27, 11.69)
_MARGINS_IN = 2 * 13 / 25.4  # as the style has them
_CHECKED = ("greensboro", "older_roof")  # wide, printed, and for accessibility: the demo, and a home whose wiring fails


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """Start a browser for all tests here."""
    with browser(tmp_path_factory.mktemp("browser")) as opened:
        yield opened


def file_of(folder: Path, name: str, *scenarios: Scenario, without: tuple[str, ...] = ()) -> Path:
    """Write a report, and hold it to its size."""
    names = [f"offer {number}" for number in range(len(scenarios))]
    found = report(scenarios, names, without=without, lifetimes=2, made_on=date(2026, 3, 1))
    path = folder / f"{name}.html"
    path.write_text(text(found))
    assert path.stat().st_size <= 3_000_000
    return path


def check_screen(page: Page, path: Path, width_px: int) -> None:
    """Check what holds at any width: no complaint, no request, all pictures, no sideways scrolling."""
    page.open(path, width_px)
    assert page.complaints == []
    assert page.requests == [path.as_uri()]
    assert page.value("document.documentElement.scrollWidth") <= width_px
    sizes = page.value("[...document.querySelectorAll('svg')].map(e => [e.clientWidth, e.clientHeight])")
    assert len(sizes) >= 3
    assert min(width for width, _ in sizes) >= 250
    assert min(height for _, height in sizes) >= 100
    ids = page.value("[...document.querySelectorAll('[id]')].map(e => e.id)")
    assert len(ids) == len(set(ids))


def shown(page: Page) -> list[str]:
    """Return the tables to choose from that can be seen."""
    names: list[str] = page.value(
        "[...document.querySelectorAll('[data-name]')].filter(e => e.offsetHeight > 0).map(e => e.dataset.name)"
    )
    return names


def household_fits(page: Page, path: Path, paper_in: tuple[float, float]) -> bool:
    """Return whether the household's part ends on the first printed page."""
    width, height = (round(96 * (side - _MARGINS_IN)) for side in paper_in)
    page.open(path, width)
    page.call("Emulation.setEmulatedMedia", media="print")
    end: float = page.value("document.querySelector('.household').getBoundingClientRect().bottom")
    page.call("Emulation.setEmulatedMedia", media="")
    return end <= height


def violations(page: Page, path: Path) -> list[Any]:
    """Return what the accessibility checker finds by WCAG 2.1 AA and good practice."""
    page.open(path)
    page.call("Runtime.evaluate", expression=axe_script())
    found: list[Any] = page.value(
        "axe.run().then(found => found.violations.map(each => [each.id, each.impact, each.nodes[0].html]))"
    )
    return found


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_scenario_makes_a_page_that_shows_and_prints(page: Page, name: str, tmp_path: Path) -> None:
    path = file_of(tmp_path, name, read_scenario(packaged_folder("scenarios") / f"{name}.toml"))
    check_screen(page, path, 360)
    assert household_fits(page, path, LETTER)
    assert household_fits(page, path, A4)
    if name in _CHECKED:
        check_screen(page, path, 1280)
        printed = page.pdf(LETTER)
        assert printed.startswith(b"%PDF")
        assert len(re.findall(rb"/Type /Page\b", printed)) >= 8
        assert violations(page, path) == []
    failing = page.value("document.querySelectorAll('.warning').length")
    assert failing == (2 if name == "older_roof" else 1)  # the cautions at the end are one, too


def test_lists_choose_what_is_shown_and_without_script_all_is(page: Page, tmp_path: Path) -> None:
    lived = read_scenario()
    path = file_of(tmp_path, "demo", lived, without=("bank", "household"))
    page.open(path)
    assert shown(page) == ["winter night charge", "January"]  # the recommended strategy first
    page.value(
        "for (const [place, list] of document.querySelectorAll('select').entries())"
        "{ list.selectedIndex = 2 - place; list.dispatchEvent(new Event('change')); }"
    )
    assert shown(page) == ["winter night charge", "February"]
    page.value(
        "for (const list of document.querySelectorAll('select'))"
        "{ list.selectedIndex = 0; list.dispatchEvent(new Event('change')); }"
    )
    assert shown(page) == ["serve the home first", "January"]
    page.open(path, script=False)
    assert len(shown(page)) == len(lived.strategies) + 12
    page.open(path)
    page.call("Emulation.setEmulatedMedia", media="print")
    assert len(shown(page)) == len(lived.strategies) + 12
    page.call("Emulation.setEmulatedMedia", media="")


def test_names_that_want_to_be_programs_are_names(page: Page, tmp_path: Path) -> None:
    nasty = scenario(
        name=NASTY,
        strategies__0__name=NASTY,
        arrays__0__name=NASTY,
        rate_plan__name=NASTY,
        rate_plan__rates__0__name=NASTY,
    )
    path = file_of(tmp_path, "nasty", nasty)
    check_screen(page, path, 360)
    assert page.value("[document.scripts.length, document.images.length]") == [1, 0]
    title = page.value("document.querySelector('h1').textContent")
    assert title == NASTY.replace("\u202e", r"\u202e").replace("\u200f", r"\u200f")
    assert page.value("getComputedStyle(document.querySelector('h1 bdi')).unicodeBidi") == "isolate"


def test_offers_come_first_and_side_by_side(page: Page, tmp_path: Path) -> None:
    home = read_scenario().changed({"life.years": 5, "life.uncertainty.lifetimes": 10})
    larger = home.changed({"battery.bank.0.strings": 2})
    loan = home.changed({"costs.loan": {"share": 0.6, "rate": 0.068, "years": 4}})
    path = file_of(tmp_path, "offers", home, larger, loan)
    check_screen(page, path, 360)
    assert page.value("document.querySelector('main > section').id") == "offers"
    assert page.value("[...document.querySelectorAll('#offers thead th')].map(e => e.textContent)") == [
        "Offer", "offer 0", "offer 1", "offer 2",
    ]  # fmt: skip
    assert page.value("document.querySelectorAll('.part').length") == 1 + 3 * 3 + 1
    assert "The loan is paid monthly" in page.value("document.querySelector('#home2-household').textContent")


LEASE = {"years": 20, "monthly_payment": 95.0, "escalator_per_year": 0.0, "maintained": True, "at_end": "removed"}


@pytest.mark.parametrize(
    ("changes", "several"),
    [
        (
            {"costs.lease": LEASE, "costs.incentives": []},
            ("The lease is paid monthly: 95.00 USD in January.", "You do not purchase it: you pay its owner under the"),
        ),
        ({"arrangement": {"kind": "off_grid", "grid": "none"}}, ("Savings cannot be stated:",)),
    ],
    ids=["lease", "off the grid"],
)
def test_other_homes_are_told_in_words_that_fit_them(
    changes: dict[str, Any], several: tuple[str, ...], tmp_path: Path
) -> None:
    home = read_scenario().changed({"life.years": 21, **changes})
    path = file_of(tmp_path, "other", home, without=("installer", "bank"))
    shown = " ".join(re.sub(r"<[^>]+>", "", path.read_text()).split())
    assert [told for told in several if told not in shown] == []
