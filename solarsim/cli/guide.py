"""The guide on the screen; the schema of a scenario for editors, and of what a command prints with --json."""

import shutil
import sys
from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import STANDARD_OUTPUT, Force, show


def guide(
    words: Annotated[
        list[str] | None,
        typer.Argument(metavar="WORD", help="Page, key, column, result or word of the trade.", show_default=False),
    ] = None,
    schema: Annotated[
        Path | None,
        typer.Option(
            "--schema",
            metavar="FILE",
            help="Write a JSON Schema of scenarios to this file, for editors (- for standard output).",
        ),
    ] = None,
    of: Annotated[
        str | None,
        typer.Option(
            "--of", metavar="COMMAND", help="With --schema: the schema of what this command prints with --json instead."
        ),
    ] = None,
    force: Force = False,
) -> None:
    """Explain a key, a column, a result or a word of the trade."""
    if of is not None and schema is None:
        raise typer.BadParameter("--of needs --schema: guide --schema FILE --of compare")
    if schema is not None:
        _write_schema(schema, of, force)
    if schema is None or words:
        from solarsim.views.guide import folded, page

        text = "\n\n".join(page(" ".join(words) if words else None))
        print(folded(text, min(100, shutil.get_terminal_size().columns)) if sys.stdout.isatty() else text)


def _write_schema(file: Path, command: str | None, force: bool) -> None:
    """Write the schema of scenarios, or of what a command prints."""
    from solarsim.scenario.keys import schema_text
    from solarsim.views.files import check_writable, write_whole
    from solarsim.views.result_schema import result_schema_text

    text = schema_text() if command is None else result_schema_text(command)
    if file == STANDARD_OUTPUT:
        print(text, end="")
        return
    check_writable(file, force)
    write_whole(file, text.encode())
    show(f"Written: {file}")
