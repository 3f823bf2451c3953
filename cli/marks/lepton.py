"""Marks in gEDA and Lepton schematics: lines and texts behind each page's last object.

Colours are numbers of the viewer's own map; those taken here are alike in the maps for
dark and for light grounds that come with Lepton.
"""

import re
from pathlib import Path

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

#: Number in the map by a mark's colour elsewhere.  The net: violet or yellow (junction,
#: for what is orange on the screen is not printed); suspects: red (attribute without
#: its object); flags: cyan (bubble of logic); cleared: green (graphic); the note: black
#: or yellow (attribute).
_COLOURS = {
    (230, 159, 0): 21,
    (213, 94, 0): 8,
    (0, 114, 178): 6,
    (0, 158, 115): 3,
    (0, 0, 0): 5,
}
#: Mils of a dash and of the gap behind it.
_DASH = 60
#: Mils in a point of a text's size, times the share of it that a capital is high.
_POINT = 10.0
#: Attribute that tells a mark from the rest: of a text it is the name, and only the
#: value is shown; to a line it is attached, and not shown.
_NAME = "ohmtrail"
_TAGGED = f"{_NAME}=".encode()
_TAG_SIZE = 8
#: Lines hide what is under them, so they are thinner than where they do not.
_THIN = 0.6
_VERSION = re.compile(rb"v\s+\d+\s+([12])\b")


def project_files(path: Path) -> list[Path]:
    """Return the pages, the symbols and the settings that lie in the project."""
    from ohmtrail.importers.lepton._read import read

    return files_read(path, read)


def insertions(path: Path, board: Board, plan: MarkPlan) -> dict[Path, list[Insertion]]:
    """Return what goes into each page: one block behind its last object.

    Parameters
    ----------
    path : Path
        The root page.
    board : Board
        Not used: the plan has all.
    plan : MarkPlan

    Raises
    ------
    ImporterError
        As reading the board, for a page that is gzipped or marked, and for one of
        before 2002, which knows no width of lines.

    Notes
    -----
    O(size of the files + marks).
    """
    from ohmtrail.importers.lepton.drawn import drawn_pages

    made: dict[Path, list[Insertion]] = {}
    pages = drawn_pages(path)
    plan = with_what_lacks(plan, [sheet for sheet, _ in pages])
    for number, (sheet, frame) in enumerate(pages):
        marks = sheet_marks(sheet, plan, always=number == 0)
        if not marks:
            continue
        data = first_bytes(sheet.path, MAX_BYTES)
        if data.startswith(b"\x1f\x8b"):
            raise ParseError("found a gzipped page, expected it unpacked", sheet.path)
        if not _VERSION.match(data.removeprefix(b"\xef\xbb\xbf").lstrip()):
            raise ParseError(
                "found a page of an old version, expected file format 1 or 2 (open it "
                "in Lepton, save it, and mark that)",
                sheet.path,
            )
        if without_marks(data) is not None:
            raise ParseError(
                "found marks of an earlier run, expected the original ('ohmtrail "
                "unmark' takes them out)",
                sheet.path,
            )
        # A page may be part of several blocks, each with its marks.
        first = sheet.path not in made
        made.setdefault(sheet.path, []).append(_block(data, marks, frame, first))
    return made


def _block(
    data: bytes, marks: tuple[Mark, ...], frame: Frame, first: bool
) -> Insertion:
    newline = "\r\n" if b"\r\n" in data else "\n"
    rows = [row for mark in marks for row in _rows(mark, frame)]
    text = "".join(row + newline for row in rows)
    if first and not data.endswith(b"\n"):
        text = newline + text
    return Insertion(len(data), text.encode("utf-8"))


def _rows(mark: Mark, frame: Frame) -> list[str]:
    """Return the lines of a file that are one object."""
    if isinstance(mark, Line):
        style = mark.style
        ax, ay = map(round, frame.to_units(mark.x1_mm, mark.y1_mm))
        bx, by = map(round, frame.to_units(mark.x2_mm, mark.y2_mm))
        width = max(1, round(style.width_mm / frame.unit_mm * _THIN))
        dash = f"2 {_DASH} {_DASH}" if style.stroke == "dash" else "0 -1 -1"
        colour = _COLOURS.get(style.colour[:3], 3)
        line = f"L {ax} {ay} {bx} {by} {colour} {width} 1 {dash}"
        tag = f"T {ax} {ay} 5 {_TAG_SIZE} 0 0 0 0 1"
        return [line, "{", tag, f"{_NAME}=mark", "}"]
    x, y = map(round, frame.to_units(mark.x_mm, mark.y_mm))
    size = max(2, round(mark.size_mm / frame.unit_mm / _POINT))
    colour = _COLOURS.get(mark.colour[:3], 5)
    first, *more = mark.text.split("\n")
    head = f"T {x} {y} {colour} {size} 1 1 0 0 {1 + len(more)}"
    return [head, f"{_NAME}={first.lstrip() or '-'}", *more]


def without_marks(data: bytes) -> bytes | None:
    """Return a page that was saved anew since, with the marks taken out.

    None if it holds none.

    Notes
    -----
    O(length of the file).
    """
    lines = data.splitlines(keepends=True)
    kept: list[bytes] = []
    at = 0
    while at < len(lines):
        taken = _marked_at(lines, at)
        if not taken:
            kept.append(lines[at])
        at += taken or 1
    return b"".join(kept) if len(kept) < len(lines) else None


def _marked_at(lines: list[bytes], at: int) -> int:
    """Return how many lines from here on are a mark, 0 for none."""
    if lines[at].startswith(b"T "):
        words = lines[at].split()
        if len(words) == 10 and _is(lines, at + 1, _TAGGED) and words[9].isdigit():
            return 1 + int(words[9])
    if lines[at].startswith(b"L ") and _is(lines, at + 1, b"{"):
        if _is(lines, at + 3, _TAGGED + b"mark") and _is(lines, at + 4, b"}"):
            return 5
    return 0


def _is(lines: list[bytes], at: int, start: bytes) -> bool:
    return at < len(lines) and lines[at].startswith(start)
