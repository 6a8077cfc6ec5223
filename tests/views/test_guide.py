"""The guide answers with what is declared: keys, terms, words of the trade, sections."""

import re

import pytest

from solarsim.scenario.keys import all_keys
from solarsim.views.guide import ALSO_CALLED, folded, guide_pages, page


def test_pages_are_listed() -> None:
    listed = page(None)[0]
    assert all(f"  {name} " in listed for name in guide_pages())


@pytest.mark.parametrize(
    ("word", "says"),
    [
        ("strategies", "# Strategies"),
        ("battery.low_cutoff", "at least 0 and below 1"),
        ("low_cutoff", "battery.low_cutoff"),
        ("strategies.reserve", "strategies.*.reserve"),
        ("battery.reserve", "There is no battery.reserve."),
        ("min_soc", "battery.low_cutoff"),
        ("Min-SoC", "strategies.*.reserve"),
        ("pv_available_kw", "kW DC"),
        ("lost_kwh", "In results:"),
        ("net metering", "solarsim guide rate-plans"),
        ("sources", "Naumann"),
        ("minsoc", "Nearest: min_soc"),
        ("xyzzyx", "'xyzzyx' is not in the guide."),
    ],
)
def test_word_is_answered(word: str, says: str) -> None:
    assert says in "\n".join(page(word))


@pytest.mark.parametrize("word", ALSO_CALLED)
def test_words_of_the_trade_lead_to_what_exists(word: str) -> None:
    for each in ALSO_CALLED[word]:
        told = "\n".join(page(each))
        assert "is not in the guide" not in told
        assert "There is no" not in told


def test_every_key_is_found_by_its_path() -> None:
    keys = {key.name: key for key in all_keys()}
    assert len(keys) > 250
    for key in keys.values():
        assert f"  {key.path} (" in "\n".join(page(key.path)), key.path


@pytest.mark.parametrize(
    ("word", "found"), [("clipped", "clipped_kw"), ("export_limit", "grid.export_limit_kw"), ("standby", "standby_kwh")]
)
def test_a_name_is_found_without_its_unit(word: str, found: str) -> None:
    assert f"\n  {found} (" in "\n".join(page(word))


def test_prose_of_every_page_is_folded_and_all_else_stays_as_it_is() -> None:
    for text in guide_pages().values():
        shown = folded(text, 80)
        assert shown.split() == text.split()
        code = re.findall(r"```.*?```", text, re.DOTALL)
        assert re.findall(r"```.*?```", shown, re.DOTALL) == code
        prose = re.sub(r"```.*?```", "", shown, flags=re.DOTALL).splitlines()
        wide = [line for line in prose if len(line) > 80 and not line.startswith(("|", "#", "    "))]
        assert [line for line in wide if max(map(len, line.split())) < 70] == []
