"""Docstrings are contracts: names are the signature's, units come from a closed list, raises are listed, examples run.

A class whose fields declare meaning and unit (a result, a table of a scenario) needs no list of attributes: the
declaration is held to the unit that the field's name promises.
"""

import ast
import builtins
import doctest
import inspect
import pkgutil
import re
import textwrap
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from types import FunctionType

import pytest

import solarsim
from solarsim import errors
from solarsim.fields import Frozen
from solarsim.results import Result, computed

#: The unit that a name's ending promises; the longest ending counts.
UNIT_OF = {
    "liters_per_h": "l/h", "liters_per_kwh": "l/kWh",
    "_kw": "kW", "_kwh": "kWh", "_w": "W", "_w_m2": "W/m2", "_v": "V", "_a": "A", "_ah": "Ah", "_h": "h", "_min": "min",
    "_deg": "deg", "_c": "C", "_per_c": "1/C", "_m": "m", "_m_s": "m/s", "port_price": "currency/kWh",
    "_years": "years", "_kwh_m2": "kWh/m2", "_ohm": "ohm", "_siemens": "S", "_a_per_c": "A/C", "_ev": "eV",
    "_mm": "mm", "_cm": "cm", "_mm2": "mm2", "_percent": "%", "_mwh": "MWh",
    "_per_kwh": "currency/kWh", "_per_usable_kwh": "currency/kWh", "o_and_m": "currency", "aging_10_years": "1",
}  # fmt: skip
UNITS = {
    *UNIT_OF.values(),
    "s",
    "s since 1970",
    "km",
    "kWh/km",
    "l",
    "m2",
    "kW/K",
    "Btu/Wh",
    "kW/kW",
    "1/h",
    "Wh/K",
    "W/K",
    "MWh",
    "currency",
    "currency/l",
    "currency a year",
    "currency/100",
    "currency/kW",
    "``unit``",
    "currency/``unit``",
}
SECTION = re.compile(r"^(Parameters|Returns|Yields|Raises|Attributes|Notes|Examples)\n-+\n", re.MULTILINE)
ENTRY = re.compile(r"^(\S[^:\n]*)(?: : .*)?\n((?:(?: .*)?\n)*)", re.MULTILINE)
KNOWN = {name: each for name, each in {**vars(builtins), **vars(errors)}.items() if isinstance(each, type)}
MODULES = sorted({each.name for each in pkgutil.walk_packages(solarsim.__path__, "solarsim.")} - {"solarsim.__main__"})
#: Their docstrings send the reader to another class, which has the same fields.
ELSEWHERE = {
    "solarsim.engine.step.Orders",
    "solarsim.scenario.strategy.StrategyWindow",
    "solarsim.production.module_table.TableRow",
}


def things() -> Iterator[tuple[str, FunctionType | type]]:
    """Yield every public function, class, method and property; the docstring of a command is its help."""
    for module in (each for each in MODULES if not each.startswith("solarsim.cli.")):
        own = {k: v for k, v in vars(import_module(module)).items() if getattr(v, "__module__", "") == module}
        for key, each in own.items():
            inner = [(f"{key}.{k}", v) for k, v in vars(each).items()] if isinstance(each, type) else []
            for name, raw in [(key, getattr(each, "py_func", each)), *inner]:
                if isinstance(raw, computed):
                    continue  # it declares meaning and unit itself
                found = raw.fget if isinstance(raw, property) else getattr(raw, "func", raw)
                if isinstance(found, FunctionType | type) and found.__module__ == module:
                    yield f"{module}.{name}", found


THINGS = {name: thing for name, thing in things() if "._" not in name and name not in ELSEWHERE}


def sections(thing: object) -> dict[str, dict[str, str]]:
    """Split a docstring: title of a section -> name -> text; what stands above all sections has no title."""
    above, *pieces = SECTION.split(inspect.getdoc(thing) or "")
    found = {"": {"": above}}
    for title, body in zip(pieces[::2], pieces[1::2], strict=True):
        found[title] = {name: text for names, text in ENTRY.findall(body + "\n") for name in names.strip().split(", ")}
    return found


def declared(thing: FunctionType | type) -> dict[str, tuple[str, str]] | None:
    """Return meaning and unit of each field, where a class declares them in place of a docstring's list."""
    if isinstance(thing, type) and issubclass(thing, Result) and thing is not Result:
        return {name: (each.meaning, each.unit) for name, each in thing.facts().items()}
    if isinstance(thing, type) and issubclass(thing, Frozen):
        extras = {name: each.json_schema_extra for name, each in thing.model_fields.items()}
        units = {name: str(each.get("unit", "")) if isinstance(each, dict) else "" for name, each in extras.items()}
        return {name: (each.description or "", units[name]) for name, each in thing.model_fields.items()}
    return None


def declaration_faults(fields: dict[str, tuple[str, str]]) -> Iterator[str]:
    for name, (meaning, unit) in fields.items():
        promised = UNIT_OF.get(max((end for end in UNIT_OF if name.endswith(end)), key=len, default=""), unit)
        if not meaning or not unit:
            yield f"{name} is not declared with a meaning and a unit"
        elif unit.split()[0] != promised.split()[0]:
            yield f"{name} is declared in {unit!r}, its name promises {promised!r}"


def faults(name: str, thing: FunctionType | type) -> Iterator[str]:
    fields = declared(thing)
    if fields is not None:
        yield from declaration_faults(fields)
        return
    told, title = sections(thing), "Attributes"
    lineage = reversed(thing.__mro__) if isinstance(thing, type) else ()
    named = has = [
        key for each in lineage if each.__module__.startswith("solarsim") for key in inspect.get_annotations(each)
    ]
    if isinstance(thing, FunctionType):
        title, has = "Parameters", [each for each in inspect.signature(thing).parameters if each != "self"]
        named = [*has, name.rpartition(".")[2]]
        if len(told) > 1 and (thing.__annotations__["return"] is None) == bool(told.keys() & {"Returns", "Yields"}):
            yield "Returns does not fit the signature"
        known = tuple(map(KNOWN.__getitem__, told.get("Raises", {})))
        source = ast.walk(ast.parse(textwrap.dedent(inspect.getsource(thing))))
        calls = [node.exc.func for node in source if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call)]
        errors_in = {name for call in calls if (name := ast.unparse(call)).endswith("Error")}
        yield from (f"{error} is not listed under Raises" for error in errors_in if not issubclass(KNOWN[error], known))
    given = list(told.get(title, {}))
    # Attributes may be told in the order of a reader: what a class inherits need not come first.
    if len(told) > 1 and (given != has if title == "Parameters" else not set(given) <= set(has)):
        yield f"tells {given}, has {has}"
    told_units = re.findall(r"(?<!\w)\[([^],\n]+)", " ".join(text for each in told.values() for text in each.values()))
    yield from (f"[{unit}] is no known unit" for unit in told_units if unit not in UNITS)
    general = " ".join([*told[""].values(), *told.get("Returns", {}).values()])
    facts = thing.facts() if isinstance(thing, type) and issubclass(thing, Result) and thing is not Result else {}
    for each in named:
        unit = UNIT_OF.get(max((end for end in UNIT_OF if each.endswith(end)), key=len, default=""), "")
        if each in facts:
            if not facts[each].unit.startswith(unit):
                yield f"{each} is declared in {facts[each].unit}"
        elif unit and f"[{unit}]" not in told.get(title, {}).get(each, general):
            yield f"{each} has no [{unit}]"


@pytest.mark.parametrize("name", sorted(THINGS))
def test_docstring_is_a_contract_that_holds(name: str) -> None:
    assert list(faults(name, THINGS[name])) == []


@pytest.mark.slow
def test_examples_run_and_the_package_has_one() -> None:
    tried = {module: doctest.testmod(import_module(module)) for module in ["solarsim", *MODULES]}
    assert [module for module, each in tried.items() if each.failed] == []
    assert tried["solarsim"].attempted > 0


def test_docstrings_of_functions_begin_as_a_technical_writer_would() -> None:
    """Return, Compute, Read, Build, Check: not Tell, Say, Give, Doubt, Let."""
    odd = []
    for path in Path(solarsim.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            text = (ast.get_docstring(node) or "") if isinstance(node, ast.FunctionDef) else ""
            if text.startswith(("Tell ", "Say ", "Give ", "Doubt ", "Let ", "Live ")):
                odd.append(f"{path.name}: {text.splitlines()[0]}")
    assert odd == []
