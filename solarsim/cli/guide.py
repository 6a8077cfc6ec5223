"""The guide on the screen, and the schema of a scenario for editors."""

from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import Force, show


def guide(
    words: Annotated[
        list[str] | None,
        typer.Argument(metavar="WORD", help="Page, key, column, result or word of the trade.", show_default=False),
    ] = None,
    schema: Annotated[
        Path | None,
        typer.Option("--schema", metavar="FILE", help="Write a JSON Schema of scenarios to this file, for editors."),
    ] = None,
    force: Force = False,
) -> None:
    """Explain a key, a column, a result or a word of the trade."""
    if schema is not None:
        from solarsim.scenario.keys import schema_text
        from solarsim.views.files import check_writable, write_whole

        check_writable(schema, force)
        write_whole(schema, schema_text().encode())
        show(f"Written: {schema}")
    if schema is None or words:
        from solarsim.views.guide import page

        print("\n\n".join(page(" ".join(words) if words else None)))
