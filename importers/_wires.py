"""Which straight wires touch, and which of them pass through a point."""

from bisect import bisect_right
from collections.abc import Iterable, Sequence

from ohmtrail.importers._union import Union

__all__ = ["Slanted", "SlantedError", "Wire", "WireIndex", "join_wires"]

#: Ends of a wire: x1, y1, x2, y2 in any one unit.
Wire = tuple[float, float, float, float]
Point = tuple[float, float]


#: Comparisons of points with slanted wires, at most: some seconds.
_SLANTED_MAX = 5_000_000


class SlantedError(ValueError):
    """So many long slanted wires that nobody drew them."""


class Slanted:
    """A grid about as coarse as slanted wires are long, to find those near a point.

    Parameters
    ----------
    wires : sequence of Wire
        All wires.
    chosen : sequence of int
        Indices of those that are slanted.

    Raises
    ------
    SlantedError
        Here or later, when the work comes to more than some seconds.
    """

    def __init__(self, wires: Sequence[Wire], chosen: Sequence[int]) -> None:
        self._cells: dict[Point, list[int]] = {}
        self._long: list[int] = []
        self._work = 0
        lengths = sorted(
            max(abs(w[2] - w[0]), abs(w[3] - w[1])) for w in (wires[k] for k in chosen)
        )
        self._size = (lengths[len(lengths) // 2] if lengths else 0) or 1
        for index in chosen:
            ax, ay, bx, by = wires[index]
            lx, hx = sorted((int(ax // self._size), int(bx // self._size)))
            ly, hy = sorted((int(ay // self._size), int(by // self._size)))
            if (hx - lx + 1) * (hy - ly + 1) > 16:
                self._long.append(index)
                continue
            self._spend((hx - lx + 1) * (hy - ly + 1))
            for x in range(lx, hx + 1):
                for y in range(ly, hy + 1):
                    self._cells.setdefault((x, y), []).append(index)

    def _spend(self, work: int) -> None:
        self._work += work
        if self._work > _SLANTED_MAX:
            raise SlantedError("found too many long slanted wires")

    def near(self, x: float, y: float) -> Sequence[int]:
        """Return the wires whose boxes may hold a point."""
        if not self._cells and not self._long:
            return ()
        near = self._cells.get((int(x // self._size), int(y // self._size)), ())
        self._spend(len(near) + len(self._long))
        return (*near, *self._long)


class WireIndex:
    """Finds the wires through a point, when upright and level ones are joined.

    Wires on one line that overlap or meet are joined while the index is built,
    so at most one level and one upright run pass through a point.

    Notes
    -----
    O(n log n) to build and O(log n + s) a question, where s is the number of
    slanted wires in the point's cell of a grid.
    """

    def __init__(self, wires: Sequence[Wire], union: Union, slanted: bool) -> None:
        level: dict[float, list[tuple[float, float, int]]] = {}
        upright: dict[float, list[tuple[float, float, int]]] = {}
        loose: list[int] = []
        self._wires = wires
        for index, (ax, ay, bx, by) in enumerate(wires):
            if ay == by:
                span = (ax, bx, index) if ax < bx else (bx, ax, index)
                level.setdefault(ay, []).append(span)
            elif ax == bx:
                span = (ay, by, index) if ay < by else (by, ay, index)
                upright.setdefault(ax, []).append(span)
            elif slanted:
                loose.append(index)
        self._level = {row: _runs(spans, union) for row, spans in level.items()}
        self._upright = {row: _runs(spans, union) for row, spans in upright.items()}
        self._slanted = Slanted(wires, loose)

    def through(self, x: float, y: float) -> list[int]:
        """Return wires on which a point lies, one of each run."""
        found = []
        for rows, row, along in ((self._level, y, x), (self._upright, x, y)):
            runs = rows.get(row)
            if runs is not None:
                lows, highs, wires = runs
                at = bisect_right(lows, along) - 1
                if at >= 0 and along <= highs[at]:
                    found.append(wires[at])
        for index in self._slanted.near(x, y):
            ax, ay, bx, by = self._wires[index]
            if (
                min(ax, bx) <= x <= max(ax, bx)
                and min(ay, by) <= y <= max(ay, by)
                and (bx - ax) * (y - ay) == (by - ay) * (x - ax)
            ):
                found.append(index)
        return found


def _runs(
    spans: list[tuple[float, float, int]], union: Union
) -> tuple[list[float], list[float], list[int]]:
    """Join the wires of one line that meet; return lows, highs and a wire of each."""
    spans.sort()
    lows: list[float] = []
    highs: list[float] = []
    wires: list[int] = []
    for low, high, index in spans:
        if lows and low <= highs[-1]:
            union.join(wires[-1], index)
            highs[-1] = max(highs[-1], high)
        else:
            lows.append(low)
            highs.append(high)
            wires.append(index)
    return lows, highs, wires


def join_wires(
    wires: Sequence[Wire], points: Iterable[Point], *, slanted: bool = False
) -> tuple[Union, list[int]]:
    """Work out what touches: wires end to end, end on wire, point on wire.

    Parameters
    ----------
    wires : sequence of Wire
        Crossing wires do not touch, unless one ends on the other.
    points : iterable of (x, y)
        Pins and labels; two at one place touch.
    slanted : bool
        Whether something can touch a slanted wire between its ends.

    Returns
    -------
    union : Union
        Over the wires by their index.
    where : list of int
        A member of ``union`` for each point.

    Raises
    ------
    SlantedError
        If ``slanted`` and millions of points would be compared with long slanted
        wires; upright and level ones have no such limit.

    Examples
    --------
    >>> union, where = join_wires([(0, 0, 10, 0), (5, 0, 5, 9)], [(7, 0), (5, 9)])
    >>> union.find(where[0]) == union.find(where[1])
    True
    """
    union = Union(len(wires))
    index = WireIndex(wires, union, slanted)
    ends: dict[Point, int] = {}
    for number, (ax, ay, bx, by) in enumerate(wires):
        for point in ((ax, ay), (bx, by)):
            first = ends.setdefault(point, number)
            if first != number:
                union.join(first, number)
    for (x, y), number in ends.items():
        for wire in index.through(x, y):
            union.join(wire, number)
    where = []
    for point in points:
        here = ends.get(point)
        if here is None:
            through = index.through(*point)
            here = ends[point] = through[0] if through else union.add()
            for wire in through[1:]:
                union.join(wire, here)
        where.append(here)
    return union, where
