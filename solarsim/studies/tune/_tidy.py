"""Making a table plain to read: a scorer and a table in, the same settings in every hour with plainer windows out."""

import numpy as np

from solarsim.studies.tune._moves import put
from solarsim.studies.tune._score import Scorer
from solarsim.studies.tune._table import EVERY_DAY, WEEKENDS, WORKDAYS, Rule, Table, spans_of


def tidied(table: Table, scorer: Scorer) -> Table:
    """Return the table with each rule cut to where it governs, in the order of seasons and hours if that can be."""
    for number in range(len(table.rules)):
        shorter = put(table, number, _cut(table, number, scorer))
        if scorer.same(table, shorter):
            table = shorter
    ordered = table._replace(rules=tuple(sorted(table.rules, key=lambda rule: (rule.seasons, rule.days, rule.start))))
    return ordered if scorer.same(table, ordered) else table


def _cut(table: Table, number: int, scorer: Scorer) -> Rule:
    """Return a rule for no more seasons, days and hours than those in which it governs anything."""
    rule, where = table.rules[number], scorer.governed(table, number)
    spans = spans_of(np.logical_or.reduce(where, axis=(0, 1)))
    start, end = spans[0] if len(spans) == 1 else (rule.start, rule.end)
    seasons = sum(1 << season for season in range(table.seasons) if where[season].any())
    workdays, others = bool(where[:, 0].any()), bool(where[:, 1].any())
    days = rule.days
    if rule.days == EVERY_DAY and workdays != others:
        days = WORKDAYS if workdays else WEEKENDS
    return rule._replace(seasons=seasons, days=days, start=start, end=end)
