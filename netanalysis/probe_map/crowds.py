"""Points that stand too close to be numbered at the board's own scale."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import hypot

__all__ = ["Window", "crowded_windows"]

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Window:
    """A part of one side that is drawn again, larger; millimetres on the board."""

    left: float
    top: float
    right: float
    bottom: float
    #: Indexes of the points in it.
    members: tuple[int, ...]


def _linked(points: Sequence[Point], apart: float) -> list[list[int]]:
    """Join points that are closer than ``apart``, and what is joined to them."""
    cells: dict[tuple[int, int], list[int]] = {}
    for number, (x, y) in enumerate(points):
        cells.setdefault((int(x // apart), int(y // apart)), []).append(number)
    group = [-1] * len(points)
    groups: list[list[int]] = []
    for first in range(len(points)):
        if group[first] >= 0:
            continue
        group[first] = len(groups)
        found, waiting = [first], [first]
        while waiting:
            x, y = points[waiting.pop()]
            column, row = int(x // apart), int(y // apart)
            for i in (column - 1, column, column + 1):
                for j in (row - 1, row, row + 1):
                    for other in cells.get((i, j), ()):
                        ox, oy = points[other]
                        if group[other] < 0 and hypot(x - ox, y - oy) < apart:
                            group[other] = len(groups)
                            found.append(other)
                            waiting.append(other)
        groups.append(sorted(found))
    return groups


def _split(points: Sequence[Point], members: list[int], most: int) -> list[list[int]]:
    """Cut a group at its widest gaps until no piece has more than ``most`` points."""
    if len(members) <= most:
        return [members]
    best: tuple[float, list[int], int] = (-1.0, members, len(members) // 2)
    for axis in (0, 1):
        ordered = sorted(members, key=lambda one: (points[one][axis], one))
        span = points[ordered[-1]][axis] - points[ordered[0]][axis]
        # Near the middle: pieces of two points are no help.
        for cut in range(len(ordered) // 4, len(ordered) - len(ordered) // 4):
            if cut == 0:
                continue
            gap = points[ordered[cut]][axis] - points[ordered[cut - 1]][axis]
            # A gap counts, and so does a cut across the longer way.
            worth = gap + span / 8
            if worth > best[0]:
                best = (worth, ordered, cut)
    _, ordered, cut = best
    return _split(points, ordered[:cut], most) + _split(points, ordered[cut:], most)


def _with_lone(
    points: Sequence[Point], windows: Sequence[Window], inset: float
) -> list[Window]:
    """Give points that stand alone within a window to it: they are drawn there."""
    taken = {one for window in windows for one in window.members}
    made = []
    for window in windows:
        lone = [
            number
            for number, (x, y) in enumerate(points)
            if number not in taken
            and window.left + inset <= x <= window.right - inset
            and window.top + inset <= y <= window.bottom - inset
        ]
        taken.update(lone)
        made.append(replace(window, members=(*window.members, *lone)))
    return made


def crowded_windows(
    points: Sequence[Point],
    apart_mm: float,
    *,
    join_mm: float,
    margin_mm: float,
    most: int = 14,
    least: int = 3,
) -> tuple[Window, ...]:
    """Return windows around points that crowd one another.

    Parameters
    ----------
    points : sequence of (float, float)
        On one side, millimetres on the board.
    apart_mm : float
        Points further from all others than this need no window.
    join_mm : float
        Crowded points closer than this share a window.
    margin_mm : float
        Board shown around the points.
    most, least : int
        Crowded points in a window; fewer than ``least`` are left to the whole view.
        Lone points that a window holds besides belong to it too.

    Returns
    -------
    tuple of Window
        From left to right in rows, from the top.

    Notes
    -----
    About O(n log n) for points spread over a board, and O(n) a window.
    """
    crowded = [
        one for group in _linked(points, apart_mm) if len(group) > 1 for one in group
    ]
    places = [points[one] for one in crowded]
    windows = []
    for group in _linked(places, join_mm):
        members = [crowded[one] for one in group]
        if len(members) < least:
            continue
        for piece in _split(points, members, most):
            xs = [points[one][0] for one in piece]
            ys = [points[one][1] for one in piece]
            windows.append(
                Window(
                    min(xs) - margin_mm,
                    min(ys) - margin_mm,
                    max(xs) + margin_mm,
                    max(ys) + margin_mm,
                    tuple(piece),
                )
            )
    windows = _with_lone(points, windows, margin_mm / 2)
    height = max((one.bottom - one.top for one in windows), default=1.0)
    windows.sort(key=lambda one: (round((one.top + one.bottom) / height), one.left))
    return tuple(windows)
