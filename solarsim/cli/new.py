"""``new``: a scenario of one's own from questions, from options, or as a copy of a packaged home."""

import shutil
import sys
import tempfile
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from solarsim.cli.compare import compare
from solarsim.cli.terminal import Force, tell_notes, working
from solarsim.views.texts import printable

if TYPE_CHECKING:
    from solarsim.scenario.model import Scenario
    from solarsim.studies.new import Draft, Fetch

_REQUIRED = "--at, and --kwh or --meter"
_NOT_ASKED = "is not asked after the other answers; leave it out"
_FIRST = ("at", "zone", "weather")  # without them the answers that follow cannot be tried
_LATE_DAYS = 90  # after which a service has all of a year (common practice, no source)
_YEARS = 10  # of fetched weather, from which a typical year is made


def _answer(name: str, what: str) -> Any:
    return typer.Option(f"--{name}", metavar="ANSWER", help=what, show_default=False)


def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Where to write the scenario.", show_default=False)],
    example: Annotated[
        str | None, typer.Option("--example", metavar="NAME", help="Copy a packaged home instead, such as miami.")
    ] = None,
    name: Annotated[str | None, _answer("name", "Name of the home.")] = None,
    at: Annotated[str | None, _answer("at", "Coordinates and elevation: '36.1,-79.95 273 m'.")] = None,
    zone: Annotated[str | None, _answer("zone", "Time zone: America/New_York.")] = None,
    weather: Annotated[str | None, _answer("weather", "nearest, get, a file, or monthly means.")] = None,
    array: Annotated[list[str] | None, _answer("array", "An array: '8.2 kW south 30'; repeatable.")] = None,
    battery: Annotated[str | None, _answer("battery", "Battery: '13.5 kWh lfp indoor', or none.")] = None,
    inverter: Annotated[str | None, _answer("inverter", "Inverter: '6 kW'.")] = None,
    kwh: Annotated[str | None, _answer("kwh", "Energy use [kWh] of a year, or of twelve months: 9400.")] = None,
    meter: Annotated[str | None, _answer("meter", "Meter file, instead of --kwh: 'data.csv clock wall'.")] = None,
    house: Annotated[list[str] | None, _answer("house", "Large appliance: 'car 40 km in bills'; repeatable.")] = None,
    rates: Annotated[list[str] | None, _answer("rates", "Prices: '0.34 16-21 weekdays; 0.12'; repeatable.")] = None,
    charge: Annotated[str | None, _answer("charge", "Customer charge per month: 12.50.")] = None,
    holidays: Annotated[str | None, _answer("holidays", "Holidays of the rate plan: US, or none.")] = None,
    export: Annotated[str | None, _answer("export", "Export price: 0.05, retail, unpaid or 'not allowed'.")] = None,
    offer: Annotated[str | None, _answer("offer", "Price of the system: '18500 with battery 7000'.")] = None,
    outages: Annotated[str | None, _answer("outages", "Outages: '1.4 a year of 5.6 h', or none.")] = None,
    force: Force = False,
) -> None:
    """Write a scenario of your own: from questions, or from options."""
    from solarsim.errors import InputError, ScenarioError
    from solarsim.views.files import check_writable
    from solarsim.views.new import as_options, closing_text

    check_writable(file, force)
    if kwh is not None and meter is not None:
        raise ScenarioError("--kwh and --meter both say what the home uses; keep one of them")
    asked = {
        "name": name, "at": at, "zone": zone, "weather": weather, "array": array, "battery": battery,
        "inverter": inverter, "kwh": kwh or meter, "house": house, "rates": rates, "charge": charge,
        "holidays": holidays, "export": export, "offer": offer, "outages": outages,
    }  # fmt: skip
    given = {key: words if isinstance(words, str) else "; ".join(words) for key, words in asked.items() if words}
    if example is not None:
        if given:
            raise ScenarioError(f"--example copies a home as it is; leave out --{next(iter(given))}")
        _copy(example, file, force)
        return
    with tempfile.TemporaryDirectory(prefix="solarsim-") as folder:
        fetch = _fetching(Path(folder), f"{file.stem}-weather.csv")
        asks = _may_ask(given)
        draft = _from_questions(fetch) if asks else _from_options(given, meter is not None, fetch)
        try:
            _write(_files(draft, file, Path(folder)), file, force)
        except InputError:
            if asks:
                print(f"The answers as options:\n{as_options(draft.answers, file)}")
            raise
    compare(file)
    _say(closing_text(draft.answers, file), "")


def _may_ask(given: Mapping[str, str]) -> bool:
    return not given and sys.stdin.isatty() and sys.stdout.isatty()


def _copy(example: str, file: Path, force: bool) -> None:
    """Copy a packaged home with the files that it names."""
    from solarsim.scenario.copies import copy_of, example_named

    _write(copy_of(example_named(example), file), file, force)
    print(printable(f"Change it to your home, then: solarsim compare {file}"))


def _files(draft: "Draft", file: Path, fetched: Path) -> Mapping[Path, bytes]:
    from solarsim.studies.new import files_of

    return files_of(draft, file, fetched)


def _write(files: Mapping[Path, bytes], file: Path, force: bool) -> None:
    """Write all files or none; those that are there already with the same content stay as they are."""
    from solarsim.views.files import changed_files, write_all

    changed = changed_files(files, file, force)
    write_all(changed)
    print(printable(f"Written: {', '.join(map(str, changed))}."))


def _fetching(folder: Path, name: str) -> "Fetch":
    """Return the function that fetches weather for a home into a folder; it returns the table with whole paths."""

    def fetch(home: "Scenario") -> Mapping[str, Any]:
        from solarsim.scenario.questions.question import place_of
        from solarsim.studies.weather_get import weather_get
        from solarsim.views.files import write_all
        from solarsim.views.weather_get import weather_files, weather_table

        latitude_deg, longitude_deg, elevation_m = place_of(home.tables) or (0.0, 0.0, None)
        last = last_whole_year()
        with working("fetching weather from NASA POWER") as now:
            result = weather_get(
                "nasa-power", latitude_deg, longitude_deg, last - _YEARS + 1, last, typical=True,
                time_zone=home.site.time_zone, elevation_m=elevation_m, told=now.say,
            )  # fmt: skip
        write_all(weather_files(result, folder / name))
        tell_notes(result.notes)
        table = weather_table(result, folder / name)
        others = [str(folder / each) for each in table.get("other_files", ())]
        return {**table, "file": str(folder / table["file"])} | ({"other_files": others} if others else {})

    return fetch


def last_whole_year() -> int:
    """Return the last calendar year of which services have every hour."""
    return (datetime.now(UTC) - timedelta(days=_LATE_DAYS)).year - 1


def _first_draft() -> "Draft":
    from solarsim.scenario.questions.question import Setting
    from solarsim.studies.new import Draft

    return Draft(Setting(Path.cwd(), datetime.now(UTC).year))


def _from_options(given: Mapping[str, str], meter: bool, fetch: "Fetch") -> "Draft":
    """Return the answers that options give, else those that are offered; all wrong ones are refused together."""
    from solarsim.errors import InputError, ScenarioError
    from solarsim.studies.new import answered
    from solarsim.views.new import answers_text

    if not given:
        raise ScenarioError(
            f"questions need a terminal: answer with options ({_REQUIRED} are required), or copy a packaged home"
            " with --example NAME"
        )
    missing = [each for each in ("at", "kwh") if each not in given]
    if missing:
        raise ScenarioError(f"--{missing[0]} is missing: {_REQUIRED} are required; all other questions have defaults")
    draft, problems = _first_draft(), list[str]()
    while len(draft.answers) < len(draft.asked):
        name = draft.asked[len(draft.answers)]
        option = "--meter" if meter and name == "kwh" else f"--{name}"
        try:
            draft, _ = answered(draft, name, given.get(name) or draft.default(name), fetch)
        except InputError as error:
            problems += [f"{option}: {problem}" for problem in error.problems]
            if name in _FIRST:
                break
            draft = draft.with_default(name)
    if not problems:
        problems = [f"--{each}: {_NOT_ASKED}" for each in given if each not in draft.answers]
    if problems:
        raise ScenarioError(*problems)
    print(printable(answers_text(draft.answers, list(given))))
    return draft


def _from_questions(fetch: "Fetch") -> "Draft":
    """Ask one question after the other until all are answered; "back" returns to the one before."""
    drafts, earlier = [_first_draft()], dict[str, str]()
    print(
        "Press Enter to accept the default in brackets. Type ? for help, back for the\n"
        "previous question. Ctrl-C quits without writing anything."
    )
    while len(drafts) <= len(drafts[-1].asked):
        draft, number = drafts[-1], len(drafts)
        name = draft.asked[number - 1]
        offered = draft.default(name)
        words = _ask(name, number, len(draft.asked), earlier.get(name) or offered)
        if words == "back":
            drafts = drafts[:-1] if number > 1 else drafts
            continue
        found = _accepted(draft, name, words, fetch)
        if found is not None:
            earlier |= {name: words} if words != offered else {}  # what was only accepted follows the answers before it
            drafts.append(found)
    return drafts[-1]


def _ask(name: str, number: int, count: int, offered: str) -> str:
    """Show one question and return the words of its answer; "?" shows its help and asks again."""
    from solarsim.views.new import help_text, question_text

    width = shutil.get_terminal_size().columns
    print("\n" + printable(question_text(name, number, count, width)))
    while (words := str(typer.prompt(f"  {name}", default=offered)).strip()) == "?":
        print(printable(help_text(name, width)))
    return words


def _accepted(draft: "Draft", name: str, words: str, fetch: "Fetch") -> "Draft | None":
    """Return the draft with an answer, after showing what was understood and found; None where it is refused."""
    from solarsim.errors import InputError
    from solarsim.studies.new import answered

    try:
        found, notes = answered(draft, name, words, fetch)
    except InputError as error:
        for problem in error.problems:
            _say(f"Not accepted: {problem}")
        return None
    if found.answers[name] != words:
        _say(f"Understood: {found.answers[name]}")
    for note in notes:
        _say(note)
    return found


def _say(text: str, indent: str = "  ") -> None:
    """Print a paragraph that fits the terminal."""
    from solarsim.views.new import wrapped

    print(printable(wrapped(text, shutil.get_terminal_size().columns, indent)))
