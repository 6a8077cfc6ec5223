"""The picture of any result: a result in, its figure or a picture file's bytes out; colors that all pictures share."""

import io
import logging
import os
import re
import warnings
from functools import cache
from importlib import import_module
from inspect import get_annotations
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Any

from solarsim.folders import own_folder, writable
from solarsim.results import Result
from solarsim.views.files import check_picture_name
from solarsim.views.texts import MONTHS, printable

if TYPE_CHECKING:  # a command without --plot need not load it
    import numpy as np
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.image import AxesImage
    from numpy.typing import NDArray

    from solarsim.clock.timeline import Timeline

# Okabe & Ito, "Color Universal Design" (2008): told apart by color-blind eyes.
ORANGE, SKY, GREEN, YELLOW, BLUE, VERMILION, PURPLE, BLACK = (
    "#E69F00",
    "#56B4E9",
    "#009E73",
    "#F0E442",
    "#0072B2",
    "#D55E00",
    "#CC79A7",
    "#000000",
)
#: For the lines of one panel, in this order: each differs from the others in grey, too.
LINE_COLORS = (BLUE, VERMILION, GREEN, BLACK, ORANGE, PURPLE, SKY)
LINE_STYLES = ("-", "--", ":", "-.", (0, (6, 1, 1, 1, 1, 1)), (0, (3, 3)), (0, (1, 3)))
_DPI = 110  # of a PNG, as it was drawn
#: The most that a picture is in print: Letter (11 x 8.5 in) and A4 (11.7 x 8.3 in) less half an inch at each side.
_PAGE_IN = (10.0, 7.25)


def figure(result: Result, **options: Any) -> "Figure":
    """Draw a result.

    Parameters
    ----------
    result : Result
        What a study returned.
    options
        As the ``figure`` of the result's view has them: most have none.

    Returns
    -------
    matplotlib.figure.Figure
        To be shown in a notebook, or saved with its ``savefig``.

    Raises
    ------
    TypeError
        Results of this kind have no picture.

    Examples
    --------
    >>> import solarsim
    >>> drawn = solarsim.figure(solarsim.load_year(solarsim.read_scenario()))
    >>> [panel.get_ylabel() for panel in drawn.axes]
    ['hour of the day', 'mean load, kW', 'load, kW']
    """
    draw = getattr(view_of(result), "figure", None)
    if draw is None:
        raise TypeError(f"{type(result).__name__}: has no figure")
    _keep_fonts()
    from matplotlib import rc_context

    with rc_context({"text.parse_math": False}):  # a name with two dollars is no formula
        drawn: Figure = draw(result, **options)
    return drawn


def view_of(result: Result) -> ModuleType:
    """Return the view of a result: the module of ``views`` with the name of the study that it came from.

    Parameters
    ----------
    result : Result
        What a study returned.

    Returns
    -------
    module
        With ``page``, and ``figure`` and ``csv`` where there is such.

    Raises
    ------
    TypeError
        No study returns such a thing.
    """
    place = type(result).__module__.split(".")
    if place[:2] != ["solarsim", "studies"]:
        raise TypeError(f"{type(result).__name__}: is not the result of a study")
    view = import_module(f"solarsim.views.{place[2]}")
    if not isinstance(result, get_annotations(view.page)["result"]):
        raise TypeError(f"{type(result).__name__}: is a part of a result; only the whole has a page and a figure")
    return view


def new_figure(width_in: float, height_in: float, title: str) -> "Figure":
    """Return an empty figure with a title, without a window and outside the state of pyplot.

    Parameters
    ----------
    width_in, height_in : float
        Its size in inches.
    title : str
        Above all panels.

    Returns
    -------
    matplotlib.figure.Figure
        Without panels; they share the space out by themselves.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    empty = _shown_figure()(figsize=(width_in, height_in), layout="constrained")
    FigureCanvasAgg(empty)
    empty.suptitle(printable(title), fontsize=13)
    return empty


@cache
def _shown_figure() -> type["Figure"]:
    """Return a class of figures that a notebook shows by itself: it knows the figures of pyplot only."""
    from matplotlib.figure import Figure

    class ShownFigure(Figure):
        def _repr_png_(self) -> bytes:
            return figure_bytes(self, Path("shown.png"))

    return ShownFigure


def _keep_fonts() -> None:
    """Choose where matplotlib keeps its list of fonts, and silence it where it finds no place."""
    homes = (Path(os.environ.get(f"XDG_{kind}_HOME") or f"~/.{kind.lower()}") for kind in ("CONFIG", "CACHE"))
    folder = own_folder() if not all(writable(home.expanduser()) for home in homes) else None
    if folder is not None:
        os.environ.setdefault("MPLCONFIGDIR", str(folder / "matplotlib"))
    logging.getLogger("matplotlib").setLevel(logging.ERROR)


def plain_panel(panel: "Axes", grid: str = "both") -> None:
    """Draw a panel's thin grid and leave its upper and right edge away.

    Parameters
    ----------
    panel : matplotlib.axes.Axes
        Any.
    grid : str
        ``x``, ``y`` or ``both``.
    """
    panel.grid(axis=grid, linewidth=0.3, alpha=0.5)  # type: ignore[arg-type]
    panel.set_axisbelow(True)
    panel.spines[["top", "right"]].set_visible(False)


def draw_year_map(
    panel: "Axes", timeline: "Timeline", values: "NDArray[np.float64]", label: str, extend: bool = False
) -> "AxesImage":
    """Draw values over the year: days from left to right, hours of the wall clock upward; light is more, in grey, too.

    Parameters
    ----------
    panel : matplotlib.axes.Axes
        Empty.
    timeline : Timeline
        The steps.
    values : array of float
        One for each step.
    label : str
        What the color bar shows, with its unit.
    extend : bool
        End the scale at what 1 hour in 200 exceeds, so that one rare peak does not turn all others dark.

    Returns
    -------
    matplotlib.image.AxesImage
        In the panel.
    """
    import numpy as np

    by_hour = timeline.by_hour_and_day(values)
    top = float(np.nanpercentile(by_hour, 99.5)) or 1.0 if extend else None
    image = panel.imshow(
        by_hour, aspect="auto", origin="lower", extent=(0, 365, 0, 24), cmap="cividis", interpolation="nearest",
        vmin=0.0 if extend else None, vmax=top,
    )  # fmt: skip
    bar = panel.figure.colorbar(image, ax=panel, label=label, extend="max" if extend else "neither", pad=0.01)
    bar.outline.set_visible(False)
    firsts = [int(timeline.day_of_year[timeline.month == month].min()) for month in range(1, 13)]
    panel.set_xticks(firsts, MONTHS, ha="left")
    panel.set_yticks(range(0, 25, 3))
    panel.set_ylabel("hour of the day")
    return image


def figure_bytes(drawn: "Figure", path: Path) -> bytes:
    """Render a figure in the format of a file's suffix.

    Parameters
    ----------
    drawn : matplotlib.figure.Figure
        Any.
    path : pathlib.Path
        Its suffix names the format: png, svg or pdf.

    Returns
    -------
    bytes
        The file's content; in print it fits a page of Letter or A4, with its fonts in it.

    Raises
    ------
    OutputError
        The suffix is no format that we write.
    """
    from matplotlib import rc_context

    check_picture_name(path)
    form, scale = path.suffix[1:].lower(), _page_scale(*drawn.get_size_inches())
    printed: dict[str, Any] = {"pil_kwargs": {"dpi": (_DPI / scale, _DPI / scale)}} if form == "png" else {}
    buffer = io.BytesIO()
    # TrueType: sharp at any size, and searchable. An SVG keeps its letters as shapes: no reader must have the font.
    with rc_context({"pdf.fonttype": 42, "svg.fonttype": "path"}), warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Glyph .* missing from")  # a name in another script: drawn as boxes
        logging.getLogger("fontTools").setLevel(logging.ERROR)  # it reports each table of a font that it leaves out
        drawn.savefig(buffer, format=form, dpi=_DPI, **printed)
    content = buffer.getvalue()
    return {"png": _as_is, "svg": _svg_scaled, "pdf": _pdf_scaled}[form](content, scale)


def _page_scale(width_in: float, height_in: float) -> float:
    """Return the factor, at most 1, that lets a figure fit a page: landscape or, where that is larger, portrait."""
    long_in, short_in = _PAGE_IN
    landscape = min(long_in / width_in, short_in / height_in)
    portrait = min(short_in / width_in, long_in / height_in)
    return min(1.0, max(landscape, portrait))


def _as_is(content: bytes, _: float) -> bytes:
    """Return a picture whose size in print is in it already."""
    return content


def _svg_scaled(content: bytes, scale: float) -> bytes:
    """Return an SVG of another size: the numbers of its drawing stay, its view box maps them."""
    head, svg, body = content.partition(b"<svg ")

    def scaled(found: re.Match[bytes]) -> bytes:
        return b'%s="%.2fpt"' % (found[1], float(found[2]) * scale)

    return head + svg + re.sub(rb'(width|height)="([\d.]+)pt"', scaled, body, count=2)


def _pdf_scaled(content: bytes, scale: float) -> bytes:
    """Return a PDF whose one page is of another size."""
    from pypdf import PdfReader, PdfWriter

    drawn = PdfReader(io.BytesIO(content))
    whole, scaled = PdfWriter(clone_from=drawn), io.BytesIO()
    whole.pdf_header = drawn.pdf_header  # an older one knows no transparency
    whole.pages[0].scale_by(scale)
    whole.pages[0].compress_content_streams()
    whole.write(scaled)
    return scaled.getvalue()
