"""The screen: text and tables in, lines of a terminal or a pipe out, whatever the names in them hold."""

from collections.abc import Iterable

from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment
from rich.table import Table

from solarsim.views.tables import OneOrMore, least_width
from solarsim.views.texts import printable

_WIDEST = 100


class Screen(Console):
    """Standard output, at most 100 columns wide; what comes from files cannot move or recolor a terminal."""

    def __init__(self) -> None:
        super().__init__(highlight=False, markup=False, emoji=False, soft_wrap=False)
        self.width = min(_WIDEST, self.width) if self.is_terminal else _WIDEST

    def render(self, renderable: RenderableType, options: ConsoleOptions | None = None) -> Iterable[Segment]:
        """Render as rich does; its own control codes are not text."""
        for segment in super().render(renderable, options):
            yield segment if segment.control else segment._replace(text=printable(segment.text))

    def show(self, *parts: RenderableType) -> None:
        """Print text and tables.

        Parameters
        ----------
        parts : renderable
            A table is never cut.
        """
        width = self.width
        for part in parts:
            # A number that is cut off reads as a smaller one: a table wraps before it is cut. Rich prints no wider than
            # the console is.
            self.width = max(width, least_width(self, part) if isinstance(part, (Table, OneOrMore)) else 0)
            self.print(part, crop=False, no_wrap=None)
            self.width = width
