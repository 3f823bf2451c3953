"""Where a checklist's steps are: pads for the needles, parts to look at."""

from collections.abc import Iterable
from dataclasses import dataclass

from ohmtrail.netanalysis.board import Board, Part, Pin
from ohmtrail.netanalysis.checklist.model import COLD, LIMITED, LOOK, POWER, Step
from ohmtrail.netanalysis.nearest import NotOnBoardError
from ohmtrail.netanalysis.probe_points import find_point

__all__ = ["Place", "StepPlaces", "part_place", "step_places"]

_PHASES = (LOOK, COLD, LIMITED, POWER)
#: Rows of the checklist that read a rail itself, before any part on it.
_RAIL_ROWS = ("rail", "rail swapped", "rail diode")
_RAILS, _PARTS, _OFF, _AGAIN = range(4)


@dataclass(frozen=True, slots=True)
class Place:
    """A pad, or the middle of a part."""

    #: "REF.PIN", or the ref of a part.
    name: str
    x_mm: float
    y_mm: float
    #: "top", "bottom", "both", or "" where unknown.
    side: str


@dataclass(frozen=True, slots=True)
class StepPlaces:
    """One step with its places."""

    step: Step
    #: Where the red needle goes, or what to look at.
    place: Place
    #: Where the black needle goes; None in steps that take no reading, or unknown.
    black: Place | None
    #: Steps of a lower rank come first: look, rails, parts, repeats, power.
    rank: tuple[int, int]


def _rank(step: Step) -> tuple[int, int]:
    phase = _PHASES.index(step.phase)
    if step.phase != COLD:
        # Injection is done before the board is fed.
        return phase, int(step.mode == "voltage")
    if step.row in _RAIL_ROWS:
        return phase, _RAILS
    if step.row == "again":
        return phase, _AGAIN
    return phase, _OFF if step.lifted else _PARTS


def _pad(pin: Pin) -> Place | None:
    if pin.x_mm is None or pin.y_mm is None:
        return None
    return Place(pin.key, pin.x_mm, pin.y_mm, pin.side)


def part_place(part: Part) -> Place | None:
    """Return the middle of a part: its own position, else that of its pads."""
    placed = [pin for pin in part.pins if pin.x_mm is not None and pin.y_mm is not None]
    side = part.side
    if not side:
        sides = {pin.side for pin in placed}
        side = sides.pop() if len(sides) == 1 else ""
    if placed:
        xs = [pin.x_mm for pin in placed if pin.x_mm is not None]
        ys = [pin.y_mm for pin in placed if pin.y_mm is not None]
        middle = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
        return Place(part.ref, *middle, side)
    if part.x_mm is None or part.y_mm is None:
        return None
    return Place(part.ref, part.x_mm, part.y_mm, side)


class _Finder:
    def __init__(self, board: Board) -> None:
        self.board = board
        self.found: dict[str, Place | None] = {}

    def point(self, text: str | None, near: str = "") -> Place | None:
        """Return where a probe point is; a net is where its handy pad is."""
        for one in (text, near):
            if not one:
                continue
            if one not in self.found:
                self.found[one] = self._point(one)
            if self.found[one] is not None:
                return self.found[one]
        return None

    def _point(self, text: str) -> Place | None:
        try:
            point = find_point(self.board, text)
        except NotOnBoardError:
            return None
        return _pad(point.pin) if point.pin is not None else None

    def part(self, step: Step) -> Place | None:
        for ref in step.parts:
            part = self.board.part_by_ref.get(ref)
            place = part_place(part) if part is not None else None
            if place is not None:
                return place
        return None


def step_places(
    board: Board, steps: Iterable[Step]
) -> tuple[tuple[StepPlaces, ...], tuple[Step, ...]]:
    """Return the steps with their places, and the steps that have none.

    Parameters
    ----------
    board : Board
        With positions.
    steps : iterable of Step
        Of a checklist, numbered.

    Returns
    -------
    placed : tuple of StepPlaces
        In the order of the checklist.
    unplaced : tuple of Step
        Their pads, or parts, have no position.

    Notes
    -----
    O(steps + pins of the board).
    """
    finder = _Finder(board)
    placed: list[StepPlaces] = []
    unplaced: list[Step] = []
    for step in steps:
        black = None
        if step.plus is not None:
            place = finder.point(step.plus, step.plus_near)
            black = finder.point(step.minus, step.minus_near)
        else:
            place = finder.part(step)
        if place is None:
            unplaced.append(step)
        else:
            placed.append(StepPlaces(step, place, black, _rank(step)))
    return tuple(placed), tuple(unplaced)
