"""Resistance to expect between two nodes: every corner, junctions that wake, meter.

All ranges at their low ends give the lowest honest reading and all at their high
ends the highest: no passive network reads higher when a part of it reads lower
(Rayleigh's monotonicity law; it holds for junctions too).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ohmtrail.netanalysis.network.assembly import Floats
from ohmtrail.netanalysis.network.awake import Awake, Read
from ohmtrail.netanalysis.network.elements import CORNERS
from ohmtrail.netanalysis.network.factor import CHUNK
from ohmtrail.netanalysis.network.solved_board import SolvedBoard
from ohmtrail.netanalysis.network.tolerance import ResistanceRange

__all__ = ["Ohms", "ohms_between"]

#: Parts that carry less than this share of the power do not set a reading.
_SETS = 0.01
#: Above this, hands, flux and charging capacitors take part in the reading (CP).
_DIRT_OHMS = 1e6


@dataclass(frozen=True, slots=True)
class Ohms:
    """What an ohmmeter should show, in ohms; ``inf`` for "OL"."""

    low: float
    typical: float
    high: float
    #: The resistances alone.
    linear: ResistanceRange
    #: Refs by their share of the typical reading, and those that set the range.
    because: tuple[str, ...]
    #: Refs of junctions that conduct, at any corner.
    woke: tuple[str, ...]
    #: The typical reading with the probes swapped, None where nothing wakes.
    swapped: float | None
    #: Swapping tells a junction from a resistance.
    polar: bool = False


def ohms_between(
    board: SolvedBoard,
    mode: str,
    pairs: Sequence[tuple[str, str]],
    *,
    swap: bool = False,
) -> list[Ohms]:
    """Return what the meter should show between the nodes of each pair.

    Parameters
    ----------
    board : SolvedBoard
        The board in its state.
    mode : str
        "resistance" or "four-wire".
    pairs : sequence of (str, str)
        Nodes of the red and the black lead.
    swap : bool
        Also work out the reading with the probes swapped.

    Notes
    -----
    Some solutions a pair of the factored network; junctions are only solved where
    they could carry a share of the test current.
    """
    found: list[Ohms] = []
    once = list(dict.fromkeys(pairs))
    for start in range(0, len(once), CHUNK):
        some = once[start : start + CHUNK]
        linear = board.corners.ranges(some)
        shares = _shares(board, some)
        ways = {corner: Awake(board, mode, corner, some) for corner in CORNERS}
        back = [(minus, plus) for plus, minus in some] if swap else []
        turned = Awake(board, mode, "typical", back)
        for k in range(len(some)):
            reads = [ways[corner].reading(k) for corner in CORNERS]
            turn = turned.reading(k) if swap else None
            found.append(_one(board, mode, linear[k], shares[k], reads, turn))
    by_pair = dict(zip(once, found, strict=True))
    return [by_pair[pair] for pair in pairs]


def _one(
    board: SolvedBoard,
    mode: str,
    linear: ResistanceRange,
    shares: tuple[str, ...],
    reads: list[Read],
    turned: Read | None,
) -> Ohms:
    low, typical, high = (read.ohms for read in reads)
    if not reads[0].woke and not reads[1].woke:
        low = max(low, linear.ohms_low_likely)
    woke = dict.fromkeys(ref for k in (1, 0, 2) for ref in reads[k].woke)
    polar = False
    if turned is not None:
        there, back = reads[1], turned
        error = sum(
            one.range.error_ohms(one.ohms)
            for one in (there, back)
            if one.ohms < math.inf
        )
        if there.ohms != back.ohms:  # both may be "OL"
            polar = abs(there.ohms - back.ohms) > error
    low = max(0.0, low - reads[0].range.error_ohms(low)) if low < math.inf else low
    high = high + reads[2].range.error_ohms(high)
    top = board.meter.ranges(mode)[-1].full_scale_ohms
    high = high if high <= top else math.inf
    if mode == "resistance":
        low = min(low, _DIRT_OHMS)
    because = tuple(dict.fromkeys((*shares, *linear.because, *woke)))
    swapped = turned.ohms if turned is not None else None
    return Ohms(low, typical, high, linear, because, tuple(woke), swapped, polar)


def _shares(
    board: SolvedBoard, pairs: Sequence[tuple[str, str]]
) -> list[tuple[str, ...]]:
    """Return the refs that set each typical reading, by their share of its power.

    The share of the power is the share of the reading that a part answers for:
    ``d ln R / d ln r = i^2 r / R`` (Cohn's theorem).
    """
    solver = board.corners.solvers["typical"]
    net = solver.assembly
    plus, minus = net.pairs(pairs)
    volts = solver.factor.solve(plus, minus)
    ohms = np.diagonal(volts.drops(plus, minus))
    watts: Floats = net.siemens[:, None] * volts.drops(net.tail, net.head) ** 2
    found: list[tuple[str, ...]] = []
    for k in range(len(pairs)):
        if net.island[plus[k]] != net.island[minus[k]] or ohms[k] <= 0.0:
            found.append(())
            continue
        share: dict[str, float] = {}
        for edge in np.flatnonzero(watts[:, k] >= 0.1 * _SETS * ohms[k]).tolist():
            ref = board.network.resistances[net.element[edge]].ref
            share[ref] = share.get(ref, 0.0) + float(watts[edge, k])
        order = sorted(share, key=lambda ref: (-share[ref], ref))
        found.append(tuple(ref for ref in order if share[ref] >= _SETS * ohms[k]))
    return found
