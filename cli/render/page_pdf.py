"""A page as a PDF file: on A4 or Letter, black on white, type that every reader has."""

from typing import TYPE_CHECKING

from ohmtrail.cli.render.drawing_pdf import latin
from ohmtrail.cli.render.page import Heading, Page, Paragraph
from ohmtrail.cli.render.page_pieces import Cutter, Piece

if TYPE_CHECKING:
    from fpdf import FPDF

__all__ = ["PAPERS", "page_pdf"]

#: Width and height in mm (ISO 216; ANSI/ASME Y14.1).
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
_MARGIN_MM = 13.0
_FOOT_MM = 6.0


class _Sheets:
    """Puts pieces on sheets of paper."""

    def __init__(self, pdf: "FPDF", paper: tuple[float, float], foot: str) -> None:
        self.pdf, self.paper, self.foot = pdf, paper, foot
        self.bottom = paper[1] - _MARGIN_MM - _FOOT_MM
        self.y = self.bottom
        self.cutter = Cutter(
            pdf, _MARGIN_MM, paper[0] - 2 * _MARGIN_MM, self.bottom - _MARGIN_MM
        )

    def begin(self) -> None:
        """Begin a sheet."""
        self.pdf.add_page()
        self.y = _MARGIN_MM

    def feet(self) -> None:
        """Write title and number at the foot of every sheet."""
        pdf, small = self.pdf, self.cutter.small
        y = self.paper[1] - _MARGIN_MM - 3
        right = self.paper[0] - _MARGIN_MM
        title = small.lines(self.foot, right - _MARGIN_MM - 25)[:1]
        for number in range(1, pdf.pages_count + 1):
            pdf.page = number
            # Another page's type is not this one's.
            pdf.set_font("times")
            text = f"{number} of {pdf.pages_count}"
            self.cutter.rule(y - 0.8, 0.2)
            small.put(_MARGIN_MM, y, title)
            small.put(right - small.width(text), y, (text,))

    def place(self, pieces: list[Piece]) -> None:
        """Place pieces, each with those that it must not part from."""
        start = 0
        while start < len(pieces):
            end = start
            while end < len(pieces) - 1 and pieces[end].stick:
                end += 1
            group = pieces[start : end + 1]
            height = sum(piece.height_mm for piece in group)
            whole = height <= self.bottom - _MARGIN_MM - self._again(group[0])
            need = max(height if whole else 0.0, group[0].need_mm)
            if self.y + need > self.bottom:
                self.fresh(group[0])
            for piece in group:
                if self.y + piece.height_mm > self.bottom and self.y > _MARGIN_MM:
                    self.fresh(piece)
                piece.draw(self.y)
                self.y += piece.height_mm
            start = end + 1

    @staticmethod
    def _again(piece: Piece) -> float:
        return sum(one.height_mm for one in piece.again)

    def fresh(self, piece: Piece) -> None:
        """Begin a sheet, with what comes again above the piece."""
        self.begin()
        for one in piece.again:
            one.draw(self.y)
            self.y += one.height_mm


def page_pdf(page: Page, paper: str = "a4") -> bytes:
    """Return a page as a PDF file.

    Parameters
    ----------
    page : Page
        What to write.
    paper : str
        One of `PAPERS`.

    Returns
    -------
    bytes
        A file in the built-in fonts: what they lack is spelled or written out.
        No name of a person or machine is in it.

    Notes
    -----
    O(size).  A heading never stands last on a sheet, a row is never torn, and the
    head of a table comes again.
    """
    from fpdf import FPDF

    size = PAPERS[paper]
    pdf = FPDF(unit="mm", format=size)
    pdf.set_auto_page_break(False)
    pdf.set_margin(0)
    pdf.set_draw_color(0)
    pdf.set_text_color(0)
    pdf.set_title(latin(page.title))
    pdf.set_lang("en")
    sheets = _Sheets(pdf, size, page.title)
    sheets.begin()
    cutter = sheets.cutter
    pieces = cutter.pieces(Heading(1, page.title))
    pieces += cutter.pieces(Paragraph(page.subtitle))
    for block in page.blocks:
        pieces += cutter.pieces(block)
    sheets.place(pieces)
    sheets.feet()
    return bytes(pdf.output())
