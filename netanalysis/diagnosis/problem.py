"""Readings and hypotheses as arrays, and what each hypothesis predicts.

Every hypothesis is a low-rank change of one solved board: the voltage across any pair
of nodes for 1 A follows from `Coupling` and a small system.
"""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "NO_PATHS",
    "Batch",
    "Problem",
    "alike",
    "conductances",
    "path_columns",
    "predict",
    "rows_of",
    "settled",
]

Floats = NDArray[np.float64]

#: How many of the common unknowns, at the end, are no paths.
NO_PATHS = 5
#: An open part keeps a millionth of its conductance, so that no matrix is singular;
#: a link of milliohms that is off the board a billionth.
_OPEN, _OFF = 1.0 - 1e-6, 1.0 - 1e-9


@dataclass(frozen=True, slots=True)
class Problem:
    """What is the same for every hypothesis."""

    #: Transfer resistances, see `Coupling`: with the common paths at their usual value.
    q: Floats
    #: Columns of the paths that every hypothesis has (loads, links), shape (M,).
    common: NDArray[np.intp]
    #: Log of their resistance: usual value, range ends; shape (M,).
    common_log: Floats
    common_low: Floats
    common_high: Floats
    #: 1 for those that lie beside a fault as loads do, 0 for links; shape (M,).
    beside: Floats
    #: What each has there already, in siemens; shape (M,).
    base: Floats
    #: Column of each reading, of the current that it is taken with (its own, or an
    #: injection's), board state and logarithm of the value; shape (P,).
    column: NDArray[np.intp]
    drive: NDArray[np.intp]
    state: NDArray[np.intp]
    log_value: Floats
    #: 1 where the leads count.  The last common unknowns are no paths: how far an
    #: injected current is off, what the culprit's pads hang by, the scale of the
    #: copper, the meter's gain, the leads (`NO_PATHS` of them).
    leads: Floats
    #: 1 for drops that were all read with the same injected current; shape (P,).
    driven: Floats
    #: What contact adds, and its spread, in ohms; shape (P,).
    bias: Floats
    bias_sd: Floats
    #: Relative spread of the meter, and of what is assumed about the board.
    meter_sd: Floats
    doubt: Floats
    #: Resistance of the healthy board at the reading, in ohms; the doubt is its.
    healthy: Floats
    #: Readings of "OL", or of junctions that hide what is above: at least this much.
    at_least: NDArray[np.bool_]
    states: int
    #: A chip's load in the hand, and the same on the board: places among the common
    #: unknowns that are one resistance, shape (T, 2).
    tied: NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Batch:
    """Hypotheses side by side, padded to the same number of paths."""

    #: Column of each fault path; 0 where padded, shape (H, C).
    path: NDArray[np.intp]
    #: Which unknown resistance each path has, shape (H, C).
    unknown: NDArray[np.intp]
    #: Whether it is there in each state, shape (H, S, C); False where padded.
    there: NDArray[np.bool_]
    #: A part gone open: its conductance is taken away, in siemens; else 0.
    removed: Floats
    #: Range of the unknown resistances, as logarithms, shape (H, F).
    low: Floats
    high: Floats
    #: Whether an unknown is used at all, shape (H, F).
    used: NDArray[np.bool_]
    #: Whether each common path is there, shape (H, S, M).
    common_there: NDArray[np.bool_]
    #: Copper between the reading's pads and the fault, and between them and the loads,
    #: in ohms, shape (H, P, 3) each: what pads hang by, what the sheet adds at scale 1,
    #: the pads' spread.  Each counts by the share of the current that goes there.
    copper: Floats
    load_copper: Floats


def rows_of(batch: Batch, rows: NDArray[np.intp]) -> Batch:
    """Return some rows of a batch."""
    return Batch(*(getattr(batch, f.name)[rows] for f in fields(Batch)))


def alike(batch: Batch) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the first of every kind of row, the copper aside, and each row's kind.

    Returns
    -------
    first : ndarray of int, shape (kinds,)
    kind : ndarray of int, shape (H,)
    """
    names = ("path", "unknown", "there", "removed", "low", "high", "common_there")
    known: dict[tuple[bytes, ...], int] = {}
    first: list[int] = []
    like: list[int] = []
    for h in range(len(batch.path)):
        key = tuple(getattr(batch, name)[h].tobytes() for name in names)
        if key not in known:
            known[key] = len(first)
            first.append(h)
        like.append(known[key])
    return np.array(first, np.intp), np.array(like, np.intp)


def settled(problem: Problem, gone: NDArray[np.intp]) -> Floats:
    """Return the couplings with some common paths there at their usual value.

    Parameters
    ----------
    problem : Problem
    gone : ndarray of int, shape (G,)
        Which of the common unknowns, all of them paths.

    Returns
    -------
    ndarray, shape (columns, columns)
    """
    at = problem.common[gone]
    g = np.exp(-problem.common_log[gone]) - problem.base[gone]
    matrix = problem.q[np.ix_(at, at)] * g
    matrix[np.diag_indices(len(at))] += 1.0
    less: Floats = (problem.q[:, at] * g) @ np.linalg.solve(matrix, problem.q[at])
    return np.subtract(problem.q, less, out=less)


def conductances(
    problem: Problem,
    batch: Batch,
    common: Floats,
    fault: Floats,
    state: int,
    rows: NDArray[np.intp] | slice = slice(None),
) -> tuple[Floats, Floats]:
    """Return the conductances of all changing paths in a state.

    Parameters
    ----------
    problem : Problem
    batch : Batch
    common, fault : ndarray, shape (H, M), (H, F)
        Log resistances.
    state : int
    rows : ndarray of int, shape (R,), optional
        Which hypotheses.

    Returns
    -------
    g : ndarray, shape (R, M - NO_PATHS + C)
        In siemens; less than nothing for a part gone open.
    change : ndarray, same shape
        How much more than ``q`` has.  A link of milliohms as the one way to ground,
        taken as a change from nothing, would lose all digits of what it is worth.
    """
    there = batch.common_there[rows, state, :-NO_PATHS]
    g_common = np.exp(-common[rows, :-NO_PATHS]) * there
    base = problem.base[:-NO_PATHS]
    removed = batch.removed[rows]
    g_fault = np.exp(-np.take_along_axis(fault[rows], batch.unknown[rows], 1))
    g_fault = np.where(removed > 0, -removed * _OPEN, g_fault)
    g_fault *= batch.there[rows, state]
    change = np.where(there, g_common - base, -base * _OFF)
    return (
        np.concatenate((g_common, g_fault), 1),
        np.concatenate((change, g_fault), 1),
    )


def path_columns(problem: Problem, batch: Batch) -> NDArray[np.intp]:
    """Return the column of every changing path, shape (H, M - NO_PATHS + C)."""
    common = problem.common[:-NO_PATHS]
    wide = np.broadcast_to(common, (len(batch.path), len(common)))
    return np.concatenate((wide, batch.path), 1)


def predict(
    problem: Problem,
    batch: Batch,
    common: Floats,
    fault: Floats,
    columns: NDArray[np.intp],
    state: int,
    drives: NDArray[np.intp] | None = None,
) -> tuple[Floats, Floats]:
    """Return what is between pairs of nodes in a state, and what sets it.

    With ``drives``, the voltage across each pair for 1 A through another pair.

    Returns
    -------
    ohms : ndarray, shape (H, columns)
    slope : ndarray, shape (H, columns, M + F)
        Derivative of the resistance by each log resistance.
    """
    index = path_columns(problem, batch)
    g, change = conductances(problem, batch, common, fault, state)
    kuu = problem.q[index[:, :, None], index[:, None, :]]
    kub = problem.q[index[:, :, None], columns[None, None, :]]
    matrix = kuu * change[:, None, :]
    diagonal = np.arange(index.shape[1])
    matrix[:, diagonal, diagonal] += 1.0
    volts = np.linalg.solve(matrix, kub)
    if drives is None or np.array_equal(columns, drives):
        driven = volts
        own = problem.q[columns, columns]
    else:
        kud = problem.q[index[:, :, None], drives[None, None, :]]
        driven = np.linalg.solve(matrix, kud)
        own = problem.q[columns, drives]
    ohms = own - np.einsum("hmb,hm,hmb->hb", kub, change, driven)
    each = np.maximum(g, 0.0)[:, :, None] * volts * driven
    m = len(problem.common)
    paths = m - NO_PATHS
    f = fault.shape[1]
    slope = np.zeros((len(ohms), len(columns), m + f))
    slope[:, :, :paths] = each[:, :paths].transpose(0, 2, 1)
    for c in range(batch.path.shape[1]):
        rows = np.arange(len(ohms))
        slope[rows, :, m + batch.unknown[:, c]] += each[:, paths + c]
    return np.maximum(ohms, 1e-7), slope
