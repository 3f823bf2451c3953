"""Straight lines of a sheet: which overlap, and which pass through a point."""

from bisect import bisect_right
from collections.abc import Callable
from math import gcd

from ohmtrail.importers.kicad_legacy._model import Point

__all__ = ["Through"]

#: A direction (dx, dy) in lowest terms, pointing right or straight down.
_Way = tuple[int, int]
#: Starts, ends and a point of each line on one straight.
_Row = tuple[list[int], list[int], list[Point]]


class Through:
    """Finds the line that passes through a point.

    Lines of one direction that overlap, or meet end to end, count as one line.

    Parameters
    ----------
    lines : list of pairs of points
        The lines.
    join : callable
        Is given two points of lines that count as one.

    Notes
    -----
    O(n log n) to build; a look-up is O(d log n) for d directions.
    """

    def __init__(
        self,
        lines: list[tuple[Point, Point]],
        join: Callable[[Point, Point], None],
    ) -> None:
        rows: dict[_Way, dict[int, list[tuple[int, int, Point]]]] = {}
        for a, b in lines:
            dx, dy = b[0] - a[0], b[1] - a[1]
            if dx < 0 or (dx == 0 and dy < 0):
                dx, dy, a, b = -dx, -dy, b, a
            size = gcd(dx, dy)
            if not size:
                continue
            way = dx // size, dy // size
            low, high = (a[0], b[0]) if dx else (a[1], b[1])
            offset = way[0] * a[1] - way[1] * a[0]
            rows.setdefault(way, {}).setdefault(offset, []).append((low, high, a))
        #: Starts, ends and a point of each line, by direction and offset.
        self._rows: list[tuple[int, int, dict[int, _Row]]] = [
            (way[0], way[1], {k: self._merge(v, join) for k, v in groups.items()})
            for way, groups in rows.items()
        ]

    @staticmethod
    def _merge(
        spans: list[tuple[int, int, Point]], join: Callable[[Point, Point], None]
    ) -> _Row:
        spans.sort()
        lows: list[int] = []
        highs: list[int] = []
        points: list[Point] = []
        for low, high, point in spans:
            if highs and low <= highs[-1]:
                join(points[-1], point)
                highs[-1] = max(highs[-1], high)
            else:
                lows.append(low)
                highs.append(high)
                points.append(point)
        return lows, highs, points

    @property
    def directions(self) -> int:
        """Number of directions that the lines have: two in most drawings."""
        return len(self._rows)

    def __call__(self, point: Point) -> list[Point]:
        """Return a point of each line that passes through ``point``, ends too."""
        x, y = point
        found: list[Point] = []
        for dx, dy, groups in self._rows:
            group = groups.get(dx * y - dy * x)
            if group is None:
                continue
            along = x if dx else y
            index = bisect_right(group[0], along) - 1
            if index >= 0 and along <= group[1][index]:
                found.append(group[2][index])
        return found
