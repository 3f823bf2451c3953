"""How large parts are, from their pads."""

from collections.abc import Iterable
from dataclasses import dataclass

from ohmtrail.netanalysis.board import Board, Part, Pin
from ohmtrail.netanalysis.circuit import Circuit

__all__ = ["Body", "bodies", "extent", "land", "landmarks"]

#: Size of a land that no file tells, mm (that of an 0402 part, IPC-7351 nominal).
_LAND = (0.5, 0.5)
#: A body reaches over its lands by this, mm.
_OVER = 0.15
#: What tells people where they are: large and marked.
_MARKED = ("connector", "chip", "inductor", "transformer", "switch", "battery", "relay")


@dataclass(frozen=True, slots=True)
class Body:
    """Box around a part's lands, in millimetres on the board."""

    ref: str
    left: float
    top: float
    right: float
    bottom: float
    #: "top", "bottom", "both" or "".
    side: str

    @property
    def middle(self) -> tuple[float, float]:
        """Its centre."""
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2

    @property
    def area(self) -> float:
        """Square millimetres."""
        return (self.right - self.left) * (self.bottom - self.top)

    def seen(self, side: str) -> bool:
        """Whether it is seen from a side; what is not known is on top."""
        return (self.side or "top") in (side, "both")


def land(pin: Pin) -> tuple[float, float]:
    """Return the extent of a pin's land, a small one where the file tells none."""
    return pin.land_mm or _LAND


def _body(part: Part) -> Body | None:
    boxes = []
    for pin in part.pins:
        if pin.x_mm is not None and pin.y_mm is not None:
            width, height = land(pin)
            boxes.append(
                (
                    pin.x_mm - width / 2,
                    pin.y_mm - height / 2,
                    pin.x_mm + width / 2,
                    pin.y_mm + height / 2,
                )
            )
    if not boxes:
        return None
    side = part.side
    if not side:
        sides = {pin.side for pin in part.pins}
        side = sides.pop() if len(sides) == 1 else ""
        if side == "both":
            side = ""
    left, top, right, bottom = zip(*boxes, strict=True)
    return Body(
        part.ref,
        min(left) - _OVER,
        min(top) - _OVER,
        max(right) + _OVER,
        max(bottom) + _OVER,
        side,
    )


def bodies(board: Board) -> tuple[Body, ...]:
    """Return a box for every part that has pads with positions.

    Notes
    -----
    O(pins).  A part without a stated side is where its pads are; drilled ones are
    taken to stand on top.
    """
    found = (_body(part) for part in board.parts)
    return tuple(one for one in found if one is not None)


def extent(board: Board) -> tuple[float, float, float, float] | None:
    """Return left, top, right, bottom of outline and pads; None without positions."""
    xs: list[float] = []
    ys: list[float] = []
    for line in board.outline_mm:
        for x, y in line:
            xs.append(x)
            ys.append(y)
    if not xs:
        for one in bodies(board):
            xs += [one.left, one.right]
            ys += [one.top, one.bottom]
    if not xs:
        return None
    return min(xs), min(ys), max(xs), max(ys)


def landmarks(
    circuit: Circuit, all_bodies: Iterable[Body], side: str, count: int = 8
) -> tuple[Body, ...]:
    """Return a few large parts, spread over one side, to find one's way by.

    Parameters
    ----------
    circuit : Circuit
        For the kinds of parts.
    all_bodies : iterable of Body
        From `bodies`.
    side : str
        "top" or "bottom".
    count : int
        How many at most.

    Notes
    -----
    Each next one is that of largest area times distance from those chosen.
    O(parts times count).
    """
    left = []
    for one in all_bodies:
        kind = circuit.kinds.get(one.ref)
        if one.seen(side) and kind is not None and kind.kind in _MARKED:
            left.append(one)
    left.sort(key=lambda one: -one.area)
    left = left[: 6 * count]
    chosen: list[Body] = []
    while left and len(chosen) < count:

        def worth(one: Body) -> float:
            x, y = one.middle
            away = (abs(x - c.middle[0]) + abs(y - c.middle[1]) for c in chosen)
            return float(one.area**0.5 * min(away, default=1.0))

        best = max(left, key=worth)
        chosen.append(best)
        left.remove(best)
    return tuple(chosen)
