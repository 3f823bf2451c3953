"""Type on a PDF page: how wide a text is, and where its lines break."""

from functools import cache, lru_cache
from typing import TYPE_CHECKING

from ohmtrail.cli.render.drawing_pdf import latin

if TYPE_CHECKING:
    from fpdf import FPDF

__all__ = ["MM_A_POINT", "Face"]

MM_A_POINT = 25.4 / 72
#: At which letters are measured; widths grow with the size.
_SIZE = 100.0


@cache
def _widths(bold: bool) -> dict[str, float]:
    """Return how wide each letter of the built-in type is at `_SIZE` points, in mm."""
    from fpdf import FPDF

    pdf = FPDF(unit="mm")
    pdf.set_font("helvetica", "B" if bold else "", _SIZE)
    codes = (*range(32, 127), *range(160, 256))
    return {chr(code): pdf.get_string_width(chr(code)) for code in codes}


class Face:
    """One weight and size of the built-in type.

    Parameters
    ----------
    pdf : fpdf.FPDF
        The document, in millimetres.
    points : float
        Size.
    bold : bool
        Weight.
    """

    def __init__(self, pdf: "FPDF", points: float, bold: bool = False) -> None:
        self.pdf, self.points, self.style = pdf, points, "B" if bold else ""
        #: From one line to the next.
        self.line_mm = points * 1.22 * MM_A_POINT
        self._char = {
            char: wide * points / _SIZE for char, wide in _widths(bold).items()
        }
        self.lines = lru_cache(4096)(self._lines)

    def width(self, text: str) -> float:
        """Return how wide a text of the built-in type is, in mm."""
        char = self._char
        return sum(char.get(one, 0.0) for one in text)

    def _lines(self, text: str, width_mm: float) -> tuple[str, ...]:
        """Return a text in lines; a word that is too wide is cut, never lost."""
        lines: list[str] = []
        line, used = "", 0.0
        blank = self._char[" "]
        for word in latin(" ".join(text.split())).split(" "):
            wide = self.width(word)
            if line and used + blank + wide <= width_mm:
                line, used = f"{line} {word}", used + blank + wide
                continue
            if line:
                lines.append(line)
            while wide > width_mm and len(word) > 1:
                cut = self._cut(word, width_mm)
                lines.append(word[:cut])
                word = word[cut:]
                wide = self.width(word)
            line, used = word, wide
        return (*lines, line)

    def _cut(self, word: str, width_mm: float) -> int:
        """Return after how many letters to cut, at a mark of a path if there is one."""
        used, cut = 0.0, 1
        for number, char in enumerate(word):
            used += self._char.get(char, 0.0)
            if used > width_mm:
                break
            cut = max(1, number + 1)
        good = max(word.rfind(mark, 1, cut) for mark in "/_-.+")
        return good + 1 if good > cut // 2 else cut

    def put(self, x_mm: float, y_mm: float, lines: tuple[str, ...]) -> None:
        """Write lines below one another from the upper left corner of the first."""
        pdf = self.pdf
        pdf.set_font("helvetica", self.style, self.points)
        y_mm += 0.78 * self.line_mm
        for line in lines:
            if line:
                pdf.text(x_mm, y_mm, line)
            y_mm += self.line_mm
