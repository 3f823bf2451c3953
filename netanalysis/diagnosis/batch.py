"""Hypotheses as arrays: those that no reading can tell apart share one row."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.board import Pin
from ohmtrail.netanalysis.diagnosis.copper import UNKNOWN_WAY, Copper, copper_between
from ohmtrail.netanalysis.diagnosis.faults import Fault
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.diagnosis.problem import Batch
from ohmtrail.netanalysis.probe_points import ProbePoint

if TYPE_CHECKING:
    from ohmtrail.netanalysis.diagnosis.case import Case
    from ohmtrail.netanalysis.diagnosis.readings import Reading, State

__all__ = ["copper_arrays", "healthy_batch", "make_batch"]

#: A load takes its current at many pads (common practice, no source), in ohms.
_SPREAD_LOAD_SD = 0.15e-3


def healthy_batch(case: "Case", states: Sequence["State"]) -> Batch:
    """Return the batch of the one hypothesis that nothing is wrong."""
    batch, _ = make_batch(case, (Hypothesis(),), states)
    return batch


class _Row:
    """One hypothesis being written down."""

    def __init__(self, case: "Case", states: Sequence["State"]) -> None:
        self.case = case
        self.states = states
        self.columns: list[int] = []
        self.unknown: list[int] = []
        self.there: list[tuple[bool, ...]] = []
        self.removed: list[float] = []
        self.ranges: list[tuple[float, float]] = []
        #: Refs that have gone open, and in which states that piece is on the board.
        self.gone: list[tuple[str, tuple[bool, ...]]] = []

    def add(self, fault: Fault, piece: int) -> None:
        case = self.case
        board = tuple(state.holds(fault.ref, piece) for state in self.states)
        hand = tuple(state.hand == (fault.ref, piece) for state in self.states)
        for way in fault.paths:
            self.ranges.append((math.log(way.ohms_low), math.log(way.ohms_high)))
            unknown = len(self.ranges) - 1
            self._path(case.columns[way.a, way.b], unknown, board, 0.0)
            if any(hand):
                from ohmtrail.netanalysis.diagnosis.readings import hand_node

                ends = hand_node(fault.ref, way.a), hand_node(fault.ref, way.b)
                self._path(case.columns[ends], unknown, hand, 0.0)
        if fault.open:
            self._open(fault, board, hand)

    def _open(
        self, fault: Fault, board: tuple[bool, ...], hand: tuple[bool, ...]
    ) -> None:
        from ohmtrail.netanalysis.diagnosis.readings import hand_node

        if fault.ref in self.case.shared:
            self.gone.append((fault.ref, board))
        in_hand = {hand_node(fault.ref, net) for net in fault.nets}
        for (a, b), siemens in self.case.opening(fault.ref):
            where = hand if a in in_hand else board
            if any(where):
                self._path(self.case.columns[a, b], -1, where, siemens)

    def _path(
        self, column: int, unknown: int, there: tuple[bool, ...], removed: float
    ) -> None:
        self.columns.append(column)
        self.unknown.append(max(unknown, 0))
        self.there.append(there)
        self.removed.append(removed)


def copper_arrays(
    case: "Case", hypotheses: Sequence[Hypothesis], readings: Sequence["Reading"]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return what copper adds to readings under each hypothesis, mean and spread.

    Zero where it does not count: two-wire readings, parts in the hand.
    """
    shape = len(hypotheses), len(readings)
    ohms, sd = np.zeros(shape), np.zeros(shape)
    near = [
        p
        for p, one in enumerate(readings)
        if one.mode in ("four-wire", "drop") and one.state.hand is None
    ]
    if not near:
        return ohms, sd
    rows: dict[tuple[str, ...], NDArray[np.float64]] = {}
    healthy = _healthy_ways(case, [readings[p] for p in near])
    joined = [case.joined(readings[p].plus.net, readings[p].minus.net) for p in near]
    for h, hypothesis in enumerate(hypotheses):
        # Without a short on it the current goes where it always goes: to the loads.
        nets = {n for fault, _ in hypothesis.faults if fault.paths for n in fault.nets}
        found = healthy.copy()
        found[:, [bool(nets & mine) for mine in joined]] = UNKNOWN_WAY
        told = np.zeros((2, len(near)), bool)
        for fault, _ in hypothesis.faults:
            key = (fault.ref, *fault.nets)
            if key not in rows:
                rows[key] = _ways(case, fault, [readings[p] for p in near])
            way = rows[key]
            mine = np.isfinite(way[:, :, 0])
            better = mine & (~told | (way[:, :, 0] < found[:, :, 0]))
            found[better] = way[better]
            told |= mine
        ohms[h, near] = found[:, :, 0].sum(0)
        sd[h, near] = np.hypot(found[0, :, 1], found[1, :, 1])
    return ohms, sd


def _ways(
    case: "Case", fault: Fault, readings: Sequence["Reading"]
) -> NDArray[np.float64]:
    """Return the copper from each probe to a part, (2, P, 2); inf off its nets."""
    made = np.full((2, len(readings), 2), np.inf)
    for p, one in enumerate(readings):
        for side, point in enumerate((one.plus, one.minus)):
            if point.net in fault.nets:
                key = (str(point), fault.ref, one.mode == "four-wire")
                way = case.copper.get(key)
                if way is None:
                    way = case.copper[key] = _nearest(case, fault, point, key[2])
                made[side, p] = way
    return made


def _healthy_ways(case: "Case", readings: Sequence["Reading"]) -> NDArray[np.float64]:
    """Return the copper from each probe to the main loads of its rail, (2, P, 2)."""
    made = np.tile(np.array(UNKNOWN_WAY), (2, len(readings), 1))
    for p, one in enumerate(readings):
        loads = [
            ref
            for net in (one.plus.net, one.minus.net)
            for ref in case.main_loads(net or "")
        ]
        for side, point in enumerate((one.plus, one.minus)):
            carries = one.mode == "four-wire"
            ways = [
                copper_between(case.pad(point), pin, carries=carries)
                for ref in loads
                for pin in _at(case, ref, point.net or "")
            ]
            if ways:
                best = min(ways, key=lambda way: way.ohms)
                made[side, p] = best.ohms, max(best.sd, _SPREAD_LOAD_SD)
    return made


def _at(case: "Case", ref: str, net: str) -> tuple[Pin, ...]:
    return case.view.pins_on(ref, net)


def _nearest(case: "Case", fault: Fault, point: ProbePoint, carries: bool) -> Copper:
    pad = case.pad(point)
    pins = _at(case, fault.ref, point.net or "")
    ways = [copper_between(pad, pin, carries=carries) for pin in pins]
    return min(ways, key=lambda way: way.ohms, default=UNKNOWN_WAY)


def make_batch(
    case: "Case", hypotheses: Sequence[Hypothesis], states: Sequence["State"]
) -> tuple[Batch, NDArray[np.intp]]:
    """Return hypotheses as arrays, each distinct one once, and which row is whose.

    Parameters
    ----------
    case : Case
    hypotheses : sequence of Hypothesis
    states : sequence of State
        The board states of the readings.

    Returns
    -------
    batch : Batch
    row : ndarray of int, shape (hypotheses,)
    """
    told = any(one.mode in ("four-wire", "drop") for one in case.readings)
    known: dict[tuple[object, ...], int] = {}
    kept: list[tuple[_Row, int]] = []
    copper, copper_sd = copper_arrays(case, hypotheses, case.readings)
    row = np.empty(len(hypotheses), np.intp)
    for i, hypothesis in enumerate(hypotheses):
        made = _Row(case, states)
        for fault, piece in hypothesis.faults:
            made.add(fault, piece)
        key = (
            tuple(made.columns),
            tuple(made.unknown),
            tuple(made.there),
            tuple(made.removed),
            tuple(made.ranges),
            tuple(made.gone),
            copper[i].tobytes() if told else b"",
        )
        if key not in known:
            known[key] = len(kept)
            kept.append((made, i))
        row[i] = known[key]
    batch = _arrays(case, [made for made, _ in kept], states)
    first = [i for _, i in kept]
    return replace(batch, copper=copper[first], copper_sd=copper_sd[first]), row


def _arrays(
    case: "Case",
    rows: Sequence[_Row],
    states: Sequence["State"],
) -> Batch:
    count = len(rows)
    paths = max((len(row.columns) for row in rows), default=0) or 1
    unknowns = max((len(row.ranges) for row in rows), default=0) or 1
    size = len(case.readings)
    path = np.zeros((count, paths), np.intp)
    unknown = np.zeros((count, paths), np.intp)
    there = np.zeros((count, len(states), paths), bool)
    removed = np.zeros((count, paths))
    low = np.zeros((count, unknowns))
    high = np.ones((count, unknowns))
    used = np.zeros((count, unknowns), bool)
    common = np.broadcast_to(
        case.there(states), (count, len(states), len(case.common) + 2)
    ).copy()
    none = np.zeros((count, size))
    for h, row in enumerate(rows):
        n = len(row.columns)
        path[h, :n] = row.columns
        unknown[h, :n] = row.unknown
        removed[h, :n] = row.removed
        if n:
            there[h, :, :n] = np.array(row.there, bool).T
        for f, ends in enumerate(row.ranges):
            low[h, f], high[h, f] = ends
            used[h, f] = True
        for ref, board in row.gone:
            mine = np.array([*(p.ref == ref for p in case.common), False, False])
            common[h] &= ~(np.array(board, bool)[:, None] & mine)
    return Batch(path, unknown, there, removed, low, high, used, common, none, none)
