"""The way round the board as a table: one step a line, in two columns."""

from collections.abc import Sequence

from ohmtrail.cli.render.drawing import Drawing, Item, Line, Text
from ohmtrail.cli.render.step_numbers import all_numbers
from ohmtrail.cli.render.text_width import cut, wrapped
from ohmtrail.cli.render.units import range_text
from ohmtrail.netanalysis.checklist.model import LOOK, Step
from ohmtrail.netanalysis.probe_map.places import StepPlaces
from ohmtrail.netanalysis.probe_map.walk import Leg, ProbeMap

__all__ = ["table_pages", "turned_words"]

_GAP, _HEAD = 6.0, 18.0
_ROW, _SIZE = 3.9, 2.6
#: Where in a column things begin.
_RED, _BLACK, _EXPECT = 8.0, 27.0, 46.0
_RANKS = ("rails first", "parts", "with parts off the board", "after the repair")


def _leg_title(leg: Leg, turned: bool) -> str:
    phase = leg.stops[0].steps[0].step.phase
    title = f"{phase[:1].upper()}{phase[1:]}"
    if leg.rank[0] == 1:
        title += f", {_RANKS[leg.rank[1]]}"
    title += f": {leg.side} side"
    return f"Turn the board. {title}" if turned else title


def turned_words(way: ProbeMap) -> str:
    """Say how often the board is turned over."""
    few = {0: "not turned", 1: "turned once", 2: "turned twice"}
    return few.get(way.turns, f"turned {way.turns} times")


class _Columns:
    """Fills columns and pages from the top left."""

    def __init__(self, title: str, note: str, width: float, height: float) -> None:
        self.title, self.note = title, note
        self.width, self.height = width, height
        self.column = (width - _GAP) / 2
        self.pages: list[Drawing] = []
        self.items: list[Item] = []
        self.x, self.y, self.lowest = 0.0, _HEAD, _HEAD

    def room(self, rows: float) -> None:
        """Go to the next column where so many rows do not fit."""
        if self.y + rows * _ROW <= self.height:
            return
        if self.x == 0.0:
            self.x, self.y = self.column + _GAP, _HEAD
        else:
            self.finish()

    def text(self, x: float, text: str, size: float, *, bold: bool = False) -> None:
        self.items.append(Text(self.x + x, self.y, text, size, bold=bold))

    def next(self, rows: float = 1.0) -> None:
        self.y += rows * _ROW
        self.lowest = max(self.lowest, self.y)

    def finish(self) -> None:
        if not self.items:
            return
        head: list[Item] = [
            Text(0, 4.5, cut(self.title, 4.0, self.width, bold=True), 4.0, bold=True)
        ]
        for number, line in enumerate(wrapped(self.note, 2.6, self.width)[:2]):
            head.append(Text(0, 8.6 + 3.4 * number, line, 2.6))
        head.append(Line(0, 13.6, self.width, 13.6, stroke_mm=0.3))
        self.pages.append(
            Drawing(self.width, self.lowest, (*head, *self.items), self.title)
        )
        self.items, self.x, self.y, self.lowest = [], 0.0, _HEAD, _HEAD


def _expected(step: Step) -> str:
    text = step.mode or ""
    if step.expect is not None:
        text = range_text(step.expect.low, step.expect.high, step.expect.unit)
        if step.mode not in ("resistance", None):
            text = f"{step.mode}, {text}"
    return text


def _row(columns: _Columns, one: StepPlaces) -> None:
    step = one.step
    columns.room(1)
    columns.text(0, str(step.n), _SIZE, bold=True)
    if step.mode is None:
        parts = " ".join(step.parts) or one.place.name
        word = "look: " if step.phase == LOOK else "note: "
        text = cut(word + parts, _SIZE, columns.column - _RED)
        columns.text(_RED, text, _SIZE)
    else:
        red = one.place.name
        black = one.black.name if one.black is not None else step.minus or ""
        columns.text(_RED, cut(red, _SIZE, _BLACK - _RED - 1), _SIZE)
        columns.text(_BLACK, cut(black, _SIZE, _EXPECT - _BLACK - 1), _SIZE)
        room = columns.column - _EXPECT
        columns.text(_EXPECT, cut(_expected(step), _SIZE, room), _SIZE)
    columns.next()


def table_pages(
    board: str, way: ProbeMap, width_mm: float, height_mm: float
) -> list[Drawing]:
    """Return the way round as pages of text in two columns.

    Parameters
    ----------
    board : str
        Name of the design.
    way : ProbeMap
        The way.
    width_mm, height_mm : float
        Of a page; the last may be lower.

    Returns
    -------
    list of Drawing
        Every placed step once, in the order of the way; then the numbers of those
        that have no position.
    """
    note = (
        f"The red lead travels {way.length_mm:.0f} mm; the board is "
        f"{turned_words(way)}. What a reading means is in the checklist. Look before "
        "touch, rails before parts, power last."
    )
    columns = _Columns(f"{board}: the way round", note, width_mm, height_mm)
    side = way.legs[0].side if way.legs else ""
    for leg in way.legs:
        columns.room(4)
        if columns.y > _HEAD:
            columns.next(0.5)
        lines = wrapped(_leg_title(leg, leg.side != side), 2.9, columns.column * 0.93)
        for line in lines:
            columns.text(0, line, 2.9, bold=True)
            columns.next()
        side = leg.side
        if any(one.step.mode for stop in leg.stops for one in stop.steps):
            for x, word in ((0, "step"), (_RED, "red"), (_BLACK, "black")):
                columns.text(x, word, 2.2)
            columns.text(_EXPECT, "expect", 2.2)
            columns.next()
        for stop in leg.stops:
            for one in stop.steps:
                _row(columns, one)
    _unplaced(columns, way.unplaced)
    columns.finish()
    return columns.pages


def _unplaced(columns: _Columns, steps: Sequence[Step]) -> None:
    if not steps:
        return
    numbers = all_numbers([step.n for step in steps])
    text = f"Steps whose points have no position in the files: {numbers}"
    for line in wrapped(text, _SIZE, columns.column):
        columns.room(1)
        columns.text(0, line, _SIZE)
        columns.next()
