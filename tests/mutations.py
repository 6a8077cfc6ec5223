"""Scenarios as people break them: a seeded stream of texts and of ``--set`` values, each with what it touched."""

import re
from collections.abc import Callable, Iterator
from random import Random
from typing import NamedTuple

_NUMBER = re.compile(r"(?<![\w.\"'-])-?\d+(?:\.\d+)?(?![\w.:\"'-])")
_KEY = re.compile(r"(?<![\w\"'-])([a-z0-9][a-z0-9_-]*)(?= = )")
_ODD_NUMBERS = (
    "0", "-1", "-0.0", "1", "2", "1e12", "-1e12", "1e308", "-1e308", "1e400", "1e-320", "nan", "inf", "-inf", "1_000",
    "0x1F", "9" * 30, "9" * 5000, "0.5", "100", "360", "12.7",
)  # fmt: skip
_FACTORS = (10.0, 100.0, 1000.0, 1e6, 0.1, 0.01, 0.001, -1.0)
_ODD_VALUES = (
    "true", "false", '""', '"x"', '"none"', '"\\u0000"', '"' + "long " * 300 + '"', "[]", "{}", "[[]]", "{ x = 1 }",
    "2026-02-30", "2026-07-04", "2026-07-04T18:00:00", "07:32:00", "'", '"', "none", "[1, 2, 3]", "nan", "1e400",
    "\U0001f600", "٣", "= 3", "[1, 'a']", '["a", "a"]', "{ name = 1 }",
)  # fmt: skip


class Mutant(NamedTuple):
    """A broken input: the text, changes for ``--set``, and the key that was touched; empty where it is not one key."""

    kind: str
    text: str
    changes: tuple[str, ...]
    key: str


def mutants(texts: dict[str, str], paths: list[str], seed: int, count: int) -> Iterator[tuple[str, Mutant]]:
    """Yield so many mutants of these texts by name; ``paths`` are the dotted keys that ``--set`` may meet."""
    random, names = Random(seed), sorted(texts)  # noqa: S311  # the same draws each time, no secret
    kinds: list[Callable[[Random, str], Mutant | None]] = [
        _number, _number, _number, _number, _value, _value, _misspelled, _line_gone, _line_twice, _lines_swapped,
        _tables_swapped, _table_gone, _table_twice, _character, _cut,
        lambda random, text: _set(random, text, paths), lambda random, text: _set(random, text, paths),
    ]  # fmt: skip
    made = 0
    while made < count:
        name = random.choice(names)
        mutant = random.choice(kinds)(random, texts[name])
        if mutant is not None:
            made += 1
            yield name, mutant


def _number(random: Random, text: str) -> Mutant | None:
    places = [
        each for each in _NUMBER.finditer(text) if "#" not in text[text.rfind("\n", 0, each.start()) : each.start()]
    ]
    place = random.choice(places)
    value = float(place[0])
    new = random.choice(_ODD_NUMBERS) if random.random() < 0.5 else f"{value * random.choice(_FACTORS):.12g}"
    return Mutant("number", text[: place.start()] + new + text[place.end() :], (), _key_before(text, place.start()))


def _value(random: Random, text: str) -> Mutant | None:
    place = random.choice(list(re.finditer(r"(?m)^(\w+) = (.*)$", text)))
    new = random.choice(_ODD_VALUES)
    return Mutant("value", text[: place.start(2)] + new + text[place.end(2) :], (), place[1])


def _misspelled(random: Random, text: str) -> Mutant | None:
    place = random.choice(list(_KEY.finditer(text)))
    word = place[1]
    at = random.randrange(len(word))
    new = random.choice(
        (word[:at] + word[at + 1 :], word[:at] + word[at] * 2 + word[at + 1 :], word.upper(), f"{word}s")
    )
    return Mutant("misspelled", text[: place.start()] + new + text[place.end() :], (), new)


def _line_gone(random: Random, text: str) -> Mutant | None:
    lines = text.splitlines()
    at = random.randrange(len(lines))
    return Mutant("line gone", "\n".join(lines[:at] + lines[at + 1 :]), (), "")


def _line_twice(random: Random, text: str) -> Mutant | None:
    lines = text.splitlines()
    at, to = random.randrange(len(lines)), random.randrange(len(lines))
    return Mutant("line twice", "\n".join([*lines[:to], lines[at], *lines[to:]]), (), "")


def _lines_swapped(random: Random, text: str) -> Mutant | None:
    lines = text.splitlines()
    one, other = random.randrange(len(lines)), random.randrange(len(lines))
    lines[one], lines[other] = lines[other], lines[one]
    return Mutant("lines swapped", "\n".join(lines), (), "")


def _tables(text: str) -> list[str]:
    return re.split(r"(?m)^(?=\[)", text)


def _tables_swapped(random: Random, text: str) -> Mutant | None:
    tables = _tables(text)
    one, other = random.randrange(1, len(tables)), random.randrange(1, len(tables))
    heads = [each.partition("\n") for each in tables]
    tables[one] = heads[other][0] + "\n" + heads[one][2]
    tables[other] = heads[one][0] + "\n" + heads[other][2]
    return Mutant("tables swapped", "".join(tables), (), "")


def _table_gone(random: Random, text: str) -> Mutant | None:
    tables = _tables(text)
    at = random.randrange(1, len(tables))
    return Mutant("table gone", "".join(tables[:at] + tables[at + 1 :]), (), "")


def _table_twice(random: Random, text: str) -> Mutant | None:
    tables = _tables(text)
    at = random.randrange(1, len(tables))
    return Mutant("table twice", "".join([*tables[: at + 1], tables[at], *tables[at + 1 :]]), (), "")


def _character(random: Random, text: str) -> Mutant | None:
    at = random.randrange(len(text))
    new = random.choice(("", "", '"', "=", "[", "]", ",", ".", "\t", "\x00", "\x1b", "é", "\n", "-", "9", "e", "#"))
    return Mutant("character", text[:at] + new + text[at + 1 :], (), "")


def _cut(random: Random, text: str) -> Mutant | None:
    return Mutant("cut", text[: random.randrange(len(text))], (), "")


def _set(random: Random, text: str, paths: list[str]) -> Mutant | None:
    path = random.choice(paths).replace("*", random.choice(("0", "0", "1", "*")))
    new = random.choice((*_ODD_NUMBERS, *_ODD_VALUES))
    if random.random() < 0.1:
        path = random.choice((path[:-1], f"{path}.x", f'"{path}"', path.upper(), "", "=", f"{path} ", f"{path}.0"))
    return Mutant("set", text, (f"{path}={new}",), path.rpartition(".")[2].strip(' "'))


def _key_before(text: str, place: int) -> str:
    keys = list(_KEY.finditer(text, 0, place))
    return keys[-1][1] if keys else ""
