"""The figure of any result."""

import io
from dataclasses import dataclass
from pathlib import Path

import pytest
from defusedxml import ElementTree
from PIL import Image
from pypdf import PdfReader

import solarsim
from solarsim.errors import OutputError
from solarsim.results import Result, fact
from solarsim.studies.load import load_year
from solarsim.studies.modules import modules
from solarsim.views import load as load_view
from solarsim.views.figure import LINE_COLORS, LINE_STYLES, figure_bytes, new_figure, view_of
from tests.builders import scenario


@dataclass(frozen=True, eq=False, repr=False)
class _Foreign(Result):
    name: str = fact("name", "text")


def test_a_result_is_drawn_by_the_view_of_its_study() -> None:
    year = load_year(scenario())
    assert view_of(year) is load_view
    assert solarsim.figure(year).get_suptitle().startswith("plain home: load of 2026")


def test_what_has_no_figure_is_refused() -> None:
    with pytest.raises(TypeError, match="ModuleSearch: has no figure"):
        solarsim.figure(modules("cs6k 300ms"))
    with pytest.raises(TypeError, match="_Foreign: is not the result of a study"):
        solarsim.figure(_Foreign("x"))
    with pytest.raises(TypeError, match="LoadMonth: is a part of a result"):
        solarsim.figure(load_year(scenario()).months[0])


@pytest.mark.parametrize(("suffix", "begins"), [("png", b"\x89PNG"), ("svg", b"<?xml"), ("PDF", b"%PDF")])
def test_the_suffix_is_the_format(suffix: str, begins: bytes) -> None:
    assert figure_bytes(new_figure(2, 1, "t"), Path(f"a.{suffix}")).startswith(begins)


def page_in(form: str, width_in: float, height_in: float) -> tuple[float, float]:
    """Return the size of a picture in print, in inches, as readers of its format find it."""
    content = figure_bytes(new_figure(width_in, height_in, "t"), Path(f"a.{form}"))
    if form == "pdf":
        box = PdfReader(io.BytesIO(content)).pages[0].mediabox
        return float(box.width) / 72, float(box.height) / 72
    if form == "svg":
        root = ElementTree.fromstring(content)
        assert root.attrib["viewBox"] == f"0 0 {72 * width_in:g} {72 * height_in:g}"
        return float(root.attrib["width"].removesuffix("pt")) / 72, float(root.attrib["height"].removesuffix("pt")) / 72
    with Image.open(io.BytesIO(content)) as image:
        assert image.size == (110 * width_in, 110 * height_in)
        across, up = image.info["dpi"]
        return image.size[0] / across, image.size[1] / up


@pytest.mark.by_hand
@pytest.mark.parametrize("form", ["pdf", "svg", "png"])
@pytest.mark.parametrize(
    ("drawn", "printed"),
    [
        ((16.0, 6.7), (10.0, 4.1875)),  # 10 / 16
        ((14.0, 12.0), (8.45833, 7.25)),  # 7.25 / 12: landscape is larger than portrait, 7.25 / 14
        ((11.0, 15.0), (7.25, 9.88636)),  # 7.25 / 11: portrait
        ((9.0, 4.0), (9.0, 4.0)),  # never larger than drawn
    ],
)
def test_picture_fits_a_page_of_letter_and_of_a4(
    drawn: tuple[float, float], printed: tuple[float, float], form: str
) -> None:
    """Letter is 8.5 x 11 in, A4 8.27 x 11.69 in (ISO 216: 210 x 297 mm); half an inch is left at each side."""
    found = page_in(form, *drawn)
    assert found == pytest.approx(printed, abs=2e-3)
    assert max(found) <= 10.0 + 1e-3
    assert min(found) <= 7.27


def test_fonts_are_in_the_file() -> None:
    """In a PDF as TrueType, which can be searched; in an SVG as shapes, which no reader's own fonts replace."""
    drawn = new_figure(14.0, 5.0, "price of export, évaluée")
    read = PdfReader(io.BytesIO(figure_bytes(drawn, Path("a.pdf"))))
    page = read.pages[0]
    assert read.pdf_header >= "%PDF-1.4"  # the first that knows transparency
    assert "price of export, évaluée" in page.extract_text()
    fonts = [font.get_object() for font in page["/Resources"]["/Font"].values()]  # type: ignore[index]
    assert fonts
    for font in fonts:
        inner = font["/DescendantFonts"][0].get_object()
        assert inner["/Subtype"] == "/CIDFontType2"
        assert len(inner["/FontDescriptor"].get_object()["/FontFile2"].get_object().get_data()) > 1000
    svg = figure_bytes(drawn, Path("a.svg"))
    assert b"<text" not in svg
    assert b"font-family" not in svg


def test_another_suffix_is_refused() -> None:
    with pytest.raises(OutputError, match=r"a\.gif: .*\.png, \.svg or \.pdf"):
        figure_bytes(new_figure(2, 1, "t"), Path("a.gif"))


def test_lines_differ_without_color_too() -> None:
    assert len(set(LINE_COLORS)) == len(set(map(str, LINE_STYLES))) == 7
