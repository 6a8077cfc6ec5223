"""A scenario of one's own to start from."""

from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import Force


def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Where to write the scenario.", show_default=False)],
    force: Force = False,
) -> None:
    """Write a scenario of your own to start from."""
    from solarsim.scenario.read import starter_files
    from solarsim.views.files import check_writable, write_all
    from solarsim.views.texts import printable

    starter = {
        each: content
        for each, content in starter_files(file).items()
        if each == file or not (each.is_file() and each.read_bytes() == content)  # a second home beside the first
    }
    for each in starter:
        check_writable(each, force)
    write_all(starter)
    print(printable(f"Written: {', '.join(map(str, starter))}. Change it to your home, then: solarsim compare {file}"))
