"""Marks in KiCad schematics, version 6 to 10."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

from ohmtrail.cli.marks.insertions import Insertion, digest
from ohmtrail.cli.marks.kicad_dialect import OURS, dialect_of
from ohmtrail.cli.marks.kicad_sheet import Mark, sheet_marks
from ohmtrail.cli.marks.lacking import with_what_lacks
from ohmtrail.cli.marks.plan import MarkPlan
from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._text import MAX_BYTES, first_bytes
from ohmtrail.importers.kicad_schematic.drawn import DrawnSheet, drawn_sheets
from ohmtrail.netanalysis.board import Board

__all__ = ["companions", "insertions", "project_files", "without_marks"]

_TOKEN = re.compile(rb'"[^"\\]*(?:\\.[^"\\]*)*"|[()]', re.DOTALL)


def project_files(path: Path) -> list[Path]:
    """Return the root, its sheets, and what KiCad reads beside them.

    Raises
    ------
    ParseError
        For a damaged or missing sheet, and for one that is named by an absolute
        path: its copy would still open the original.
    """
    from ohmtrail.cli.marks.kicad_project import beside
    from ohmtrail.importers.kicad_schematic.drawn import sheet_files

    sheets, models = sheet_files(path)
    return list(dict.fromkeys([*sheets, *beside(path, models)]))


def companions(path: Path) -> list[tuple[str, Path]]:
    """Return the layout of the project, if there is one."""
    layout = path.with_suffix(".kicad_pcb")
    return [("kicad_layout", layout)] if layout.is_file() else []


def insertions(path: Path, board: Board, plan: MarkPlan) -> dict[Path, list[Insertion]]:
    """Return what goes into each sheet's file.

    Parameters
    ----------
    path : Path
        The root sheet.
    board : Board
        Not used: the plan has all.
    plan : MarkPlan

    Raises
    ------
    ParseError
        As reading the board, for a gzipped sheet, and for one that is marked.

    Notes
    -----
    O(size of the files) + O(marks).
    """
    sheets = drawn_sheets(path)
    plan = with_what_lacks(plan, sheets)
    made: dict[Path, list[Insertion]] = {}
    for number, sheet in enumerate(sheets):
        marks = sheet_marks(sheet, plan, always=number == 0)
        if marks:
            made[sheet.path] = [_block(sheet, marks)]
    return made


def _block(sheet: DrawnSheet, marks: tuple[Mark, ...]) -> Insertion:
    """Return the marks as one block before the file's last bracket."""
    data = first_bytes(sheet.path, MAX_BYTES)
    if data.startswith(b"\x1f\x8b"):
        raise ParseError("found a gzipped sheet, expected it unpacked", sheet.path)
    if OURS.search(data):
        raise ParseError(
            "found marks of an earlier run, expected the original ('ohmtrail unmark' "
            "takes them out)",
            sheet.path,
        )
    end = data.rstrip().rfind(b")")
    dialect = dialect_of(data, sheet.version)
    name = f"{digest(data)}/{sheet.path.name}"
    rows = [
        dialect.indent + dialect.write(mark, f"{name}/{number}")
        for number, mark in enumerate(marks)
    ]
    newline = dialect.newline
    # The last bracket stays at the start of its line if it is there.
    if data[:end].endswith(b"\n"):
        text = "".join(row + newline for row in rows)
    else:
        text = "".join(newline + row for row in rows)
    return Insertion(end, text.encode("utf-8"))


def without_marks(data: bytes) -> bytes:
    """Return a file with every group that carries our identifier taken out.

    Each goes with the white space before it, back to the end of the line above, so
    that a file nobody else has changed is as it was.

    Notes
    -----
    O(length of the file).
    """
    return without_groups(data, lambda start, end: bool(OURS.search(data, start, end)))


def without_groups(data: bytes, ours: Callable[[int, int], bool]) -> bytes:
    """Return a file without those groups of its one group for which ``ours`` holds.

    It is asked with start and end of each; white space as in `without_marks`.
    """
    kept: list[bytes] = []
    at = 0
    for start, end in _groups(data):
        if ours(start, end):
            head = data[at:start].rstrip(b" \t")
            head = head.removesuffix(b"\n").removesuffix(b"\r")
            kept.append(head)
            at = end
    kept.append(data[at:])
    return b"".join(kept)


def _groups(data: bytes) -> Iterator[tuple[int, int]]:
    """Give start and end of each group directly within the file's one group."""
    depth = start = 0
    for match in _TOKEN.finditer(data):
        token = match[0]
        if token == b"(":
            depth += 1
            if depth == 2:
                start = match.start()
        elif token == b")":
            depth -= 1
            if depth == 1:
                yield start, match.end()
