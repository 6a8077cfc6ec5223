"""Run the command line: in this process, a second sooner, or as a process of its own.

JSON that is printed in any test is held against the schema of its command.
"""

import contextlib
import io
import json
import subprocess
import sys
from functools import cache
from pathlib import Path

import jsonschema

from solarsim.cli.app import _outcome, app
from solarsim.views.result_schema import schema_of

Done = subprocess.CompletedProcess[str]


def run(*words: str | Path, folder: Path | None = None) -> Done:
    """Run a command in this process, from its words to its exit code."""
    out, err, arguments = io.StringIO(), io.StringIO(), list(map(str, words))
    inside = contextlib.nullcontext() if folder is None else contextlib.chdir(folder)
    with inside, contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = _outcome(lambda: app(arguments, prog_name="solarsim", standalone_mode=False))
    return _checked(subprocess.CompletedProcess(arguments, code, out.getvalue(), err.getvalue()))


def process(*words: str | Path, folder: Path | None = None) -> Done:
    """Run a command as a person would start it."""
    command = [sys.executable, "-m", "solarsim", *map(str, words)]
    done = subprocess.run(command, capture_output=True, encoding="utf-8", check=False, cwd=folder, timeout=120)
    return _checked(subprocess.CompletedProcess(command[3:], done.returncode, done.stdout, done.stderr))


def _checked(done: Done) -> Done:
    """Return what was done; its JSON, where it printed some, must fit the schema of its command."""
    if "--json" in done.args and done.returncode == 0:
        _schema(done.args[0]).validate(json.loads(done.stdout))
    return done


@cache
def _schema(command: str) -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator(schema_of(command))
