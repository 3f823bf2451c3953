"""A drawing on a page of a PDF file."""

from typing import TYPE_CHECKING

from ohmtrail.cli.render.drawing import (
    Circle,
    Drawing,
    Item,
    Line,
    Polyline,
    Rect,
    Text,
)
from ohmtrail.cli.render.plain import shown

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fpdf import FPDF

__all__ = ["latin", "pdf_bytes", "put", "sheet_bytes"]

_MARGIN_MM = 15.0
_GREYS = {"white": 255, "grey": 221, "black": 0}
_POINTS_A_MM = 72 / 25.4
#: What the built-in fonts lack and has a plain spelling.
_SPELLED = {
    "\N{GREEK CAPITAL LETTER OMEGA}": "ohm",
    "\N{OHM SIGN}": "ohm",
    "\N{GREEK SMALL LETTER MU}": "\N{MICRO SIGN}",
    "\N{MINUS SIGN}": "-",
    "\N{RIGHTWARDS ARROW}": "->",
}


def latin(text: str) -> str:
    r"""Return text that the built-in fonts of a PDF can show.

    Control characters and letters that the fonts lack are written out.

    Examples
    --------
    >>> print(latin("4.7 kΩ"), latin("电"))
    4.7 kohm \u7535
    """
    text = "".join(_SPELLED.get(char, char) for char in shown(text))
    return text.encode("latin-1", "backslashreplace").decode("latin-1")


class _Pen:
    """Draws items with the lower left corner, scale and page already settled."""

    def __init__(self, pdf: "FPDF", x_mm: float, y_mm: float, scale: float) -> None:
        self.pdf = pdf
        self.x, self.y, self.scale = x_mm, y_mm, scale

    def at(self, x: float, y: float) -> tuple[float, float]:
        return self.x + x * self.scale, self.y + y * self.scale

    def stroke(self, stroke_mm: float, dashed: bool) -> None:
        width = stroke_mm * self.scale
        self.pdf.set_line_width(width)
        if dashed:
            self.pdf.set_dash_pattern(dash=width * 5, gap=width * 4)
        else:
            self.pdf.set_dash_pattern()

    def style(self, stroke_mm: float, fill: str) -> str:
        if fill:
            self.pdf.set_fill_color(_GREYS[fill])
        return ("D" if stroke_mm else "") + ("F" if fill else "")

    def draw(self, item: Item) -> None:
        pdf, scale = self.pdf, self.scale
        if isinstance(item, Line):
            self.stroke(item.stroke_mm, item.dashed)
            start, end = (
                self.at(item.x1_mm, item.y1_mm),
                self.at(item.x2_mm, item.y2_mm),
            )
            pdf.line(*start, *end)
        elif isinstance(item, Polyline):
            self.stroke(item.stroke_mm, item.dashed)
            points = [self.at(x, y) for x, y in item.points_mm]
            style = self.style(item.stroke_mm, item.fill if item.closed else "")
            if style:
                pdf.polyline(points, polygon=item.closed, style=style)
        elif isinstance(item, Rect):
            self.stroke(item.stroke_mm, item.dashed)
            style = self.style(item.stroke_mm, item.fill)
            corner = self.at(item.x_mm, item.y_mm)
            if style:
                size = item.width_mm * scale, item.height_mm * scale
                pdf.rect(*corner, *size, style=style)
        elif isinstance(item, Circle):
            self.stroke(item.stroke_mm, False)
            style = self.style(item.stroke_mm, item.fill)
            if style:
                x, y = self.at(item.x_mm, item.y_mm)
                pdf.circle(x, y, item.radius_mm * scale, style=style)
        else:
            bold = "B" if item.bold else ""
            pdf.set_font("helvetica", bold, item.size_mm * scale * _POINTS_A_MM)
            pdf.set_text_color(_GREYS[item.ink])
            text = latin(item.text)
            x, y = self.at(item.x_mm, item.y_mm)
            shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor]
            if shift:
                x -= shift * pdf.get_string_width(text)
            pdf.text(x, y, text)


def put(
    pdf: "FPDF", drawing: Drawing, x_mm: float, y_mm: float, width_mm: float
) -> None:
    """Draw onto the current page of an fpdf2 document in millimetres.

    Parameters
    ----------
    pdf : fpdf.FPDF
        With ``unit="mm"`` and a page added.  Its font, colours and line style are
        those of the last item afterwards; the text cursor stays where it was.
    drawing : Drawing
        What to draw; it keeps its proportions.
    x_mm, y_mm : float
        Where its upper left corner goes, from the page's.
    width_mm : float
        How wide it becomes.
    """
    pen = _Pen(pdf, x_mm, y_mm, width_mm / drawing.width_mm)
    pdf.set_draw_color(0)
    for item in drawing.items:
        pen.draw(item)
    pdf.set_dash_pattern()
    pdf.set_text_color(0)


def pdf_bytes(drawings: "Drawing | Iterable[Drawing]") -> bytes:
    """Return a PDF file with one drawing a page, each page as large as its drawing."""
    from fpdf import FPDF

    pages = (drawings,) if isinstance(drawings, Drawing) else tuple(drawings)
    pdf = FPDF(unit="mm")
    pdf.set_auto_page_break(False)
    pdf.set_margin(0)
    pdf.set_title(latin(pages[0].title))
    for page in pages:
        pdf.add_page(format=(page.width_mm, page.height_mm))
        put(pdf, page, 0, 0, page.width_mm)
    return bytes(pdf.output())


def sheet_bytes(drawings: "Iterable[Drawing]") -> bytes:
    """Return a PDF file of A4 pages with one drawing each, for paper.

    A drawing keeps its size where it fits within the margins, and is made smaller
    where it does not; 180 by 245 mm also fits on Letter.
    """
    from fpdf import FPDF

    pages = tuple(drawings)
    pdf = FPDF(unit="mm", format="A4")
    pdf.set_auto_page_break(False)
    pdf.set_margin(0)
    pdf.set_title(latin(pages[0].title))
    for number, page in enumerate(pages, 1):
        pdf.add_page()
        room, tall = pdf.w - 2 * _MARGIN_MM, pdf.h - 2 * _MARGIN_MM - 8
        width = min(room, page.width_mm, page.width_mm * tall / page.height_mm)
        put(pdf, page, (pdf.w - width) / 2, _MARGIN_MM, width)
        foot = f"{number} / {len(pages)}"
        put(pdf, Drawing(20, 5, (Text(20, 4, foot, 3.0, "end"),), ""),
            pdf.w - _MARGIN_MM - 20, pdf.h - _MARGIN_MM, 20)  # fmt: skip
    return bytes(pdf.output())
