"""The pages of the guide: every snippet is valid, every command exists, every Python line runs."""

import re
import shlex
import tomllib
from pathlib import Path
from typing import Any

import pytest

import solarsim
from solarsim.cli.app import app
from solarsim.scenario.read import demo_scenario_path, read_scenario
from solarsim.scenario.strategy import Strategy

PAGES = sorted((Path(solarsim.__file__).parent / "guide").glob("*.md"))
README = Path(__file__).parent.parent.parent / "README.md"
COMMANDS = {each.callback.__name__ for each in app.registered_commands if each.callback}
#: A fragment changes single keys of these tables; any other table it replaces as a whole.
MERGED = ("site", "production", "inverter")


def blocks(kind: str, *paths: Path) -> list[Any]:
    return [
        pytest.param(text, id=f"{path.stem}-{number}")
        for path in paths or (*PAGES, README)
        for number, text in enumerate(re.findall(rf"```{kind}\n(.*?)```", path.read_text(), re.DOTALL), start=1)
    ]


@pytest.mark.parametrize("text", blocks("toml"))
def test_every_snippet_of_a_scenario_is_valid(text: str) -> None:
    """Laid over the demo: whole tables in place of its own."""
    tables, fragment = tomllib.loads(demo_scenario_path().read_text()), tomllib.loads(text)
    tables.pop("wiring")  # it names arrays and modules that a fragment may replace
    for name, table in fragment.items():
        tables[name] = {**tables.get(name, {}), **table} if name in MERGED else table
    scenario = read_scenario(tables, folder=demo_scenario_path().parent)
    assert set(fragment) <= set(scenario.model_fields_set)


@pytest.mark.parametrize("path", [*PAGES, README], ids=lambda path: path.stem)
def test_every_command_and_option_that_is_named_exists(path: Path) -> None:
    from typer.main import get_command

    commands: Any = get_command(app)
    text = path.read_text()
    lines = re.findall(r"`(solarsim [^`]*)`", text)
    for block in re.findall(r"```sh\n(.*?)```", text, re.DOTALL):
        lines += re.findall(r"solarsim [^#\n&|]*", block)
    for line in lines:
        words = shlex.split(line)[1:]
        given = {word for word in words if word.startswith("--")}
        if not words or words[0].startswith("-") or words[0].isupper():
            assert given <= {"--install-completion", "--help", "--version"}, line
            continue
        known = {option for each in commands.commands[words[0]].params for option in each.opts}
        assert given <= known, line


@pytest.mark.parametrize("text", blocks("python"))
def test_python_lines_run(text: str, capsys: pytest.CaptureFixture[str]) -> None:
    exec(compile(text, "<guide>", "exec"), {})  # noqa: S102  # our own page
    assert capsys.readouterr().out


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.stem)
def test_page_begins_with_its_title_and_has_a_plain_name(path: Path) -> None:
    first, second, *_ = path.read_text().splitlines()
    assert re.fullmatch(r"# [A-Z].*", first)
    assert second == ""
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", path.stem)


@pytest.mark.parametrize("command", sorted(COMMANDS - {"new", "guide"}))
def test_command_has_a_section_of_its_own(command: str) -> None:
    heading = re.compile(rf"^## `{command}`: ", re.MULTILINE)
    assert [path.stem for path in PAGES if heading.search(path.read_text())]


def test_every_setting_of_a_strategy_is_explained() -> None:
    page = next(path for path in PAGES if path.stem == "strategies").read_text()
    for name in set(Strategy.model_fields) - {"name", "windows"}:
        assert re.search(rf"^\| [^|]*`{name}`[^|]* \|", page, re.MULTILINE), name


def test_pages_that_are_referred_to_exist() -> None:
    names = {path.stem for path in PAGES}
    for path in [*PAGES, README]:
        for name in re.findall(r"page `([\w-]+)`", path.read_text()):
            assert name in names, (path.stem, name)


#: Lines that need a network or files of the reader's own; the tests of their commands run them with stand-ins.
ELSEWHERE = ("python -m pip install", "solarsim weather --get", "solarsim fleet", "dask ")


@pytest.mark.slow
@pytest.mark.parametrize("text", blocks("sh", *PAGES))
def test_every_shell_line_runs(
    text: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    for line in text.splitlines():
        if line.startswith(ELSEWHERE):
            continue
        program, *words = shlex.split(line, comments=True)
        assert program == "solarsim"
        app(words, standalone_mode=False)
        assert capsys.readouterr().out, line
