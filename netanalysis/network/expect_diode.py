"""Diode mode to expect between two nodes: volts at the meter's current."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from ohmtrail.netanalysis.network.elements import CORNERS
from ohmtrail.netanalysis.network.junction_solve import Solution
from ohmtrail.netanalysis.network.solved_board import SolvedBoard

__all__ = ["Diode", "diode_between", "prepare_diode"]

#: Parts that take less than this share of the power do not set a reading.
_SETS = 0.03


@dataclass(frozen=True, slots=True)
class Diode:
    """What diode mode should show, in volts; ``inf`` for "OL"."""

    low: float
    typical: float
    high: float
    #: Refs by their share of the power.
    because: tuple[str, ...]
    #: The typical reading with the probes swapped, if asked for.
    swapped: float | None = None
    #: Swapping tells a junction from a resistance.
    polar: bool = False


def diode_between(
    board: SolvedBoard, plus: str, minus: str, *, swap: bool = False
) -> Diode:
    """Return what diode mode should show with red on ``plus``.

    Parameters
    ----------
    board : SolvedBoard
        The board in its state.
    plus, minus : str
        Nodes.
    swap : bool
        Also work out the reading the other way round.

    Notes
    -----
    One solution of the junctions a corner.
    """
    shown: dict[str, float] = {}
    because: dict[str, None] = {}
    for corner in CORNERS:
        volts, refs = _read(board, plus, minus, corner)
        shown[corner] = volts
        if corner == "typical" or not because:
            because.update(dict.fromkeys(refs))
    low, high = shown["low"], shown["high"]
    one = board.meter.diode
    if low < math.inf:
        low = max(0.0, low - one.error_volts(low))
    if high < math.inf:
        high += one.error_volts(high)
        high = high if high <= one.full_scale_volts else math.inf
    there, back = shown["typical"], None
    polar = False
    if swap:
        back = _read(board, minus, plus, "typical")[0]
        error = sum(one.error_volts(v) for v in (there, back) if v < math.inf)
        polar = there != back and abs(there - back) > error  # both may be "OL"
    return Diode(low, there, high, tuple(because), back, polar)


def prepare_diode(
    board: SolvedBoard, pairs: Iterable[tuple[str, str]], *, swap: bool = False
) -> None:
    """Solve many pairs together, for `diode_between` to ask for one by one."""
    pairs = list(pairs)
    one = board.meter.diode
    at_pads = one.open_volts - one.test_amps * board.meter.leads("diode")
    for corner in CORNERS if pairs else ():
        more = [(b, a) for a, b in pairs] if swap and corner == "typical" else []
        board.junctions(corner).prepare(
            (plus, minus, one.test_amps, at_pads) for plus, minus in (*pairs, *more)
        )


def _read(
    board: SolvedBoard, plus: str, minus: str, corner: str
) -> tuple[float, tuple[str, ...]]:
    one = board.meter.diode
    at_pads = one.open_volts - one.test_amps * board.meter.leads("diode")
    solver = board.junctions(corner)
    found = solver.solve(plus, minus, one.test_amps, at_pads)
    if found.limited or found.volts > one.full_scale_volts:
        return math.inf, ()
    return found.volts, _refs(board, found)


def _refs(board: SolvedBoard, found: Solution) -> tuple[str, ...]:
    """Return the refs that set a reading, by their share of the power."""
    volts = found.node_volts
    watts: dict[str, float] = {}
    total = max(found.volts * found.amps, 1e-30)
    network = board.network
    least = _SETS * found.amps * 0.1
    amps = np.nan_to_num(found.resistance_amps)
    for k in np.flatnonzero(np.abs(amps) >= least).tolist():
        path = network.resistances[k]
        drop = volts.get(path.a, 0.0) - volts.get(path.b, 0.0)
        watts[path.ref] = watts.get(path.ref, 0.0) + drop * float(amps[k])
    for k in np.flatnonzero(np.abs(found.junction_amps) >= least).tolist():
        one = network.junctions[k]
        drop = volts.get(one.anode, 0.0) - volts.get(one.cathode, 0.0)
        flow = float(found.junction_amps[k])
        watts[one.ref] = watts.get(one.ref, 0.0) + drop * flow
    # Parts that are equals share a place by name, not by the last digit.
    order = sorted(watts, key=lambda ref: (-float(f"{watts[ref]:.6g}"), ref))
    return tuple(ref for ref in order if watts[ref] >= _SETS * total)
