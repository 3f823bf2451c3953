"""The edges of an EAGLE board: plain drawings on layer 20."""

from typing import TYPE_CHECKING

from ohmtrail.importers._arcs import TOO_LONG, Point, Points, bow, chord, too_long
from ohmtrail.importers._xml import ElementError, find, number

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

__all__ = ["outline"]

_LAYER = "20"


def _point(element: "Element", x: str, y: str) -> Point:
    # y points up in the file.
    return number(element, x), -number(element, y) + 0.0


def outline(board: "Element") -> tuple[Points, ...]:
    """Return the edges of ``<board>`` as lines, millimetres, y down.

    Raises
    ------
    ElementError
        If a coordinate is no number, or there are too many.

    Notes
    -----
    Edges that a package draws are not read.
    """
    lines: list[Points] = []
    for plain in find(board, "plain"):
        for one in plain:
            if one.get("layer") != _LAYER:
                continue
            if one.tag == "wire":
                start, end = _point(one, "x1", "y1"), _point(one, "x2", "y2")
                curve = number(one, "curve") if one.get("curve") else 0.0
                lines.append(chord(start, end, -curve))
            elif one.tag == "circle":
                x, y = _point(one, "x", "y")
                lines.append(bow((x, y), (x + number(one, "radius"), y), 360.0))
            elif one.tag == "rectangle":
                (ax, ay), (bx, by) = _point(one, "x1", "y1"), _point(one, "x2", "y2")
                lines.append(((ax, ay), (bx, ay), (bx, by), (ax, by), (ax, ay)))
        if too_long(lines):
            raise ElementError(TOO_LONG, plain)
    return tuple(lines)
