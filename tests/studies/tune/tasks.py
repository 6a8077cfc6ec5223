"""A small home to tune, and random tables of it."""

from functools import cache
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any

import tomlkit

from solarsim.home import Home, home_from
from solarsim.scenario.model import Scenario
from solarsim.scenario.programmable import Programmable
from solarsim.scenario.read import read_scenario
from solarsim.studies.tune._problem import Asked, machine_of, moves_of, plain_settings, plain_strategy
from solarsim.studies.tune._reference import Reference, reference_of
from solarsim.studies.tune._score import Scorer
from solarsim.studies.tune._search import Search
from solarsim.studies.tune._table import Table, calendar_of
from solarsim.studies.tune.tune import Tuned, tune
from tests.builders import scenario

EVENING = {
    "name": "evening",
    "import_price": 0.40,
    "windows": [{"months": [1, 2, 3, 10, 11, 12], "days": ["weekday"], "from": "17:00", "to": "21:00"}],
}
NIGHT = {"name": "night", "import_price": 0.10, "windows": [{"from": "23:00", "to": "06:00"}]}
DAY = {"name": "day", "import_price": 0.20}
HOLIDAYS = {"country": "US", "observed": False, "names": ["Independence Day", "Labor Day", "Christmas Day"]}


def evening_home(**changes: Any) -> Scenario:
    """Return the plain home with an expensive winter evening, cheap nights and little export pay."""
    rates = {"rates": [EVENING, NIGHT, DAY], "export": {"pay": "flat", "price": 0.03}}
    plan = {"name": "evenings", "currency": "USD", "customer_charge_per_month": 10.0, **rates}
    return scenario(rate_plan=plan, **{"site__holidays": HOLIDAYS, **changes})


def evening_file(folder: Path) -> Path:
    """Write it to a file."""
    file = folder / "home.toml"
    file.write_text("# kept\n" + tomlkit.dumps(evening_home().tables))
    return file


@cache
def reference(wear: float = 0.0) -> Reference:
    """Return what tables of it are measured against."""
    home = home_from(evening_home())
    return reference_of(home, plain_strategy(home.scenario, None), Asked(wear=wear))


def search_of(
    found: Reference, asked: Asked | None = None, line_price: float = 1.0, menu: Programmable | None = None
) -> Search:
    """Return a search with nothing found yet, within the home's menu or another one."""
    asked = asked or Asked(runs=500)
    home: Home = found.home
    machine = menu or machine_of(home.scenario)
    calendar = calendar_of(home.timeline, home.rate_plan, asked.holidays)
    scorer = Scorer(home, calendar, found.plain, machine, found.wear_price, found.allowed_kwh)
    moves = moves_of(home, found.plain, machine, calendar, asked)
    return Search(scorer, moves, line_price, asked.runs, asked.seed)


def random_tables(search: Search, plain: Table | None, count: int, seed: int = 1) -> list[Table]:
    """Return tables of a random walk, each legal; every fourth step begins anew."""
    rng = Random(seed)  # noqa: S311
    found: list[Table] = []
    start = plain or Table((), plain_settings(search.scorer.like), ())
    now = start
    while len(found) < count:
        table = search.moves.random(now, rng)
        if search.scorer.cells(table) is not None and len(table.rules) <= search.moves.rules:
            now = table
            if all(search.scorer.holds(table)):
                found.append(table)
    return found


def random_menu(seed: int) -> dict[str, Any]:
    """Return what an inverter may accept, as in its table."""
    rng = Random(seed)  # noqa: S311
    return {
        "slots": rng.choice((1, 2, 3, 4, 6)),
        "fill_day": rng.random() < 0.5,
        "days_of_week": rng.random() < 0.4,
        "seasons": rng.choice((1, 2, 4)),
        "reserve_in_slots": rng.random() < 0.5,
        "level_step": rng.choice((0.01, 0.05, 0.1)),
    }


@cache
def evening_tuned() -> Tuned:
    """Return its tuned settings, from few runs."""
    with TemporaryDirectory() as folder:
        return tune(read_scenario(evening_file(Path(folder))), wear=0.0, runs=250)
