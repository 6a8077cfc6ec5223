"""``modules``: look modules up in the module table."""

from typing import Annotated

import typer

from solarsim.cli.terminal import AsJson, present


def modules(
    words: Annotated[
        list[str], typer.Argument(metavar="WORDS...", help="Parts of the name; all of them must be in it.")
    ],
    json: AsJson = False,
) -> None:
    """Look modules up in the module table, for `table_row` in a scenario."""
    from solarsim.studies.modules import modules as search

    present(search(" ".join(words)), json)
