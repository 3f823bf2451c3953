"""Marks in a KiCad layout: frames, strokes, flags and a legend on a free layer."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

from ohmtrail.cli.marks.insertions import Insertion
from ohmtrail.cli.marks.layout_dialect import (
    OUR_DRAWING,
    LayoutDialect,
    layout_dialect_of,
    user_layers,
)
from ohmtrail.cli.marks.layout_free import beside, drawn_around
from ohmtrail.cli.marks.pad_flags import Flag, flags_of, step_lines
from ohmtrail.cli.marks.room import Box, Room, nearest

if TYPE_CHECKING:
    from ohmtrail.cli.marks.plan import MarkPlan
    from ohmtrail.netanalysis.board import Board, Pin
    from ohmtrail.netanalysis.probe_map.bodies import Body

__all__ = ["insertions", "project_files", "without_marks"]

#: Millimetres: text on flags, of suspects' numbers, of the legend; thin and thick line;
#: a frame's distance from the lands.
_FLAG, _NUMBER, _LEGEND = 0.8, 1.4, 1.2
_THIN, _THICK = 0.1, 0.3
_AROUND = 0.35
#: Height of a line of text and width of a letter of KiCad's own type, in sizes.
_PITCH, _LETTER = 1.5, 0.92
#: Distance of the legend from the board, and its column's height at least.
_APART, _COLUMN = 8.0, 60.0
#: Lines of the note on what only sheets show: the net is not traced in a layout.
_OF_SHEETS = ("Thick line", "Dashed line")
#: Letters in one of its lines.
_LONG = 64


def project_files(path: Path) -> list[Path]:
    """Return the layout and what KiCad reads beside it."""
    from ohmtrail.cli.marks.kicad_project import beside

    sheet = path.with_suffix(".kicad_sch")
    return list(dict.fromkeys([path, *(one for one in beside(path) if one != sheet)]))


def insertions(
    path: Path, board: "Board", plan: "MarkPlan"
) -> dict[Path, list[Insertion]]:
    """Return what goes into a layout: one block before its last bracket.

    Parameters
    ----------
    path : Path
        The ``.kicad_pcb`` file.
    board : Board
        What is marked.  If it was read from another file, the layout's own parts are
        looked up by the same names.
    plan : MarkPlan

    Returns
    -------
    dict
        Empty for a layout without parts.

    Raises
    ------
    ImporterError
        As reading the layout does, and if it is gzipped or marked, or has no layer
        that is free for people.

    Notes
    -----
    O(length of the file + marks).
    """
    from ohmtrail.importers._errors import ParseError
    from ohmtrail.importers._text import MAX_BYTES, first_bytes
    from ohmtrail.importers.kicad_layout._read import read

    if board.format != "kicad_layout":
        board = read(path)
    if not board.parts:
        return {}
    data = first_bytes(path, MAX_BYTES)
    if data.startswith(b"\x1f\x8b"):
        raise ParseError("found a gzipped layout, expected it unpacked", path)
    if without_marks(data) is not None:
        raise ParseError(
            "found marks of an earlier run, expected the original ('ohmtrail unmark' "
            "takes them out)",
            path,
        )
    layers = user_layers(data)
    if layers is None:
        raise ParseError(
            "found no user layer in the layers table, expected one for the marks "
            "(User.1 to User.9, Cmts.User, Dwgs.User, Eco1.User, Eco2.User)",
            path,
        )
    drawing = _Drawing(layout_dialect_of(data, int(board.version)), layers)
    drawing.around = drawn_around(data)
    drawing.mark(board, plan)
    newline, indent = drawing.dialect.newline, drawing.dialect.indent
    block = "".join(f"{indent}{item}{newline}" for item in drawing.items)
    at = data.rstrip().rfind(b")")
    if data[:at].endswith((b"\n", b"\r")):
        return {path: [Insertion(at, block.encode())]}
    return {path: [Insertion(at, (newline + block).encode())]}


def without_marks(data: bytes) -> bytes | None:
    """Return a layout that KiCad has written anew since, with the marks taken out.

    None if it holds none.

    Notes
    -----
    O(length of the file).
    """
    from ohmtrail.cli.marks.kicad_schematic import without_groups

    left = without_groups(
        data, lambda start, end: bool(OUR_DRAWING.match(data, start, end))
    )
    return left if len(left) < len(data) else None


@dataclass(slots=True)
class _Drawing:
    """What is drawn, and what of the board is covered by it."""

    dialect: LayoutDialect
    #: Of the top and of the bottom.
    layers: tuple[str, str]
    items: list[str] = field(default_factory=list)
    rooms: dict[str, Room] = field(default_factory=dict)
    #: Beside what it is drawn: other drawings, and the flags so far.
    around: list[Box] = field(default_factory=list)

    def mark(self, board: "Board", plan: "MarkPlan") -> None:
        from ohmtrail.netanalysis.probe_map.bodies import bodies, extent

        by_ref = {body.ref: body for body in bodies(board)}
        self.rooms = {layer: Room(_FLAG) for layer in self.layers}
        lost: list[str] = []
        self._suspects(plan, by_ref, lost)
        for cleared in plan.cleared:
            body = by_ref.get(cleared.ref)
            if body is None:
                lost.append(cleared.ref)
            else:
                ends = (body.left, body.bottom), (body.right, body.top)
                self._line(*ends, _side(body.side), _THIN)
        self._flags(board, plan, by_ref, lost)
        edges = extent(board)
        assert edges is not None, "a layout places its parts"
        self._legend(list(self._words(plan, lost)), edges)

    def _suspects(
        self, plan: "MarkPlan", by_ref: "dict[str, Body]", lost: list[str]
    ) -> None:
        for suspect in plan.suspects:
            body = by_ref.get(suspect.ref)
            if body is None:
                lost.append(suspect.ref)
                continue
            side = _side(body.side)
            box = _around(body)
            left, top, right, bottom = box
            corners = (left, top), (right, top), (right, bottom), (left, bottom)
            for start, end in zip(corners, (*corners[1:], corners[0]), strict=True):
                self._line(start, end, side, _THICK)
            self._room(side).keep_free(box)
            text = f"#{suspect.number}"
            wide, high = _width(text, _NUMBER), _NUMBER * _PITCH
            number = (left, top - high, left + wide, top)
            self._room(side).keep_free(number)
            self._text(text, number, side, _NUMBER)

    def _flags(
        self,
        board: "Board",
        plan: "MarkPlan",
        by_ref: "dict[str, Body]",
        lost: list[str],
    ) -> None:
        flags = []
        for flag in flags_of(plan):
            pin = _pin(board, flag.ref, flag.pin)
            if pin is None:
                lost.append(f"{flag.ref}.{flag.pin}")
            else:
                flags.append((flag, pin))
                x, y = _place(pin)
                spot = (x - _THICK, y - _THICK, x + _THICK, y + _THICK)
                self._room(_side(pin.side)).keep_free(spot)
        for flag, pin in flags:
            self._flag(flag, pin, by_ref[flag.ref].middle)

    def _flag(self, flag: Flag, pin: "Pin", middle: tuple[float, float]) -> None:
        side = _side(pin.side)
        at = _place(pin)
        for lines in (flag.lines, (flag.short,)):
            wide = max(_width(line, _FLAG) for line in lines)
            high = len(lines) * _FLAG * _PITCH
            box = self._room(side).place(at, wide, high, away_from=middle)
            if box is not None:
                break
        else:  # no room at all: on top of others rather than nowhere
            box = (at[0], at[1] - high, at[0] + wide, at[1])
        self.around.append(box)
        self._line(at, nearest(box, at), side, _THIN)
        step = _FLAG * _PITCH
        for n, line in enumerate(lines):
            top = box[1] + n * step
            self._text(line, (box[0], top, box[2], top + step), side, _FLAG)

    def _words(self, plan: "MarkPlan", lost: list[str]) -> Iterator[str]:
        top, bottom = self.layers
        yield from plan.note[:2]
        yield f"Marks of the top: layer {top}. Of the bottom: {bottom}, mirrored"
        if lost:
            missing = ", ".join(dict.fromkeys(lost))
            yield f"Not in this layout, so not marked: {missing}"
        for line in plan.note[2:]:
            if not line.startswith(_OF_SHEETS):
                yield line
        yield ""
        for suspect in plan.suspects:
            yield f"#{suspect.number} {suspect.ref}: {suspect.reason}"
        if plan.suspects:
            yield ""
        yield from step_lines(plan)

    def _legend(self, texts: list[str], edges: Box) -> None:
        lines = [line for text in texts for line in wrap(text, _LONG) or [""]]
        step = _LEGEND * _PITCH
        rows = max(1, int(max(edges[3] - edges[1], _COLUMN) / step))
        columns = [lines[at : at + rows] for at in range(0, len(lines), rows)]
        widths = [
            max(_width(line, _LEGEND) for line in column) + 3 * _LEGEND
            for column in columns
        ]
        size = sum(widths), min(rows, len(lines)) * step
        outside = [box for box in self.around if not _within(box, edges)]
        left, top = beside(edges, size, _APART, outside)
        for column, width in zip(columns, widths, strict=True):
            for n, line in enumerate(column):
                if line:
                    place = (left, top + n * step, left, top + (n + 1) * step)
                    self._text(line, place, "top", _LEGEND)
            left += width

    def _room(self, side: str) -> Room:
        return self.rooms[self._layer(side)]

    def _layer(self, side: str) -> str:
        return self.layers[side == "bottom"]

    def _line(
        self,
        start: tuple[float, float],
        end: tuple[float, float],
        side: str,
        width_mm: float,
    ) -> None:
        name = f"layout {len(self.items)}"
        self.items.append(
            self.dialect.line(start, end, self._layer(side), width_mm, name)
        )

    def _text(self, text: str, box: Box, side: str, size_mm: float) -> None:
        below = side == "bottom"
        place = (box[2] if below else box[0], (box[1] + box[3]) / 2)
        name = f"layout {len(self.items)}"
        layer = self._layer(side)
        self.items.append(
            self.dialect.text(text, place, layer, size_mm, name, mirrored=below)
        )


def _side(side: str) -> str:
    """Return the side to draw on; what is touched from both is drawn on top."""
    return "bottom" if side == "bottom" else "top"


def _within(box: Box, edges: Box) -> bool:
    return (
        edges[0] <= box[0]
        and edges[1] <= box[1]
        and box[2] <= edges[2]
        and box[3] <= edges[3]
    )


def _width(text: str, size_mm: float) -> float:
    return len(text) * _LETTER * size_mm


def _around(body: "Body") -> Box:
    return (
        body.left - _AROUND,
        body.top - _AROUND,
        body.right + _AROUND,
        body.bottom + _AROUND,
    )


def _pin(board: "Board", ref: str, number: str) -> "Pin | None":
    part = board.part_by_ref.get(ref)
    for pin in () if part is None else part.pins:
        if pin.number == number and pin.x_mm is not None and pin.y_mm is not None:
            return pin
    return None


def _place(pin: "Pin") -> tuple[float, float]:
    assert pin.x_mm is not None, pin
    assert pin.y_mm is not None, pin
    return pin.x_mm, pin.y_mm
