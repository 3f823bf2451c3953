"""Arcs as short lines, for the edges of boards; x to the right, y down."""

import math
from collections.abc import Sequence

from ohmtrail.importers._bounds import EDGE_POINTS_MAX

__all__ = ["TOO_LONG", "Point", "Points", "bow", "chord", "too_long"]

#: What is wrong with an outline that `too_long` refuses.
TOO_LONG = f"found edges of more than {EDGE_POINTS_MAX} points, expected a board"

Point = tuple[float, float]
Points = tuple[Point, ...]

#: Degrees of an arc that become one line.
_STEP = 10.0


def too_long(lines: Sequence[Points]) -> bool:
    """Whether an outline has more points than that of any board."""
    if len(lines) > EDGE_POINTS_MAX // 2:
        return True
    return sum(map(len, lines)) > EDGE_POINTS_MAX


def bow(middle: Point, start: Point, degrees: float) -> Points:
    """Return an arc around a centre; positive angles turn right on the screen.

    Parameters
    ----------
    middle, start : (float, float)
        Centre, and where the arc begins.
    degrees : float
        How far it goes; no more than once round is drawn.
    """
    degrees = max(-360.0, min(360.0, degrees))
    dx, dy = start[0] - middle[0], start[1] - middle[1]
    count = max(2, math.ceil(abs(degrees) / _STEP))
    found = []
    for one in range(count + 1):
        turn = math.radians(degrees * one / count)
        cos, sin = math.cos(turn), math.sin(turn)
        found.append((middle[0] + dx * cos - dy * sin, middle[1] + dx * sin + dy * cos))
    return tuple(found)


def chord(start: Point, end: Point, degrees: float) -> Points:
    """Return the arc between two points that turns by an angle, right positive.

    A straight line where the angle is none that an arc can have.
    """
    half = math.tan(math.radians(degrees) / 2)
    if abs(half) < 1e-6 or abs(degrees) >= 360:
        return start, end
    vx, vy = end[0] - start[0], end[1] - start[1]
    x = (start[0] + end[0]) / 2 - vy / (2 * half)
    y = (start[1] + end[1]) / 2 + vx / (2 * half)
    return bow((x, y), start, degrees)
