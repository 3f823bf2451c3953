"""The marks of one sheet: what is drawn where.

Colours are told apart by people who see few of them (Okabe and Ito, *Color
Universal Design*, 2008), and no meaning rests on a colour alone: the net is thick,
suspects have a frame and a number, flags a sign and a leader.
"""

from collections.abc import Iterable

from ohmtrail.cli.marks.flags import flag_lines
from ohmtrail.cli.marks.kicad_dialect import Colour, Line, Style, Text
from ohmtrail.cli.marks.plan import MarkPlan, ProbeMark, Suspect
from ohmtrail.cli.marks.sheet_room import Box, SheetRoom, nearest_on
from ohmtrail.cli.marks.sheet_uses import use_names, uses_note
from ohmtrail.cli.render.plain import shown
from ohmtrail.importers.kicad_schematic.drawn import (
    DrawnPin,
    DrawnSheet,
    DrawnSymbol,
)

__all__ = ["sheet_marks"]

_ORANGE: Colour = (230, 159, 0, 0.55)
_VERMILION: Colour = (213, 94, 0, 1)
_BLUE: Colour = (0, 114, 178, 1)
_GREEN: Colour = (0, 158, 115, 1)
_BLACK: Colour = (0, 0, 0, 1)
_NET = Style(_ORANGE, 0.9)
_JOINED = Style(_ORANGE, 0.6, "dash")
_FRAME = Style(_VERMILION, 0.4)
_STROKE = Style(_GREEN, 0.25)
_LEADER = Style(_BLUE, 0.15)

_TEXT_MM, _FLAG_MM = 1.27, 1.0
#: Sizes of the note, and letters in its line, the best first.
_NOTE_MM, _NOTE_WIDE = (1.27, 1.0), (64, 40, 110)
#: Width of a letter and pitch of lines in text heights, as KiCad's font has them.
_LETTER, _PITCH = 0.95, 1.62
#: Letters in a line of a flag, of a suspect.
_FLAG_WIDE, _SUSPECT_WIDE = 40, 34
#: Kept free around the words at a suspect.
_APART_MM = 1.0
#: Height of a pin's number.
_NUMBER_MM = 1.3
#: The title block of KiCad's own drawing sheet, from the lower right corner.
_TITLE_MM = (122.0, 46.0)

Mark = Line | Text


def _size(lines: Iterable[str], size_mm: float) -> tuple[float, float]:
    lines = tuple(lines)
    wide = max(map(len, lines)) * size_mm * _LETTER
    return wide, ((len(lines) - 1) * _PITCH + 1.2) * size_mm


def _fold(text: str, width: int) -> list[str]:
    import textwrap

    return textwrap.wrap(text, width, break_on_hyphens=False) or [""]


class _Sheet:
    def __init__(self, sheet: DrawnSheet, plan: MarkPlan) -> None:
        self.sheet = sheet
        self.plan = plan
        self.names = use_names(sheet.uses)
        self.marks: list[Mark] = []
        self.room = self._room()
        self.suspects = {one.ref: one for one in plan.suspects}
        self.cleared = {one.ref for one in plan.cleared}

    def _room(self) -> SheetRoom:
        """Return the page with all that is on it."""
        sheet = self.sheet
        wide, high = sheet.page_mm
        title = (wide - _TITLE_MM[0], high - _TITLE_MM[1], wide, high)
        room = SheetRoom(sheet.page_mm, (*sheet.taken_mm, title))
        for line in sheet.lines_mm:
            room.take_line(*line)
        for wire in sheet.wires:
            room.take_line(wire.x1_mm, wire.y1_mm, wire.x2_mm, wire.y2_mm)
        for symbol in sheet.symbols:
            room.take(symbol.body_mm)
            for pin in symbol.pins:
                if not pin.hidden:
                    room.take(_pin_box(pin))
        return room

    def line(
        self, start: tuple[float, float], end: tuple[float, float], style: Style
    ) -> None:
        if start != end:
            self.marks.append(Line(*start, *end, style))

    def text(
        self, lines: Iterable[str], box: Box, size_mm: float, colour: Colour
    ) -> None:
        lines = [shown(line) for line in lines]
        foot = box[3] - 0.1 * size_mm
        self.marks.append(Text("\n".join(lines), box[0], foot, size_mm, colour))
        self.room.take(box)

    def nets(self) -> None:
        """Lay a line over wires and pins of the net and of those joined with it."""
        wanted = {net: _JOINED for net in self.plan.nets[1:]}
        wanted[self.plan.nets[0]] = _NET
        for net, style in wanted.items():
            spans = [
                ((one.x1_mm, one.y1_mm), (one.x2_mm, one.y2_mm), one.nets)
                for one in self.sheet.wires
                if net in one.nets
            ]
            spans += [
                ((pin.x_mm, pin.y_mm), (pin.root_x_mm, pin.root_y_mm), pin.nets)
                for symbol in self.sheet.symbols
                for pin in symbol.pins
                if net in pin.nets and not pin.hidden
            ]
            for start, end, _ in spans:
                self.line(start, end, style)
            self._partly(net, spans)

    def _partly(
        self,
        net: str,
        spans: list[
            tuple[tuple[float, float], tuple[float, float], tuple[str | None, ...]]
        ],
    ) -> None:
        """Name the uses where only some of them are on the net."""
        partly = [span for span in spans if any(one != net for one in span[2])]
        if not partly:
            return
        (ax, ay), (bx, by), nets = max(
            partly, key=lambda span: _length(span[0], span[1])
        )
        uses = self.sheet.uses
        here = [use for use, one in zip(uses, nets, strict=True) if one == net]
        lines = _fold(f"only in {', '.join(here)}: {net}", _FLAG_WIDE)
        x, y = (ax + bx) / 2, (ay + by) / 2
        spot = self.room.beside(x, y, _size(lines, _FLAG_MM))
        self.text(lines, spot.box, _FLAG_MM, _VERMILION)

    def parts(self) -> None:
        """Frame suspects, strike what is cleared."""
        for symbol in self.sheet.symbols:
            if symbol.power:
                continue
            if any(ref in self.suspects for ref in symbol.refs):
                self._suspect(symbol)
        for symbol in self.sheet.symbols:
            if not symbol.power:
                self._cleared(symbol)

    def _named(self, symbol: DrawnSymbol, ref: str) -> str:
        if len(self.sheet.uses) == 1:
            return ref
        return f"{ref} in {self.sheet.uses[symbol.refs.index(ref)]}"

    def _suspect(self, symbol: DrawnSymbol) -> None:
        left, top, right, bottom = _frame(symbol)
        corners = ((left, top), (right, top), (right, bottom), (left, bottom))
        for at, corner in enumerate(corners):
            self.line(corner, corners[(at + 1) % 4], _FRAME)
        found = [
            (ref, self.suspects[ref])
            for ref in dict.fromkeys(symbol.refs)
            if ref in self.suspects
        ]
        lines = []
        for ref, one in found:
            head = f"#{one.number} {self._named(symbol, ref)}: {one.reason}"
            lines += _fold(head + _others(one), _SUSPECT_WIDE)
        size = _size(lines, _TEXT_MM)
        self.room.take((left, top, right, bottom))
        spots = [
            self.room.beside(x, y, size, away)
            for x, y, away in (
                ((left + right) / 2, top, (0.0, -1.0)),
                ((left + right) / 2, bottom, (0.0, 1.0)),
                (right, (top + bottom) / 2, (1.0, 0.0)),
                (left, (top + bottom) / 2, (-1.0, 0.0)),
            )
        ]
        spot = min(
            spots, key=lambda one: one.covered * 8 + _away(one.box, _frame(symbol))
        )
        near = nearest_on((left, top, right, bottom), *_middle(spot.box))
        end = nearest_on(spot.box, *near)
        if _length(near, end) > 1.5:
            self.line(near, end, Style(_VERMILION, 0.15))
        self.text(lines, spot.box, _TEXT_MM, _VERMILION)
        self.room.take(_grown(spot.box, _APART_MM))

    def _cleared(self, symbol: DrawnSymbol) -> None:
        refs = list(dict.fromkeys(symbol.refs))
        cleared = [ref for ref in refs if ref in self.cleared]
        if not cleared:
            return
        left, top, right, bottom = symbol.body_mm
        if len(cleared) == len(refs):
            self.line((left, bottom), (right, top), _STROKE)
            return
        named = ", ".join(self._named(symbol, ref) for ref in cleared)
        lines = _fold(f"cleared: {named}", _FLAG_WIDE)
        size = _size(lines, _FLAG_MM)
        spot = self.room.beside((left + right) / 2, top, size)
        self.text(lines, spot.box, _FLAG_MM, _GREEN)

    def flags(self) -> None:
        """Put a flag at each pad that a step of the checklist touches."""
        wanted: dict[tuple[str, str], list[ProbeMark]] = {}
        for probe in self.plan.probes:
            wanted.setdefault((probe.ref, probe.pin), []).append(probe)
        for symbol in self.sheet.symbols:
            if symbol.power:
                continue
            for pin in symbol.pins:
                found = [
                    (name, probe)
                    for name, ref in zip(self.names, symbol.refs, strict=True)
                    for probe in wanted.get((ref, pin.number), ())
                ]
                if found:
                    self._flag(symbol, pin, flag_lines(found))

    def _flag(self, symbol: DrawnSymbol, pin: DrawnPin, lines: tuple[str, ...]) -> None:
        folded = [row for line in lines for row in _fold(line, _FLAG_WIDE)]
        x, y = (pin.x_mm + pin.root_x_mm) / 2, (pin.y_mm + pin.root_y_mm) / 2
        away = pin.x_mm - pin.root_x_mm, pin.y_mm - pin.root_y_mm
        if away == (0.0, 0.0):
            mx, my = _middle(symbol.body_mm)
            away = (x - mx, y - my) if (x, y) != (mx, my) else (0.0, -1.0)
        spot = self.room.beside(x, y, _size(folded, _FLAG_MM), away)
        self.line((x, y), nearest_on(spot.box, x, y), _LEADER)
        self.text(folded, spot.box, _FLAG_MM, _BLUE)

    def note(self) -> None:
        """Put the note where the page is free: smaller, or shorter, on a full page."""
        *told, last = self.plan.note
        uses = tuple(uses_note(self.sheet.uses))
        lines = (*told, *uses, last)
        signs = "What the signs mean stands on the first sheet"
        brief = (*told[:2], *uses, signs, last)
        sizes = [
            (text, size, wide)
            for text in (lines, brief)
            for size in _NOTE_MM
            for wide in _NOTE_WIDE
        ]
        for text, size_mm, wide in sizes:
            folded = [row for line in text for row in _fold(line, wide)]
            box = self.room.free(_size(folded, size_mm))
            if box is not None:
                self.text(folded, box, size_mm, _BLACK)
                return
        folded = [row for line in lines for row in _fold(line, _NOTE_WIDE[0])]
        box = self.room.outside(_size(folded, _NOTE_MM[0]))
        self.text(folded, box, _NOTE_MM[0], _BLACK)


def _others(one: Suspect) -> str:
    return f"; or {', '.join(one.faults[1:])}" if one.faults[1:] else ""


def _length(a: tuple[float, float], b: tuple[float, float]) -> float:
    return abs(a[0] - b[0]) + abs(a[1] - b[1])


def _middle(box: Box) -> tuple[float, float]:
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def _away(box: Box, other: Box) -> float:
    near = nearest_on(other, *_middle(box))
    return _length(near, nearest_on(box, *near))


def _pin_box(pin: DrawnPin) -> Box:
    """Return the room of a pin, its number above it or left of it included."""
    xs, ys = sorted((pin.x_mm, pin.root_x_mm)), sorted((pin.y_mm, pin.root_y_mm))
    if xs[0] == xs[1]:
        return xs[0] - _NUMBER_MM, ys[0], xs[1], ys[1]
    return xs[0], ys[0] - _NUMBER_MM, xs[1], ys[1]


def _grown(box: Box, by: float) -> Box:
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def _frame(symbol: DrawnSymbol) -> Box:
    """Return a box around a symbol: its body with a margin."""
    return _grown(symbol.body_mm, 1.0)


def sheet_marks(
    sheet: DrawnSheet, plan: MarkPlan, *, always: bool = False
) -> tuple[Mark, ...]:
    """Return the marks of a sheet, lines first; none where nothing is to be marked.

    Parameters
    ----------
    sheet : DrawnSheet
    plan : MarkPlan
    always : bool
        Put the note there even where nothing else is to be marked.

    Notes
    -----
    O(marks); each text tries some 160 places.
    """
    made = _Sheet(sheet, plan)
    made.nets()
    made.parts()
    made.flags()
    if made.marks or always:
        made.note()
    return tuple(sorted(made.marks, key=lambda one: isinstance(one, Text)))
