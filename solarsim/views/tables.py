"""What the tables of all pages share: names at the left that fold, numbers at the right that are never cut."""

from rich.box import SIMPLE_HEAD
from rich.table import Table


def plain_table(first: str, *numbers: str, name_width: int = 14) -> Table:
    """Begin a table: a column of names, which folds, and columns of numbers, which never do.

    Parameters
    ----------
    first : str
        Heading of the names.
    numbers : str
        Headings of the numbers.
    name_width : int
        Least width of the names.

    Returns
    -------
    rich.table.Table
        Without rows.
    """
    table = Table(box=SIMPLE_HEAD, padding=(0, 0, 0, 1), pad_edge=False)
    table.add_column(first, overflow="fold", min_width=name_width)
    for heading in numbers:
        table.add_column(heading, justify="right", no_wrap=True)
    return table


def whole(value: float) -> str:
    """Write an amount in whole units."""
    return f"{round(value) + 0:,}"
