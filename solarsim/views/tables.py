"""What the tables of all pages share: names at the left that fold, numbers at the right that are never cut."""

from dataclasses import dataclass

from rich.box import SIMPLE_HEAD
from rich.console import Console, ConsoleOptions, RenderResult
from rich.measure import Measurement
from rich.table import Table

_ANY_WIDTH = 10_000


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


@dataclass(frozen=True)
class OneOrMore:
    """A table where it fits the screen; elsewhere its columns in several narrower tables.

    Attributes
    ----------
    whole : rich.table.Table
        All columns.
    parts : tuple of rich.table.Table
        The same columns, one below the other.
    """

    whole: Table
    parts: tuple[Table, ...]

    def fitting(self, console: Console, width: int) -> tuple[Table, ...]:
        """Return the tables to show.

        Parameters
        ----------
        console : rich.console.Console
            Where they are shown.
        width : int
            Its columns.

        Returns
        -------
        tuple of rich.table.Table
            The whole, or the parts.
        """
        return (self.whole,) if least_width(console, self.whole) <= width else self.parts

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        yield from self.fitting(console, options.max_width)


def least_width(console: Console, shown: Table | OneOrMore) -> int:
    """Return the columns that a table needs at least.

    Parameters
    ----------
    console : rich.console.Console
        Where it is shown.
    shown : rich.table.Table or OneOrMore
        Of several parts the widest counts.

    Returns
    -------
    int
        Names folded, numbers in full.
    """
    tables = shown.parts if isinstance(shown, OneOrMore) else (shown,)
    return max(_least_width(console, each) for each in tables)


def _least_width(console: Console, table: Table) -> int:
    """Return the least width of one table: only columns that fold can be narrower than they are (rich folds all)."""
    options = console.options.update(width=_ANY_WIDTH)
    spare = 0
    for column in (each for each in table.columns if not each.no_wrap):
        cells = [Measurement.get(console, options, cell) for cell in (column.header, *column.cells)]
        least = column.min_width or 0
        spare += max(least, *(each.maximum for each in cells)) - max(least, *(each.minimum for each in cells))
    return Measurement.get(console, options, table).maximum - spare
