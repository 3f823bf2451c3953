"""Blocks of a page cut into pieces: each a strip of paper that is never torn."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from ohmtrail.cli.render.drawing_pdf import put
from ohmtrail.cli.render.page import (
    Block,
    Cell,
    Heading,
    Items,
    Paragraph,
    Picture,
    Room,
    Table,
    Terms,
    Tick,
)
from ohmtrail.cli.render.pdf_type import Face

if TYPE_CHECKING:
    from fpdf import FPDF

__all__ = ["Cutter", "Piece"]

_PAD_MM = 1.0
_BOX_MM = 3.0
#: No row of readings is lower: a pen needs room.
_ROW_MM = 6.0
_TERM_MM = 22.0
#: A chapter does not begin further down.
_CHAPTER_MM = 55.0
#: Height of a chapter's heading: a drawing leaves room for it.
_CHAPTER_HEAD_MM = 18.0
#: White above a heading, by level.
_ABOVE_MM = {1: 0.0, 2: 6.0, 3: 4.0, 4: 2.5}


@dataclass(frozen=True, slots=True)
class Piece:
    """A strip across the page."""

    height_mm: float
    #: Draws it; its argument is the upper edge.
    draw: Callable[[float], None]
    #: It is never the last on a sheet.
    stick: bool = False
    #: What comes again above it where it is the first on a sheet.
    again: "tuple[Piece, ...]" = field(default=())
    #: It begins a sheet where less than this is left.
    need_mm: float = 0.0


class Cutter:
    """Cuts blocks into pieces.

    Parameters
    ----------
    pdf : fpdf.FPDF
        The document.
    left_mm, width_mm, tall_mm : float
        Where strips begin, how wide they are, and the tallest that fits.
    """

    def __init__(
        self, pdf: "FPDF", left_mm: float, width_mm: float, tall_mm: float
    ) -> None:
        self.pdf, self.left, self.width, self.tall = pdf, left_mm, width_mm, tall_mm
        self.body, self.bold = Face(pdf, 9), Face(pdf, 9, bold=True)
        self.small = Face(pdf, 8)
        self.heads = {
            1: Face(pdf, 17, bold=True),
            2: Face(pdf, 14, bold=True),
            3: Face(pdf, 11, bold=True),
            4: Face(pdf, 9.5, bold=True),
        }

    def pieces(self, block: Block) -> list[Piece]:
        """Return the pieces of a block, from above."""
        if isinstance(block, Heading):
            return self.heading(block)
        if isinstance(block, Paragraph):
            return self.lines(block.text, self.bold if block.strong else self.body)
        if isinstance(block, Items):
            return self.items(block)
        if isinstance(block, Terms):
            return [self.term(word, text) for word, text in block.rows]
        if isinstance(block, Table):
            return self.table(block)
        if isinstance(block, Picture):
            return self.picture(block)
        found = [piece for one in block.blocks for piece in self.pieces(one)]
        return _stuck(found, sum(piece.height_mm for piece in found) <= self.tall / 3)

    def heading(self, block: Heading) -> list[Piece]:
        """Return a heading; the one of a chapter has a rule above it."""
        face = self.heads[block.level]
        aside = (block.aside,)
        tag = self.small.width(block.aside) + 3 if block.aside else 0.0
        lines = face.lines(block.text, self.width - tag)
        above = _ABOVE_MM[block.level]

        def draw(y: float) -> None:
            if block.level == 2 or block.ruled:
                self.rule(y + above - 1.0, 0.8 if block.level == 2 else 0.25)
            face.put(self.left, y + above, lines)
            if block.aside:
                x = self.left + face.width(lines[0]) + 2
                self.pdf.set_line_width(0.2)
                self.pdf.rect(x, y + above + 0.2, tag - 1, self.small.line_mm + 0.3)
                self.small.put(x + 1, y + above + 0.3, aside)

        under = 0.8 if block.level < 4 else 0.2
        height = above + face.line_mm * len(lines) + under
        need = _CHAPTER_MM if block.level == 2 else 0.0
        return [Piece(height, draw, stick=True, need_mm=need)]

    def rule(self, y: float, wide_mm: float) -> None:
        """Draw a line across the page."""
        self.pdf.set_line_width(wide_mm)
        self.pdf.line(self.left, y, self.left + self.width, y)

    def lines(self, text: str, face: Face) -> list[Piece]:
        """Return running text."""
        lines = face.lines(text, self.width)

        def draw(y: float) -> None:
            face.put(self.left, y, lines)

        return [Piece(face.line_mm * len(lines) + 0.8, draw)]

    def items(self, block: Items) -> list[Piece]:
        """Return a list, an item a piece; warnings stand in a frame, all in one."""
        indent = 5.0
        found = [self.item(block, item, indent) for item in block.items]
        height = sum(piece.height_mm for piece in found)
        if block.mark != "caution" or height > self.tall / 2:
            return found

        def draw(y: float) -> None:
            self.pdf.set_line_width(0.5)
            self.pdf.rect(self.left, y, self.width, height + 2)
            y += 1.0
            for piece in found:
                piece.draw(y)
                y += piece.height_mm

        return [Piece(height + 4, draw)]

    def item(self, block: Items, item: str, indent: float) -> Piece:
        """Return one item of a list with its mark."""
        face = self.body
        left = self.left + (2.0 if block.mark == "caution" else 0.0)
        lines = face.lines(item, self.width - indent - 4)

        def draw(y: float) -> None:
            if block.mark == "tick":
                self.box(left, y + 0.4)
            else:
                mark = "!" if block.mark else "-"
                self.bold.put(left + 1, y, (mark,))
            face.put(left + indent, y, lines)

        return Piece(face.line_mm * len(lines) + 1.0, draw)

    def box(self, x: float, y: float) -> None:
        """Draw a box to tick."""
        self.pdf.set_line_width(0.25)
        self.pdf.rect(x, y, _BOX_MM, _BOX_MM)

    def term(self, word: str, text: str) -> Piece:
        """Return a word and what it means, in two columns."""
        first = self.bold.lines(word, _TERM_MM - 1)
        lines = self.body.lines(text, self.width - _TERM_MM)

        def draw(y: float) -> None:
            self.bold.put(self.left, y, first)
            self.body.put(self.left + _TERM_MM, y, lines)

        return Piece(self.body.line_mm * max(len(lines), len(first)) + 0.4, draw)

    def table(self, table: Table) -> list[Piece]:
        """Return a table, a row a piece; its head comes again on the next sheet."""
        total = sum(table.widths)
        widths = [self.width * width / total for width in table.widths]
        head = replace(self.row(table.head, widths, self.bold, 1.4), stick=True)
        rows = [self.row(row, widths, self.body, 0.0) for row in table.rows]
        again = (head,)
        return [head, *(replace(row, again=again) for row in rows), _gap(1.0)]

    def row(
        self, cells: Iterable[Cell], widths: list[float], face: Face, under: float
    ) -> Piece:
        """Return one row with its frame."""
        placed: list[tuple[float, bool, tuple[str, ...]]] = []
        x, least = self.left, 0.0
        for cell, width in zip(cells, widths, strict=True):
            ticked = isinstance(cell, Tick)
            if isinstance(cell, Room):
                least, text = _ROW_MM, cell.text
            else:
                text = cell.text if isinstance(cell, Tick) else cell
            shift = _PAD_MM + (_BOX_MM + 1.2 if ticked else 0.0)
            placed.append(
                (x + shift, ticked, face.lines(text, width - shift - _PAD_MM))
            )
            x += width
        most = max(len(lines) for _, _, lines in placed)
        height = max(least, face.line_mm * most + 1.4)

        def draw(y: float) -> None:
            self.pdf.set_line_width(0.15)
            self.pdf.rect(self.left, y, self.width, height)
            edge = self.left
            for width, (x, ticked, lines) in zip(widths, placed, strict=True):
                if edge > self.left:
                    self.pdf.line(edge, y, edge, y + height)
                if ticked:
                    self.box(x - _BOX_MM - 1.2, y + 0.9)
                face.put(x, y + 0.7, lines)
                edge += width
            if under:
                self.rule(y + height, 0.4)

        return Piece(height, draw)

    def picture(self, block: Picture) -> list[Piece]:
        """Return a drawing as wide as asked, less where the sheet is smaller."""
        drawing = block.drawing
        width = min(block.width_mm, self.width)
        height = width * drawing.height_mm / drawing.width_mm
        tallest = self.tall - _CHAPTER_HEAD_MM
        if height > tallest:
            width, height = width * tallest / height, tallest

        def draw(y: float) -> None:
            put(self.pdf, drawing, self.left, y + 1, width)

        return [Piece(height + 3, draw)]


def _gap(height_mm: float) -> Piece:
    def draw(y: float) -> None:
        """Leave it white."""

    return Piece(height_mm, draw)


def _stuck(pieces: list[Piece], whole: bool) -> list[Piece]:
    """Keep pieces on one sheet: all of a short block, else its first and last few.

    What a table's readings mean stands with its last row at least.
    """
    last = len(pieces) - 1
    end = max((i for i, piece in enumerate(pieces) if piece.again), default=last - 2)
    return [
        replace(piece, stick=True)
        if i < last and (whole or piece.stick or i < 4 or i >= end)
        else piece
        for i, piece in enumerate(pieces)
    ]
