"""A line drawing: plain shapes in millimetres, black on white.

Whoever draws makes a `Drawing`; `drawing_svg` and `drawing_pdf` put it on a page.
Every text is shown as it is: nothing in a name can become part of the page.
"""

from dataclasses import dataclass

__all__ = ["Circle", "Drawing", "Item", "Line", "Polyline", "Rect", "Text"]

#: How closed shapes are filled; grey prints as a light tint and carries no meaning.
FILLS = ("", "white", "grey", "black")


@dataclass(frozen=True, slots=True)
class Line:
    """A straight stroke."""

    x1_mm: float
    y1_mm: float
    x2_mm: float
    y2_mm: float
    stroke_mm: float = 0.2
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Polyline:
    """Strokes from point to point."""

    points_mm: tuple[tuple[float, float], ...]
    stroke_mm: float = 0.2
    closed: bool = False
    #: One of `FILLS`; only for closed ones.
    fill: str = ""
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Rect:
    """An upright rectangle; no outline where ``stroke_mm`` is 0."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    stroke_mm: float = 0.2
    fill: str = ""
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle; no outline where ``stroke_mm`` is 0."""

    x_mm: float
    y_mm: float
    radius_mm: float
    stroke_mm: float = 0.2
    fill: str = ""


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text; ``y_mm`` is where the letters stand."""

    x_mm: float
    y_mm: float
    text: str
    #: Height of the type (of the em).
    size_mm: float = 2.5
    #: "start", "middle" or "end": which part of the text is at ``x_mm``.
    anchor: str = "start"
    bold: bool = False
    #: "black", or "white" on a black shape.
    ink: str = "black"


Item = Line | Polyline | Rect | Circle | Text


@dataclass(frozen=True, slots=True)
class Drawing:
    """A whole drawing; x to the right, y down, from the upper left corner."""

    width_mm: float
    height_mm: float
    #: Painted in this order.
    items: tuple[Item, ...]
    #: What it shows, in words, for those who cannot see it.
    title: str
