"""Run the command line: in this process, a second sooner, or as a process of its own."""

import contextlib
import io
import subprocess
import sys
from pathlib import Path

from solarsim.cli.app import _outcome, app

Done = subprocess.CompletedProcess[str]


def run(*words: str | Path, folder: Path | None = None) -> Done:
    """Run a command in this process, from its words to its exit code."""
    out, err, arguments = io.StringIO(), io.StringIO(), list(map(str, words))
    inside = contextlib.nullcontext() if folder is None else contextlib.chdir(folder)
    with inside, contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = _outcome(lambda: app(arguments, prog_name="solarsim", standalone_mode=False))
    return subprocess.CompletedProcess(arguments, code, out.getvalue(), err.getvalue())


def process(*words: str | Path, folder: Path | None = None) -> Done:
    """Run a command as a person would start it."""
    command = [sys.executable, "-m", "solarsim", *map(str, words)]
    return subprocess.run(command, capture_output=True, encoding="utf-8", check=False, cwd=folder, timeout=120)
