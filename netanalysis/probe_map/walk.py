"""The order in which to go round the points of a checklist."""

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ohmtrail.netanalysis.board import Board
from ohmtrail.netanalysis.checklist.model import Step
from ohmtrail.netanalysis.probe_map.places import Place, StepPlaces, step_places
from ohmtrail.netanalysis.probe_map.route import length_mm, short_route

__all__ = ["Leg", "ProbeMap", "Stop", "make_probe_map"]

TOP, BOTTOM = "top", "bottom"


@dataclass(frozen=True, slots=True)
class Stop:
    """One place of the red needle, or one part to look at, with its steps."""

    place: Place
    steps: tuple[StepPlaces, ...]


@dataclass(frozen=True, slots=True)
class Leg:
    """Stops that are made one after the other on one side, all of one rank."""

    side: str
    rank: tuple[int, int]
    stops: tuple[Stop, ...]
    #: From the end of the leg before, where the board was not turned between.
    length_mm: float


@dataclass(frozen=True, slots=True)
class ProbeMap:
    """A way round the board."""

    legs: tuple[Leg, ...]
    #: Steps whose pads or parts have no position.
    unplaced: tuple[Step, ...]

    @property
    def length_mm(self) -> float:
        """Travel of the red needle, turning the board not counted."""
        return sum(leg.length_mm for leg in self.legs)

    @property
    def turns(self) -> int:
        """How often the board is turned over."""
        sides = [leg.side for leg in self.legs]
        return sum(a != b for a, b in itertools.pairwise(sides))


def _sides(stops: Iterable[Stop]) -> set[str]:
    """Return the sides that must be up; through-hole pads are reached from both."""
    return {stop.place.side or TOP for stop in stops} - {"both"}


def _plan(groups: Sequence[set[str]], start: str) -> tuple[list[list[str]], int]:
    """Return the sides that each group is done from, and the number of turns.

    A group with stops on both sides begins on the side that is up: no other choice
    turns the board less often.
    """
    up, turns, plan = start, 0, []
    for needed in groups:
        order = sorted(needed, key=lambda side: side != up) or [up]
        for side in order:
            turns += side != up
            up = side
        plan.append(order)
    return plan, turns


def _stops(steps: Iterable[StepPlaces]) -> list[Stop]:
    by_place: dict[Place, list[StepPlaces]] = {}
    for one in steps:
        by_place.setdefault(one.place, []).append(one)
    return [Stop(place, tuple(found)) for place, found in by_place.items()]


def make_probe_map(board: Board, steps: Iterable[Step]) -> ProbeMap:
    """Return a way through the steps of a checklist that turns and travels little.

    Parameters
    ----------
    board : Board
        With positions.
    steps : iterable of Step
        Of a checklist, numbered.

    Returns
    -------
    ProbeMap
        What the job needs comes first: look before touch, rails before parts,
        parts off the board and repeats after them, power last.  Within that order
        the board is turned as seldom as can be, and each leg is a short way.

    Notes
    -----
    A pad that is read in several ranks is a stop in each.  A pad of unknown side is
    taken to be on top.
    """
    placed, unplaced = step_places(board, steps)
    ranks = sorted({one.rank for one in placed})
    groups = [_stops(one for one in placed if one.rank == rank) for rank in ranks]
    needs = [_sides(stops) for stops in groups]
    plans = [_plan(needs, side) for side in (TOP, BOTTOM)]
    plan, _ = min(plans, key=lambda one: one[1])
    legs: list[Leg] = []
    for rank, stops, sides in zip(ranks, groups, plan, strict=True):
        for number, side in enumerate(sides):
            mine = [
                stop
                for stop in stops
                if (stop.place.side or TOP) == side
                or (stop.place.side == "both" and number == 0)
            ]
            legs.append(_leg(side, rank, mine, legs[-1] if legs else None))
    return ProbeMap(tuple(legs), unplaced)


def _leg(
    side: str, rank: tuple[int, int], stops: Sequence[Stop], before: Leg | None
) -> Leg:
    points = [(stop.place.x_mm, stop.place.y_mm) for stop in stops]
    start = None
    if before is not None and before.side == side:
        last = before.stops[-1].place
        start = (last.x_mm, last.y_mm)
    order = short_route(points, start)
    way = [points[one] for one in order]
    if start is not None:
        way.insert(0, start)
    ordered = tuple(stops[one] for one in order)
    return Leg(side, rank, ordered, length_mm(way, range(len(way))))
