"""``modules``: look modules up in the module table."""

from typing import Annotated

import typer

from solarsim.cli.terminal import AsJson, present


def modules(
    words: Annotated[list[str], typer.Argument(metavar="WORD", help="Parts of the name; all must match.")],
    json: AsJson = False,
) -> None:
    """Look up modules by parts of their names, for `table_row`."""
    from solarsim.studies.modules import modules as search

    present(search(" ".join(words)), json)
