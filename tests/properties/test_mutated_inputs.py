"""Whatever is written in a scenario, it is run or refused: no internal error, no NaN, no hang, and the key is named."""

import contextlib
import io
import re
import signal
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from solarsim.cli.app import _outcome
from solarsim.home import home_from
from solarsim.scenario.keys import all_keys
from solarsim.scenario.read import changes_from, packaged_folder, read_scenario
from solarsim.studies.compare.compare import compare
from solarsim.studies.size.homes import Homes
from solarsim.views.json_text import to_json
from tests.mutations import Mutant, mutants

SCENARIOS = packaged_folder("scenarios")
TEXTS = {
    path.stem: path.read_text().replace('"../weather_samples/', f'"{packaged_folder("weather_samples")}/')
    for path in sorted(SCENARIOS.glob("*.toml"))
}
PATHS = [key.path for key in all_keys() if key.unit != "table"]
WORDS = {word for key in all_keys() for word in key.path.split(".")} - {"*"}
LINE = re.compile(r"\bline \d+")
MOST_CPU_S = 20.0  # of one input; a busy machine takes longer by the clock, not by its processor


@contextlib.contextmanager
def no_hang() -> Iterator[None]:
    """Raise where an input takes the processor for longer than any does."""

    def stop(*_: object) -> None:
        raise TimeoutError("hangs")

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, MOST_CPU_S)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)


class Trial:
    """Runs mutants as the command line does: read, change, simulate every strategy, print JSON."""

    def __init__(self, folder: Path, every: int) -> None:
        self.folder, self.every = folder, every
        self.homes: dict[str, Homes] = {}
        self.codes: Counter[int] = Counter()
        self.wrong: list[str] = []
        self.unnamed: list[str] = []
        self.accepted = 0

    def run(self, name: str, mutant: Mutant) -> None:
        """Run one, and count how it ended; of the accepted, one in so many is simulated."""
        path = self.folder / "home.toml"
        path.write_bytes(mutant.text.encode("utf-8", "surrogatepass"))

        def command() -> None:
            scenario = read_scenario(path, changes=changes_from(mutant.changes))
            self.accepted += 1
            if self.accepted % self.every == 0:
                if name not in self.homes:  # weather, sun and load are shared by all mutants that leave them alone
                    self.homes[name] = Homes(home_from(read_scenario(TEXTS[name], folder=SCENARIOS)))
                print(to_json(compare(scenario, self.homes[name].of(scenario)).record()))

        out, err = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), no_hang():
            code = _outcome(command)
        told = err.getvalue()
        self.codes[code] += 1
        what = f"{name}, {mutant.kind}, {mutant.key} {mutant.changes}: {told[:300]}"
        if code not in (0, 2) or "Traceback" in told or re.search(r"\b(NaN|Infinity)\b", out.getvalue()):
            self.wrong.append(what)
        if code == 2 and not names_the_place(told.replace(str(path), ""), mutant):
            self.unnamed.append(what)


def names_the_place(told: str, mutant: Mutant) -> bool:
    """Return whether a message names the line, or the key that was touched; any key where that was not one."""
    if LINE.search(told):
        return True
    if mutant.key:
        parts = (mutant.key, *re.findall(r"\w+", "".join(mutant.changes).partition("=")[0]))
        return any(part.lower() in told for part in parts)
    problem = told.partition("; a number has")[0]
    return any(re.search(rf"\b{word}\b", problem) for word in WORDS)


def assert_told(trial: Trial, count: int) -> None:
    assert trial.wrong == []
    assert sum(trial.codes.values()) == count
    assert trial.codes[2] > count / 3, "most mutants must be broken"
    assert trial.codes[0] > count / 10, "some mutants must run"
    assert len(trial.unnamed) <= 0.01 * trial.codes[2], trial.unnamed[:20]


def test_500_mutants_run_or_are_refused_by_key(tmp_path: Path) -> None:
    trial = Trial(tmp_path, every=40)
    some = {name: TEXTS[name] for name in ("greensboro", "ridge_farm", "storm_coast")}
    for name, mutant in mutants(some, PATHS, seed=11, count=500):
        trial.run(name, mutant)
    assert_told(trial, 500)


def test_changes_that_remove_tables_meet_broken_files_without_an_internal_error(tmp_path: Path) -> None:
    """Changes are made to tables as they are written, before anything is checked."""
    trial = Trial(tmp_path, every=10_000)
    removals = (
        "battery=none",
        "system=none",
        "battery.bank.0.strings=0",
        "arrays.0.strings=0",
        "costs=none",
        "life=none",
    )
    for name, mutant in mutants(TEXTS, PATHS, seed=5, count=50):
        for removal in removals:
            trial.run(name, mutant._replace(changes=(removal,)))
    assert trial.wrong == []
    assert min(trial.codes[0], trial.codes[2]) > 50


@pytest.mark.slow
def test_10000_mutants_run_or_are_refused_by_key(tmp_path: Path) -> None:
    began = time.process_time()
    trial = Trial(tmp_path, every=8)
    for name, mutant in mutants(TEXTS, PATHS, seed=2026, count=10_000):
        trial.run(name, mutant)
    assert_told(trial, 10_000)
    assert time.process_time() - began < 600.0
