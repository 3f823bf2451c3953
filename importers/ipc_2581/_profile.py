"""``<Profile>``: the edges of the board."""

import math
from typing import TYPE_CHECKING

from ohmtrail.importers._arcs import TOO_LONG, Point, Points, bow
from ohmtrail.importers._bounds import EDGE_POINTS_MAX
from ohmtrail.importers._xml import ElementError, find, number

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

__all__ = ["read_profile"]


def _turn(middle: Point, start: Point, end: Point, clockwise: bool) -> float:
    """Return by how many degrees a curve turns; y down, to the right counts up."""
    x, y = middle
    first = math.degrees(math.atan2(start[1] - y, start[0] - x))
    last = math.degrees(math.atan2(end[1] - y, end[0] - x))
    turn = (last - first) % 360
    if not clockwise:
        turn -= 360.0
    return turn or 360.0


def _polygon(element: "Element", scale: float) -> Points:
    """Return one closed line, millimetres, y down."""
    points: list[Point] = []

    def at(one: "Element", x: str, y: str) -> Point:
        return number(one, x) * scale, -number(one, y) * scale + 0.0

    for one in element.iterchildren("{*}*"):
        word = one.tag.rpartition("}")[2]
        if word in ("PolyBegin", "PolyStepSegment"):
            points.append(at(one, "x", "y"))
        elif word == "PolyStepCurve" and points:
            middle = at(one, "centerX", "centerY")
            end = at(one, "x", "y")
            clockwise = one.get("clockwise", "").casefold() == "true"
            points += bow(middle, points[-1], _turn(middle, points[-1], end, clockwise))
    return tuple(points)


def read_profile(step: "Element", scale: float) -> tuple[Points, ...]:
    """Return the outline of a step and the holes cut out of it, as lines.

    Parameters
    ----------
    step : Element
        The step that is the board.
    scale : float
        Millimetres per unit of the file.

    Raises
    ------
    ElementError
        If a coordinate is no number, or there are too many.
    """
    lines: list[Points] = []
    points = 0
    for profile in find(step, "Profile"):
        for one in (*find(profile, "Polygon"), *find(profile, "Cutout")):
            line = _polygon(one, scale)
            points += len(line)
            if points > EDGE_POINTS_MAX:
                raise ElementError(TOO_LONG, one)
            if line:
                lines.append(line if line[0] == line[-1] else (*line, line[0]))
    return tuple(lines)
