"""What a drawn sheet shows, for those who draw on a copy of it.

Lengths are millimetres, x to the right and y down, from a corner of the page.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

__all__ = [
    "Box",
    "DrawnPin",
    "DrawnSheet",
    "DrawnSymbol",
    "DrawnWire",
    "Frame",
    "around",
    "frame_of",
]

#: Least x and y, greatest x and y.
Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class DrawnWire:
    """A straight wire."""

    x1_mm: float
    y1_mm: float
    x2_mm: float
    y2_mm: float
    #: Its net in each use of the sheet; None where nothing names it.
    nets: tuple[str | None, ...]


@dataclass(frozen=True, slots=True)
class DrawnPin:
    """A pin of a placed symbol."""

    number: str
    #: Where wires connect.
    x_mm: float
    y_mm: float
    #: Where it meets the body.
    root_x_mm: float
    root_y_mm: float
    hidden: bool
    #: Its net in each use of the sheet.
    nets: tuple[str | None, ...]


@dataclass(frozen=True, slots=True)
class DrawnSymbol:
    """A placed symbol: a part, a unit of one, or a power symbol."""

    #: Its reference in each use of the sheet.
    refs: tuple[str, ...]
    #: Power symbols name a net and are no part.
    power: bool
    #: Left, top, right, bottom of its body, pins not counted.
    body_mm: Box
    pins: tuple[DrawnPin, ...]


@dataclass(frozen=True, slots=True)
class DrawnSheet:
    """One file, drawn once however often it is used."""

    path: Path
    #: Version of the file's syntax, 20211123 and so on; 0 where it is no number.
    version: int
    page_mm: tuple[float, float]
    #: Path in words of each use, "/" or "/Core/Phase A/".
    uses: tuple[str, ...]
    wires: tuple[DrawnWire, ...]
    symbols: tuple[DrawnSymbol, ...]
    #: Room taken by texts, labels, sheets and other drawings.
    taken_mm: tuple[Box, ...]
    #: Lines that are no wires: from x, y to x, y.
    lines_mm: tuple[tuple[float, float, float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Frame:
    """Between a file's own units and the millimetres of its `DrawnSheet`."""

    #: Millimetres that a unit counts as.
    unit_mm: float
    #: The page's left and upper edge in units.
    left: float
    top: float
    #: Whether the file's y points up.
    up: bool

    def of_units(self, x: float, y: float) -> tuple[float, float]:
        """Return a place in millimetres."""
        down = self.top - y if self.up else y - self.top
        return round((x - self.left) * self.unit_mm, 6), round(down * self.unit_mm, 6)

    def to_units(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """Return a place in the file's units."""
        down = y_mm / self.unit_mm
        y = self.top - down if self.up else self.top + down
        return x_mm / self.unit_mm + self.left, y

    def box(self, box: Box) -> Box:
        """Return left, top, right, bottom in millimetres of a box in units."""
        ax, ay = self.of_units(box[0], box[1])
        bx, by = self.of_units(box[2], box[3])
        return min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)


def around(points: Iterable[tuple[float, float]]) -> Box | None:
    """Return the box around points, None without any."""
    places = list(points)
    if not places:
        return None
    xs, ys = [x for x, _ in places], [y for _, y in places]
    return min(xs), min(ys), max(xs), max(ys)


def frame_of(
    points: Iterable[tuple[float, float]],
    *,
    unit_mm: float,
    up: bool,
    margin_mm: float,
) -> tuple[Frame, tuple[float, float]]:
    """Return the frame and the page's size for a drawing that states no page.

    Parameters
    ----------
    points : iterable of (x, y)
        Everything drawn, in units.
    unit_mm, up
        See `Frame`.
    margin_mm : float
        Around the drawing.

    Examples
    --------
    >>> frame, page = frame_of([(0, 0), (100, 50)], unit_mm=0.1, up=True, margin_mm=5)
    >>> page, frame.of_units(0, 50), frame.to_units(5.0, 5.0)
    ((20.0, 15.0), (5.0, 5.0), (0.0, 50.0))
    """
    ax, ay, bx, by = around(points) or (0.0, 0.0, 0.0, 0.0)
    margin = margin_mm / unit_mm
    left = ax - margin
    top = by + margin if up else ay - margin
    wide = (bx - ax) * unit_mm + 2 * margin_mm
    high = (by - ay) * unit_mm + 2 * margin_mm
    return Frame(unit_mm, left, top, up), (wide, high)
