"""The edges of the board: drawings on the layer "Edge.Cuts"."""

import math
from collections.abc import Iterator

from ohmtrail.importers._arcs import Point, Points, bow
from ohmtrail.importers._sexpr import Node
from ohmtrail.importers.kicad_layout._footprint import child, number

__all__ = ["OUTLINE_WORDS", "edge"]

OUTLINE_WORDS = frozenset(
    ("gr_line", "gr_arc", "gr_circle", "gr_rect", "gr_poly", "gr_curve")
)
_LAYER = "Edge.Cuts"


def _point(node: Node, word: str) -> Point:
    place = child(node, word)
    if place is None:
        place = [word]
    return number(place, 1), number(place, 2)


def _points(node: Node) -> Iterator[Point]:
    for one in child(node, "pts") or ():
        if isinstance(one, list) and one and one[0] == "xy":
            yield number(one, 1), number(one, 2)


def _through(start: Point, middle: Point, end: Point) -> Points:
    """Return the arc through three points as lines; straight where they are in line."""
    (ax, ay), (bx, by), (cx, cy) = start, middle, end
    twice = 2 * (ax * (by - cy) + bx * (cy - ay) + cx * (ay - by))
    if abs(twice) < 1e-9:
        return start, middle, end
    a, b, c = ax * ax + ay * ay, bx * bx + by * by, cx * cx + cy * cy
    x = (a * (by - cy) + b * (cy - ay) + c * (ay - by)) / twice
    y = (a * (cx - bx) + b * (ax - cx) + c * (bx - ax)) / twice
    first = math.degrees(math.atan2(ay - y, ax - x))
    mid = (math.degrees(math.atan2(by - y, bx - x)) - first) % 360
    last = (math.degrees(math.atan2(cy - y, cx - x)) - first) % 360
    return bow((x, y), start, last if mid <= last else last - 360)


def _bezier(corners: Points) -> Points:
    if len(corners) != 4:
        return corners
    found = []
    for one in range(17):
        t = one / 16
        weights = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
        x = sum(w * p[0] for w, p in zip(weights, corners, strict=True))
        y = sum(w * p[1] for w, p in zip(weights, corners, strict=True))
        found.append((x, y))
    return tuple(found)


def edge(node: Node) -> Points | None:
    """Return a drawing of the board's edge as lines, None if it is none.

    Parameters
    ----------
    node : Node
        A list whose first word is in `OUTLINE_WORDS`.

    Raises
    ------
    NodeError
        If a coordinate on the layer of edges cannot be read.

    Notes
    -----
    Arcs before version 6 give centre, start and angle; later ones three points.
    """
    layer = child(node, "layer")
    if layer is None or len(layer) < 2 or layer[1] != _LAYER:
        return None
    word = node[0]
    if word == "gr_line":
        return _point(node, "start"), _point(node, "end")
    if word == "gr_rect":
        (ax, ay), (bx, by) = _point(node, "start"), _point(node, "end")
        return (ax, ay), (bx, ay), (bx, by), (ax, by), (ax, ay)
    if word == "gr_circle":
        return bow(_point(node, "center"), _point(node, "end"), 360.0)
    if word == "gr_arc":
        turn = child(node, "angle")
        start, end = _point(node, "start"), _point(node, "end")
        if turn is not None:
            return bow(start, end, number(turn, 1))
        return _through(start, _point(node, "mid"), end)
    points = tuple(_points(node))
    if word == "gr_curve":
        return _bezier(points) or None
    return (*points, points[0]) if points else None
