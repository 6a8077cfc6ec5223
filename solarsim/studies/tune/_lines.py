"""What each line of a table earns: a search and its table in, the cost of removing each line out."""

from collections.abc import Iterator
from dataclasses import dataclass

from solarsim.home import Home
from solarsim.results import Result, fact
from solarsim.scenario.strategy import Strategy
from solarsim.studies.sheet.sheet import setting_words, window_sentence
from solarsim.studies.tune._moves import put, without
from solarsim.studies.tune._search import Found, Search
from solarsim.studies.tune._table import KEYS, Rule


@dataclass(frozen=True, eq=False, repr=False)
class TunedLine(Result):
    """A window of the table, or one of its settings."""

    window: str = fact("when it holds", "text")
    setting: str = fact("the key that is removed; empty where the whole window is", "text")
    sentence: str = fact("what the window does", "text")
    setting_words: str = fact("what the setting does; empty where the whole window is removed", "text")
    removal_cost: float = fact("what a year costs more without it", "currency")


def lines_of(search: Search, found: Found, strategy: Strategy, home: Home) -> Iterator[TunedLine]:
    """Yield each window of a table whose rules are the strategy's windows, and each of several settings."""
    for number, (rule, window) in enumerate(zip(found.table.rules, strategy.windows, strict=True)):
        sentence = window_sentence(strategy, window, home)
        cost = search.scorer.cost(without(found.table, number))
        yield TunedLine(window.words(), "", sentence, "", cost - found.cost)
        for key, shorter in _shorter(rule):
            cost = search.scorer.cost(put(found.table, number, shorter))
            words = setting_words(strategy, window, KEYS[key], home)
            yield TunedLine(window.words(), KEYS[key], sentence, words, cost - found.cost)


def _shorter(rule: Rule) -> Iterator[tuple[int, Rule]]:
    """Yield the rule without each of its settings, where it has several."""
    for key, _ in rule.changes if len(rule.changes) > 1 else ():
        yield key, rule.changed(key, None)
