"""Room on a sheet that is full of other things: beside a place, on nothing else."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["Box", "SheetRoom", "Spot", "nearest_on"]

#: Left, top, right, bottom in millimetres; y down.
Box = tuple[float, float, float, float]

_CELL = 12.0
#: A line takes so much room on each side.
_LINE = 0.4
_DISTANCES = (1.0, 2.0, 3.5, 5.5, 8.0, 11.0, 15.0, 20.0, 27.0, 36.0)
_TURNS = 16
#: What a square millimetre of overlap costs, in millimetres of distance.
_OVERLAP = 8.0
_OFF_PAGE, _OFF_FRAME = 1_000.0, 25.0
#: The drawing sheet's frame, from the page's edges.
_FRAME = 12.0
#: A slanted line is taken as boxes of this size, one of more than so many not at all.
_PIECE, _PIECES_MAX = 3.0, 1_000
#: So many boxes larger than some hundred cells are heeded.
_LARGE_MAX = 100
#: Places that are tried for the note along one side of the page, at most.
_TRIED_MAX = 150
#: What each millimetre of a leader over something costs.
_CROSSING = 1.5
#: What turning away from the wished direction costs, in millimetres.
_TURNED = 1.2


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a mark goes."""

    box: Box
    #: What it covers, in square millimetres.
    covered: float


def nearest_on(box: Box, x: float, y: float) -> tuple[float, float]:
    """Return the point of a box that is nearest to a point."""
    return min(max(x, box[0]), box[2]), min(max(y, box[1]), box[3])


def _wide(box: Box) -> Box:
    left, top, right, bottom = box
    if right - left < 2 * _LINE:
        left, right = left - _LINE, right + _LINE
    if bottom - top < 2 * _LINE:
        top, bottom = top - _LINE, bottom + _LINE
    return left, top, right, bottom


class SheetRoom:
    """What is taken of a page.

    Parameters
    ----------
    page : (float, float)
        Width and height in millimetres.
    taken : iterable of Box
        What is drawn on it.
    """

    def __init__(self, page: tuple[float, float], taken: Iterable[Box] = ()) -> None:
        self.page = page
        self._cells: dict[tuple[int, int], list[Box]] = {}
        #: Boxes larger than some cells, asked one by one.
        self._large: list[Box] = []
        for box in taken:
            self.take(box)

    def _near(self, box: Box) -> Iterable[tuple[int, int]]:
        left, top, right, bottom = (math.floor(edge / _CELL) for edge in box)
        return ((x, y) for x in range(left, right + 1) for y in range(top, bottom + 1))

    def take(self, box: Box) -> None:
        """Note that a box is taken."""
        box = _wide(box)
        if (box[2] - box[0] + _CELL) * (box[3] - box[1] + _CELL) > 400 * _CELL**2:
            if len(self._large) < _LARGE_MAX:
                self._large.append(box)
            return
        for cell in self._near(box):
            self._cells.setdefault(cell, []).append(box)

    def take_line(self, x1: float, y1: float, x2: float, y2: float) -> None:
        """Note that a line is taken."""
        slanted = x1 != x2 and y1 != y2
        length = math.hypot(x2 - x1, y2 - y1)
        count = math.ceil(length / _PIECE) if slanted else 1
        if count > _PIECES_MAX:
            return
        for at in range(count):
            xs = sorted(x1 + (x2 - x1) * part / count for part in (at, at + 1))
            ys = sorted(y1 + (y2 - y1) * part / count for part in (at, at + 1))
            self.take((xs[0], ys[0], xs[1], ys[1]))

    def covered(self, box: Box) -> float:
        """Return how much of what is taken a box would cover, in square millimetres.

        Notes
        -----
        O(boxes near it).
        """
        left, top, right, bottom = box
        seen: set[int] = set()
        total = 0.0
        groups = [self._cells.get(cell, []) for cell in self._near(box)]
        for group in (*groups, self._large):
            for one in group:
                if id(one) in seen:
                    continue
                seen.add(id(one))
                wide = min(right, one[2]) - max(left, one[0])
                high = min(bottom, one[3]) - max(top, one[1])
                if wide > 0 and high > 0:
                    total += wide * high
        return total

    def beside(
        self,
        x: float,
        y: float,
        size: tuple[float, float],
        away: tuple[float, float] = (0.0, -1.0),
    ) -> Spot:
        """Return a place for a box beside a point.

        Parameters
        ----------
        x, y : float
            The point.
        size : (float, float)
            Width and height.
        away : (float, float)
            Direction in which it had best go.

        Notes
        -----
        Tries some 160 places; the search ends at the first ring that costs more than
        the best place found.
        """
        start = math.atan2(away[1], away[0])
        best: tuple[float, Box, float] | None = None
        for distance in _DISTANCES:
            if best is not None and best[0] <= distance:
                break
            for step in range(_TURNS):
                # 0, 1, -1, 2, -2 ... sixteenths of a turn
                turn = (step + 1) // 2 * (1 if step % 2 else -1)
                angle = start + turn * 2 * math.pi / _TURNS
                box = _at(x, y, distance, angle, size)
                covered = self.covered(_padded(box))
                cost = distance + _TURNED * abs(turn) + _OVERLAP * covered
                cost += 0.0 if self._within(box, 1.0) else _OFF_PAGE
                cost += 0.0 if self._within(box, _FRAME) else _OFF_FRAME
                if best is None or cost < best[0]:
                    cost += _CROSSING * self._crossed(x, y, box)
                if best is None or cost < best[0]:
                    best = cost, box, covered
        assert best is not None
        return Spot(best[1], best[2])

    def _crossed(self, x: float, y: float, box: Box) -> int:
        """Return how many millimetres of a leader run over more than a line."""
        end = nearest_on(box, x, y)
        steps = math.ceil(math.hypot(end[0] - x, end[1] - y))
        return sum(
            self._hit(x + (end[0] - x) * at / steps, y + (end[1] - y) * at / steps)
            for at in range(1, steps)
        )

    def _hit(self, x: float, y: float) -> bool:
        cell = math.floor(x / _CELL), math.floor(y / _CELL)
        return any(
            one[0] < x < one[2]
            and one[1] < y < one[3]
            and min(one[2] - one[0], one[3] - one[1]) > 2.1 * _LINE
            for one in self._cells.get(cell, ())
        )

    def _within(self, box: Box, margin: float) -> bool:
        return (
            box[0] >= margin
            and box[1] >= margin
            and box[2] <= self.page[0] - margin
            and box[3] <= self.page[1] - margin
        )

    def free(self, size: tuple[float, float]) -> Box | None:
        """Return a free place of a size in the frame, None if there is none.

        Notes
        -----
        Tries a place every four millimetres, or 150 along a side.
        """
        wide, high = size
        margin = _FRAME + 1.0
        step = max(4.0, max(self.page) / _TRIED_MAX)
        y = margin
        while y + high <= self.page[1] - margin:
            x = margin
            while x + wide <= self.page[0] - margin:
                box = (x, y, x + wide, y + high)
                if not self.covered(_padded(box)):
                    return box
                x += step
            y += step
        return None

    def outside(self, size: tuple[float, float]) -> Box:
        """Return a place of a size right of the page."""
        x = self.page[0] + _FRAME
        return x, _FRAME, x + size[0], _FRAME + size[1]


def _padded(box: Box) -> Box:
    return box[0] - 0.5, box[1] - 0.5, box[2] + 0.5, box[3] + 0.5


def _at(
    x: float, y: float, distance: float, angle: float, size: tuple[float, float]
) -> Box:
    """Return a box whose near side is at a distance in a direction."""
    dx, dy = math.cos(angle), math.sin(angle)
    x, y = x + distance * dx, y + distance * dy
    left = x - size[0] * _share(dx)
    top = y - size[1] * _share(dy)
    return left, top, left + size[0], top + size[1]


def _share(part: float) -> float:
    """Return how much of the box lies before the point: none, half or all."""
    return 0.0 if part > 0.3 else 1.0 if part < -0.3 else 0.5
