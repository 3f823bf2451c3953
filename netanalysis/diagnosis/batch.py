"""Hypotheses as arrays: those that no reading can tell apart share one row."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.copper_arrays import copper_arrays
from ohmtrail.netanalysis.diagnosis.faults import Fault
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.diagnosis.problem import NO_PATHS, Batch

if TYPE_CHECKING:
    from ohmtrail.netanalysis.diagnosis.case import Case
    from ohmtrail.netanalysis.diagnosis.readings import State

__all__ = ["healthy_batch", "make_batch"]


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
    copper, loads = copper_arrays(case, hypotheses, case.readings)
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
    load = np.broadcast_to(loads, (len(first), *loads.shape))
    return replace(batch, copper=copper[first], load_copper=load), row


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
        case.there(states), (count, len(states), len(case.common) + NO_PATHS)
    ).copy()
    none = np.zeros((count, size, 3))
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
            mine = np.array(
                [*(p.ref == ref for p in case.common), *(NO_PATHS * [False])]
            )
            common[h] &= ~(np.array(board, bool)[:, None] & mine)
    return Batch(path, unknown, there, removed, low, high, used, common, none, none)
