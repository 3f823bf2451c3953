"""Another start for fits that take a reading for wrong which others explain by nature.

A rail of 27 kohm whose loads are usually two may be one with two loads in parallel,
both far up their ranges: a fit that came to rest with the reading given up stays there.
Where another hypothesis explains the same reading by what every board has, loads and
links, the row is fitted once more from that one's.
"""

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.fit import Fit, better_of, fit
from ohmtrail.netanalysis.diagnosis.predicted import predicted
from ohmtrail.netanalysis.diagnosis.problem import Batch, Problem, rows_of

__all__ = ["borrowed_start"]

Floats = NDArray[np.float64]

#: From this chance on a reading counts as given up, below the other as explained.
_GIVEN_UP, _EXPLAINED = 0.5, 0.2
#: So many of the best rows lend their loads, each row is tried for so many readings.
_LENDERS, _TRIED_MAX = 12, 2
#: So much of what moves a reading must be common to all boards.
_BY_NATURE = 0.5


def borrowed_start(
    problem: Problem,
    batch: Batch,
    fitted: Fit,
    rounds: int,
    prior: Floats,
    some: NDArray[np.intp],
) -> Fit:
    """Return the fits, better ones where another row's loads explain more.

    Parameters
    ----------
    problem : Problem
    batch : Batch
    fitted : Fit
        Of this batch.
    rounds : int
        As in `fit`.
    prior : ndarray, shape (H,)
        With the evidence it tells which rows are the best: these lend.
    some : ndarray of int, shape (rows,)
        The rows that are worth it.

    Notes
    -----
    Up to two more fits for each row that gives up a reading.
    """
    lost = np.zeros(fitted.wrong.shape, bool)
    lost[some] = fitted.wrong[some] > _GIVEN_UP
    if not lost.any():
        return fitted
    lenders = np.argsort(-(fitted.evidence + prior))[:_LENDERS]
    m = len(problem.common)
    found = predicted(
        problem,
        rows_of(batch, lenders),
        fitted.common[lenders],
        fitted.fault[lenders],
    )
    moved = np.abs(found.slope)
    nature = moved[:, :, :m].sum(2) >= _BY_NATURE * moved.sum(2)
    lends = nature & (fitted.wrong[lenders] < _EXPLAINED)
    rows: list[int] = []
    starts: list[Floats] = []
    held: list[NDArray[np.bool_]] = []
    for h in np.flatnonzero((lost & lends.any(0)).any(1)).tolist():
        mine = np.flatnonzero(lost[h] & lends.any(0))
        worst = mine[np.argsort(-np.abs(fitted.deviation[h, mine]))[:_TRIED_MAX]]
        for p in worst.tolist():
            lender = int(lenders[lends[:, p].argmax()])
            if lender != h:
                rows.append(h)
                both = fitted.common[lender], fitted.fault[h]
                starts.append(np.concatenate(both))
                hold = ~lost[h]
                hold[p] = True
                held.append(hold)
    if not rows:
        return fitted
    which = np.array(rows, np.intp)
    start = np.array(starts)
    tried = fit(problem, rows_of(batch, which), rounds, start, held=np.array(held))
    return better_of(fitted, tried, which)
