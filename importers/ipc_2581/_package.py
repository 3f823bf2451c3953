"""``<Package>``: pins of a footprint, and where a component puts them."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ohmtrail.importers._xml import find, number, required

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

__all__ = ["Land", "Placement", "location", "read_package"]


def location(element: "Element") -> tuple[float, float] | None:
    """Return ``<Location x= y=>`` inside an element, in units of the file."""
    for one in find(element, "Location"):
        return number(one, "x"), number(one, "y")
    return None


@dataclass(frozen=True, slots=True)
class Land:
    """One pin of a package, from the package's origin, y up."""

    number: str
    name: str
    x: float | None
    y: float | None
    through: bool


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a component stands: offset and turned to the left, y up.

    There is none for a mirrored component: programs do not agree on which axis it
    is mirrored and whether before it is turned (KiCad 9 differs from the standard).
    """

    x: float
    y: float
    angle: float

    def of(self, x: float, y: float) -> tuple[float, float]:
        """Return a point of the package on the board."""
        turn = math.radians(self.angle)
        cos, sin = math.cos(turn), math.sin(turn)
        return self.x + x * cos - y * sin, self.y + x * sin + y * cos


def read_package(element: "Element") -> tuple[Land, ...]:
    """Return the pins of a ``<Package>``.

    Raises
    ------
    ElementError
        If a pin has no number, or a position is none.
    """
    lands = []
    for pin in find(element, "Pin"):
        place = location(pin)
        mark = required(pin, "number")
        name = pin.get("name", "")
        lands.append(
            Land(
                mark,
                "" if name == mark else name,
                place[0] if place else None,
                place[1] if place else None,
                pin.get("type", "").upper().startswith("THRU"),
            )
        )
    return tuple(lands)
