"""Places for texts beside points, none on top of another."""

from collections.abc import Iterator
from math import hypot

__all__ = ["Box", "Room", "nearest"]

#: left, top, right, bottom in the units of the drawing; top is the smaller number.
Box = tuple[float, float, float, float]

#: Distances that are tried, in heights of the text, and directions at each.
_AWAY = (0.6, 1.5, 3.0, 5.0, 7.5, 10.0)
_WAYS = (
    (1.0, 0.0), (-1.0, 0.0), (1.0, -1.0), (-1.0, -1.0), (1.0, 1.0), (-1.0, 1.0),
    (0.0, -1.0), (0.0, 1.0),
)  # fmt: skip


class Room:
    """What is taken of a drawing.

    Parameters
    ----------
    text_high : float
        Height of the texts, the measure of distances.

    Examples
    --------
    >>> room = Room(5.0)
    >>> room.place((0.0, 0.0), 20.0, 4.0)
    (3.0, -2.0, 23.0, 2.0)
    >>> room.place((0.0, 0.0), 20.0, 4.0)
    (-23.0, -2.0, -3.0, 2.0)
    """

    def __init__(self, text_high: float) -> None:
        self._high = text_high
        self._cell = 8 * text_high
        self._taken: dict[tuple[int, int], list[Box]] = {}
        self._lines: dict[tuple[int, int], list[Box]] = {}

    def _cells(self, box: Box) -> Iterator[tuple[int, int]]:
        left, top, right, bottom = (int(side // self._cell) for side in box)
        for x in range(left, right + 1):
            for y in range(top, bottom + 1):
                yield x, y

    def keep_free(self, box: Box) -> None:
        """Let no text cover a box."""
        for cell in self._cells(box):
            self._taken.setdefault(cell, []).append(box)

    def is_free(self, box: Box) -> bool:
        """Whether a box covers nothing that is taken."""
        return not self._covers(self._taken, box)

    def _covers(self, what: dict[tuple[int, int], list[Box]], box: Box) -> int:
        """Count what a box covers; a large thing may count more than once."""
        return sum(
            box[0] < other[2]
            and other[0] < box[2]
            and box[1] < other[3]
            and other[1] < box[3]
            for cell in self._cells(box)
            for other in what.get(cell, ())
        )

    def place(
        self,
        point: tuple[float, float],
        wide: float,
        high: float,
        *,
        away_from: tuple[float, float] | None = None,
    ) -> Box | None:
        """Take room for a text near a point: near, and with a clear way to it.

        Parameters
        ----------
        point : (float, float)
            What the text belongs to.
        wide, high : float
            Size of the text.
        away_from : (float, float), optional
            Middle of the part: at each distance the side away from it comes first.

        Returns
        -------
        Box or None
            None where nothing near is free; of the free places the nearest where
            least is crossed by the line to it, and least lines are covered.

        Notes
        -----
        O(texts in the neighbourhood), 48 places tried.
        """
        x, y = point
        ways = list(_WAYS)
        if away_from is not None:
            dx, dy = x - away_from[0], y - away_from[1]
            length = hypot(dx, dy) or 1.0
            ways.sort(
                key=lambda way: -(way[0] * dx + way[1] * dy) / length / hypot(*way)
            )
        best: tuple[int, Box] | None = None
        for away in _AWAY:
            gap = away * self._high
            for across, down in ways:
                left = x + across * gap - wide / 2 + across * wide / 2
                top = y + down * gap - high / 2 + down * high / 2
                box = (left, top, left + wide, top + high)
                if not self.is_free(box):
                    continue
                crossed = self._covers(self._lines, box)
                crossed += sum(
                    self._covers(self._taken, dot)
                    for dot in self._dots(point, nearest(box, point))
                )
                if best is None or crossed < best[0]:
                    best = crossed, box
                if not crossed:
                    break
            if best is not None and not best[0]:
                break
        if best is None:
            return None
        self.keep_free(best[1])
        for dot in self._dots(point, nearest(best[1], point)):
            for cell in self._cells(dot):
                self._lines.setdefault(cell, []).append(dot)
        return best[1]

    def _dots(
        self, start: tuple[float, float], end: tuple[float, float]
    ) -> Iterator[Box]:
        """Give points of a text's own line, but for its ends."""
        dx, dy = end[0] - start[0], end[1] - start[1]
        length = hypot(dx, dy)
        for n in range(1, int(2 * length / self._high)):
            part = n * self._high / 2 / length
            x, y = start[0] + dx * part, start[1] + dy * part
            yield x, y, x, y


def nearest(box: Box, point: tuple[float, float]) -> tuple[float, float]:
    """Return the point of a box that is nearest to another point.

    Examples
    --------
    >>> nearest((1.0, 1.0, 3.0, 2.0), (0.0, 1.5))
    (1.0, 1.5)
    """
    left, top, right, bottom = box
    return min(max(point[0], left), right), min(max(point[1], top), bottom)
