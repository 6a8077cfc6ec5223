"""Results: what their fields declare is what JSON, tables and the glossary show."""

import doctest
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import numpy as np

from solarsim import results
from solarsim.results import Fact, Result, all_facts, computed, fact


@dataclass(frozen=True, eq=False, repr=False)
class _Row(Result):
    name: str = fact("name", "text")
    cost: Decimal = fact("what it costs", "currency")


@dataclass(frozen=True, eq=False, repr=False)
class _Whole(Result):
    day: date = fact("when", "date")
    rows: tuple[_Row, ...] = fact("one for each", "table")
    kwh: np.ndarray = fact("energy", "kWh")
    inner: object = None
    _rows = "rows"

    @computed("sum of the costs", "currency")
    def total(self) -> Decimal:
        return sum((row.cost for row in self.rows), Decimal(0))


WHOLE = _Whole(date(2026, 1, 2), (_Row("a", Decimal("1.50")), _Row("b", Decimal(2))), np.arange(3.0))


def test_record_holds_what_is_declared_and_nothing_else() -> None:
    assert WHOLE.record() == {
        "day": "2026-01-02",
        "rows": [{"name": "a", "cost": 1.5}, {"name": "b", "cost": 2.0}],
        "kwh": [0.0, 1.0, 2.0],
        "total": 3.5,
    }
    assert ("_Whole", "total", Fact("sum of the costs", "currency")) in list(all_facts())


def test_table_has_a_row_for_each_entry_and_repr_fits_a_line_or_two() -> None:
    assert WHOLE.table()["cost"].to_dict() == {"a": 1.5, "b": 2.0}
    assert len(repr(WHOLE)) < 300
    assert "<table" in WHOLE._repr_html_()


def test_the_example_runs() -> None:
    assert doctest.testmod(results).failed == 0


def test_every_fact_of_the_package_has_a_meaning_and_a_unit() -> None:
    """The guide shows them; a unit is the one that the name promises."""
    from importlib import import_module
    from pkgutil import walk_packages

    from solarsim import studies

    for module in walk_packages(studies.__path__, "solarsim.studies."):
        import_module(module.name)
    facts = [(owner, name, what) for owner, name, what in all_facts() if not owner.startswith("_")]
    assert len(facts) > 100
    for owner, name, what in facts:
        assert what.meaning, (owner, name)
        assert what.unit, (owner, name)
        if name.endswith("_kw"):
            assert what.unit.startswith("kW"), (owner, name)
        if name.endswith("_kwh") and not name.endswith("per_kwh"):
            assert what.unit.startswith(("kWh", "MWh", "currency/kWh")), (owner, name)
