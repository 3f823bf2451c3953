"""The log without probabilities: which readings convict a set, which acquit a fault.

A reading below all that a healthy board can read is a *conflict*: of the parts that
could make it so low, not all are good.  A reading above all that a short allows
contradicts it, whatever else is shorted (an open part between could hide it).  What
hits every conflict and is not contradicted is a *diagnosis*.  The probabilities of
`posterior` must agree.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.batch import make_batch
from ohmtrail.netanalysis.diagnosis.case import Case
from ohmtrail.netanalysis.diagnosis.faults import Fault
from ohmtrail.netanalysis.diagnosis.hitting_sets import minimal_hitting_sets
from ohmtrail.netanalysis.diagnosis.hypotheses import Hypothesis
from ohmtrail.netanalysis.diagnosis.problem import Batch, Problem, predict, rows_of

__all__ = ["Conflict", "Consistency", "consistency"]

Floats = NDArray[np.float64]
Placed = tuple[Fault, int]

#: Spreads that a reading, and a prediction, may be off.
_SIGMA, _DOUBT = 3.0, 2.0
#: A part is in a conflict if it alone, or four such, can bring the reading about.
_TOGETHER = 4.0
#: Leads that were not nulled, at most, in ohms (common practice).
_LEADS = 0.4
_CHUNK = 64
_SIZE_MAX = 2


@dataclass(frozen=True, slots=True)
class Conflict:
    """Parts that cannot all be good, given one reading."""

    line: int
    #: (ref, which piece of it: 0 came with the board).
    parts: frozenset[tuple[str, int]]


@dataclass(frozen=True, slots=True)
class Consistency:
    """What the readings allow, taken as true."""

    conflicts: tuple[Conflict, ...]
    #: The first line that contradicts a fault, by (fault, piece).
    contradicted: Mapping[Placed, int]
    #: Smallest sets of (ref, piece) that explain every conflict: one part where one
    #: suffices, else two; empty where it takes more, or nothing explains one.
    diagnoses: tuple[frozenset[tuple[str, int]], ...]

    def against(self, ref: str, piece: int = 0) -> tuple[int, ...]:
        """Return the lines that together contradict every fault of a part.

        Empty where a fault is left that no line contradicts, or none was looked at.
        """
        mine = [
            line
            for (f, n), line in self.contradicted.items()
            if (f.ref, n) == (ref, piece)
        ]
        return tuple(sorted(set(mine))) if mine and 0 not in mine else ()


def consistency(
    case: Case,
    *,
    without: Iterable[int] = (),
    faults: Iterable[Placed] | None = None,
) -> Consistency:
    """Return conflicts, contradicted faults and minimal diagnoses of a log.

    Parameters
    ----------
    case : Case
    without : iterable of int
        Log lines that are not believed.
    faults : iterable of (Fault, int), optional
        By default every fault of every piece that the case knows.

    Notes
    -----
    A network of resistances reads between its values with all unknowns at their low
    ends and at their high ends (Rayleigh's monotonicity law), so both ends bound what
    a hypothesis allows.  Drops are left out: they are no resistances.  O(distinct
    faults * states * paths^3).
    """
    placed = list(_every(case) if faults is None else faults)
    if not case.readings:
        return Consistency((), dict.fromkeys(placed, 0), ())
    hypotheses = [Hypothesis(), *(Hypothesis((one,)) for one in placed)]
    batch, row = make_batch(case, hypotheses, case.states)
    low, high = _ends(case.problem, batch)
    low, high = low[row], high[row]
    skipped = set(without)
    used = [
        i
        for i, one in enumerate(case.readings)
        if one.line not in skipped and one.mode != "drop"
    ]
    read_low, read_high = _read(case.problem)
    contradicted = dict.fromkeys(placed, 0)
    for i in used:
        for h, one in enumerate(placed, 1):
            if contradicted[one]:
                continue
            fault = one[0]
            if fault.open:
                # Another short can lower any reading but that across the part.
                no = _across(case, i, fault) and low[h, i] > read_high[i]
            else:
                no = high[h, i] < read_low[i]
            if no:
                contradicted[one] = case.readings[i].line
    conflicts = []
    explained = []
    for i in used:
        if low[0, i] > read_high[i]:
            able = low[1:, i] <= _TOGETHER * read_high[i]
        elif high[0, i] < read_low[i]:
            able = high[1:, i] >= read_low[i] / _TOGETHER
        else:
            continue
        members = [one for one, yes in zip(placed, able, strict=True) if yes]
        left = [one for one in members if not contradicted[one]]
        conflicts.append(Conflict(case.readings[i].line, _parts(members)))
        explained.append(_parts(left))
    return Consistency(tuple(conflicts), contradicted, _diagnoses(explained))


def _every(case: Case) -> Iterable[Placed]:
    for fault in case.faults:
        for piece in case.pieces.get(fault.ref, (0,)):
            yield fault, piece


def _parts(members: Iterable[Placed]) -> frozenset[tuple[str, int]]:
    return frozenset((fault.ref, piece) for fault, piece in members)


def _across(case: Case, i: int, fault: Fault) -> bool:
    one = case.readings[i]
    return {one.plus.net, one.minus.net} == set(fault.nets)


def _diagnoses(
    conflicts: Sequence[frozenset[tuple[str, int]]],
) -> tuple[frozenset[tuple[str, int]], ...]:
    for size in range(1, _SIZE_MAX + 1):
        found = minimal_hitting_sets(conflicts, size_max=size)
        if found:
            return tuple(found)
    return ()


def _read(problem: Problem) -> tuple[Floats, Floats]:
    """Return the resistance that each reading allows at the pads, its ends."""
    value = np.exp(problem.log_value)
    off = _SIGMA * (value * problem.meter_sd + problem.bias_sd)
    low = value - off - problem.bias - _LEADS * problem.leads
    high = np.where(problem.at_least, np.inf, value + off)
    return np.maximum(low, 0.0), high


def _ends(problem: Problem, batch: Batch) -> tuple[Floats, Floats]:
    """Return what each hypothesis allows each reading to be, shape (H, P) each."""
    return (
        _at(problem, batch, problem.common_low, batch.low, -1.0),
        _at(problem, batch, problem.common_high, batch.high, 1.0),
    )


def _at(
    problem: Problem, batch: Batch, common: Floats, fault: Floats, sign: float
) -> Floats:
    made = []
    for start in range(0, len(batch.path), _CHUNK):
        rows = np.arange(start, min(start + _CHUNK, len(batch.path)))
        part = rows_of(batch, rows)
        made.append(_chunk(problem, part, common, fault[rows]))
    ohms = np.concatenate(made)
    # What the rest of the board leaves open, and junctions that a meter may wake.
    doubt = _DOUBT * problem.doubt * np.minimum(1.0, ohms / problem.healthy)
    if sign < 0:
        doubt = doubt + 1.2 * np.clip(np.log10(ohms / 300.0), 0.0, 1.0)
    found: Floats = ohms * np.exp(sign * doubt)
    return found


def _chunk(problem: Problem, batch: Batch, common: Floats, fault: Floats) -> Floats:
    wide = np.broadcast_to(common, (len(batch.path), len(common)))
    ohms = np.empty((len(batch.path), len(problem.column)))
    plain = replace(problem, drive=problem.column)
    for state in range(problem.states):
        rows = np.flatnonzero(problem.state == state)
        if len(rows):
            columns = plain.column[rows]
            ohms[:, rows] = predict(plain, batch, wide, fault, columns, state)[0]
    return ohms
