"""Marks in xschem schematics: lines and texts behind each file's last object."""

import math
import os
import re
from pathlib import Path

from ohmtrail.cli._errors import warn
from ohmtrail.cli.marks.files_read import files_read
from ohmtrail.cli.marks.insertions import Insertion
from ohmtrail.cli.marks.kicad_dialect import Line
from ohmtrail.cli.marks.kicad_sheet import Mark, sheet_marks
from ohmtrail.cli.marks.lacking import with_what_lacks
from ohmtrail.cli.marks.plan import MarkPlan
from ohmtrail.importers._drawn import Frame
from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._text import MAX_BYTES, first_bytes
from ohmtrail.netanalysis.board import Board

__all__ = ["insertions", "project_files", "without_marks"]

#: Layer by a mark's colour elsewhere; in xschem's own colours for dark and for light
#: grounds these are orange, light red, white or teal, green, and the colour of texts.
_LAYERS = {
    (230, 159, 0): 21,
    (213, 94, 0): 20,
    (0, 114, 178): 9,
    (0, 158, 115): 4,
    (0, 0, 0): 3,
}
_ASCII = {"Ω": "Ohm", "µ": "u", "μ": "u", "°": " deg", "±": "+-"}
#: A property that xschem keeps and does not know.
_OURS = "ohmtrail=mark"
_MARK = re.compile(
    rb"^(?:[LP] [^{}\n]*|T \{(?:[^\\{}]|\\.)*\}[^{}\n]*)\{[^{}]*"
    + _OURS.encode()
    + rb"[^{}]*\}\r?\n?",
    re.MULTILINE | re.DOTALL,
)
#: Units that capitals of size 1 are high, pitch of lines as `sheet_marks` counts it,
#: and how far up from a line's foot its text begins, in heights.
_CELL, _PITCH, _ABOVE = 32.0, 1.62, 1.25
#: Lines from this width on, and of no dashes, are drawn as narrow areas.
_THICK_MM = 0.3


def project_files(path: Path) -> list[Path]:
    """Return the schematics and symbols that lie in the project, and its settings."""
    from ohmtrail.importers.xschem._read import read

    files = files_read(path, read)
    settings = path.parent / "xschemrc"
    return [*files, settings] if settings.is_file() else files


def insertions(path: Path, board: Board, plan: MarkPlan) -> dict[Path, list[Insertion]]:
    """Return what goes into each schematic: one block behind its last object.

    Parameters
    ----------
    path : Path
        The root.
    board : Board
        Not used: the plan has all.
    plan : MarkPlan

    Raises
    ------
    ImporterError
        As reading the board, and for a schematic that is gzipped or marked.

    Notes
    -----
    O(size of the files + marks).  Schematics of an installed library are left alone,
    with a warning: no copy would show them.
    """
    from ohmtrail.importers.xschem.drawn import drawn_schematics

    folder = Path(os.path.abspath(path)).parent
    made: dict[Path, list[Insertion]] = {}
    drawn = drawn_schematics(path)
    own = [sheet for sheet, _ in drawn if folder in sheet.path.parents]
    plan = with_what_lacks(plan, own)
    for number, (sheet, frame) in enumerate(drawn):
        marks = sheet_marks(sheet, plan, always=number == 0)
        if not marks:
            continue
        if folder not in sheet.path.parents:
            warn(f"{sheet.path}: not marked, for it is not in the project's folder")
            continue
        data = first_bytes(sheet.path, MAX_BYTES)
        if data.startswith(b"\x1f\x8b"):
            raise ParseError("found a gzipped file, expected it unpacked", sheet.path)
        if _MARK.search(data):
            raise ParseError(
                "found marks of an earlier run, expected the original ('ohmtrail "
                "unmark' takes them out)",
                sheet.path,
            )
        made[sheet.path] = [_block(data, marks, frame)]
    return made


def without_marks(data: bytes) -> bytes | None:
    """Return a schematic that was written anew since, with the marks taken out.

    None if it holds none.

    Notes
    -----
    O(length of the file).
    """
    left, count = _MARK.subn(b"", data)
    return left if count else None


def _block(data: bytes, marks: tuple[Mark, ...], frame: Frame) -> Insertion:
    newline = "\r\n" if b"\r\n" in data else "\n"
    rows = [row for mark in marks for row in _rows(mark, frame)]
    text = "".join(row + newline for row in rows)
    if not data.endswith(b"\n"):
        text = newline + text
    return Insertion(len(data), text.encode("utf-8"))


def _rows(mark: Mark, frame: Frame) -> list[str]:
    if isinstance(mark, Line):
        style = mark.style
        layer = _LAYERS.get(style.colour[:3], 4)
        start = frame.to_units(mark.x1_mm, mark.y1_mm)
        end = frame.to_units(mark.x2_mm, mark.y2_mm)
        if style.width_mm >= _THICK_MM and style.stroke == "solid":
            corners = _area(start, end, style.width_mm / frame.unit_mm / 2)
            places = " ".join(f"{_number(x)} {_number(y)}" for x, y in corners)
            return [f"P {layer} {len(corners)} {places} {{fill=true {_OURS}}}"]
        places = " ".join(f"{_number(x)} {_number(y)}" for x, y in sorted((start, end)))
        more = " dash=4" if style.stroke == "dash" else ""
        return [f"L {layer} {places} {{{_OURS}{more}}}"]
    layer = _LAYERS.get(mark.colour[:3], 3)
    size = mark.size_mm / frame.unit_mm / 1000 / _CELL
    lines = mark.text.split("\n")
    rows = []
    for number, line in enumerate(lines):
        foot = mark.y_mm - (len(lines) - 1 - number) * _PITCH * mark.size_mm
        x, y = frame.to_units(mark.x_mm, foot - _ABOVE * mark.size_mm)
        rows.append(
            f"T {{{_plain(line)}}} {_number(x)} {_number(y)} 0 0 {size:.3g} {size:.3g} "
            f"{{layer={layer} {_OURS}}}"
        )
    return rows


def _area(
    start: tuple[float, float], end: tuple[float, float], half: float
) -> list[tuple[float, float]]:
    """Return the closed outline of a line that reaches so far on both sides."""
    (ax, ay), (bx, by) = start, end
    length = math.hypot(bx - ax, by - ay)
    x, y = (bx - ax) / length * half, (by - ay) / length * half
    corners = [(ax - x - y, ay - y + x), (ax - x + y, ay - y - x)]
    corners += [(bx + x + y, by + y - x), (bx + x - y, by + y + x)]
    return [*corners, corners[0]]


def _number(thousandths: float) -> str:
    text = f"{thousandths / 1000:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _plain(line: str) -> str:
    r"""Return a line of text in ASCII, with its braces protected.

    xschem ends with signal 11 when it draws other letters into a picture.  A text
    that begins with ``tcleval(`` would be run as a program.

    Examples
    --------
    >>> print(_plain("4.7 kΩ {b} c\\d"))
    4.7 kOhm \{b\} c\\d
    """
    for letter, words in _ASCII.items():
        line = line.replace(letter, words)
    line = line.encode("ascii", "replace").decode()
    if line.startswith("tcleval("):
        line = f" {line}"
    return re.sub(r"([\\{}])", r"\\\1", line)
