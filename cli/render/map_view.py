"""A piece of the board as lines: outline, parts, lands, at some scale."""

import itertools
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ohmtrail.cli.render.drawing import Item, Line, Polyline, Rect
from ohmtrail.netanalysis.board import Board
from ohmtrail.netanalysis.probe_map.bodies import Body, land

__all__ = ["BoardLines", "View"]

_OUTLINE, _BODY = 0.35, 0.1

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class View:
    """A window of the board, and where on paper it goes.

    The bottom is mirrored left to right, as seen when the board is turned over.
    """

    side: str
    #: Millimetres on the board.
    left: float
    top: float
    right: float
    bottom: float
    #: Paper millimetres for a board millimetre.
    scale: float
    #: Upper left corner on paper.
    x_mm: float
    y_mm: float

    @property
    def width_mm(self) -> float:
        """On paper."""
        return (self.right - self.left) * self.scale

    @property
    def height_mm(self) -> float:
        """On paper."""
        return (self.bottom - self.top) * self.scale

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Return where on paper a point of the board is."""
        across = self.right - x if self.side == "bottom" else x - self.left
        return self.x_mm + across * self.scale, self.y_mm + (y - self.top) * self.scale

    def box(self, left: float, top: float, right: float, bottom: float) -> Box | None:
        """Return x, y, width, height on paper of a box, cut off at the window."""
        left, right = max(left, self.left), min(right, self.right)
        top, bottom = max(top, self.top), min(bottom, self.bottom)
        if left >= right or top >= bottom:
            return None
        x, y = self.at(right if self.side == "bottom" else left, top)
        return x, y, (right - left) * self.scale, (bottom - top) * self.scale

    def shows(self, x: float, y: float) -> bool:
        """Whether a point of the board is in the window."""
        return self.left <= x <= self.right and self.top <= y <= self.bottom

    def line(
        self, a: tuple[float, float], b: tuple[float, float]
    ) -> tuple[float, float, float, float] | None:
        """Return a line on paper, cut off at the window (Liang and Barsky 1984)."""
        dx, dy = b[0] - a[0], b[1] - a[1]
        start, end = 0.0, 1.0
        for p, q in (
            (-dx, a[0] - self.left),
            (dx, self.right - a[0]),
            (-dy, a[1] - self.top),
            (dy, self.bottom - a[1]),
        ):
            if p == 0:
                if q < 0:
                    return None
            elif p < 0:
                start = max(start, q / p)
            else:
                end = min(end, q / p)
        if start > end:
            return None
        first = self.at(a[0] + start * dx, a[1] + start * dy)
        return (*first, *self.at(a[0] + end * dx, a[1] + end * dy))


class BoardLines:
    """Draws views of one board."""

    def __init__(self, board: Board, all_bodies: Iterable[Body]) -> None:
        self.outline = board.outline_mm
        self.bodies = tuple(all_bodies)
        #: (x, y, width, height, side) of every land.
        self.lands = [
            (pin.x_mm, pin.y_mm, *land(pin), pin.side)
            for part in board.parts
            for pin in part.pins
            if pin.x_mm is not None and pin.y_mm is not None
        ]

    def draw(self, view: View) -> Iterator[Item]:
        """Give the lines of a view: lands first, then bodies, then the outline."""
        for x, y, width, height, side in self.lands:
            if (side or "top") not in (view.side, "both"):
                continue
            box = view.box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
            if box is not None:
                yield Rect(*box, stroke_mm=0, fill="grey")
        for body in self.bodies:
            if body.seen(view.side):
                box = view.box(body.left, body.top, body.right, body.bottom)
                if box is not None:
                    yield Rect(*box, stroke_mm=_BODY)
        for line in self.outline:
            whole = all(view.shows(x, y) for x, y in line)
            if whole and len(line) > 1:
                points = tuple(view.at(x, y) for x, y in line)
                yield Polyline(points, stroke_mm=_OUTLINE)
                continue
            for a, b in itertools.pairwise(line):
                cut = view.line(a, b)
                if cut is not None:
                    yield Line(*cut, stroke_mm=_OUTLINE)

    def boxes(self, view: View) -> Iterator[tuple[str, Box]]:
        """Give every part in a view with its box on paper: x, y, width, height."""
        for body in self.bodies:
            if body.seen(view.side):
                box = view.box(body.left, body.top, body.right, body.bottom)
                if box is not None:
                    yield body.ref, box
