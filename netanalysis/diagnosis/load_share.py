"""Another start for fits in which a fault takes all of a rail's current.

A core of half an ohm beside a short of half an ohm reads a quarter: from the usual
load, some ohms, no small step leads there, since a load that takes next to nothing
tells next to nothing.  Rows that leave milliohms unexplained are fitted once more from
where the load takes two thirds of the current, or one.  So are those of loads with a
link between them from where each of them takes all.
"""

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.fit import Fit, better_of, fit, oddness
from ohmtrail.netanalysis.diagnosis.predicted import predicted
from ohmtrail.netanalysis.diagnosis.problem import Batch, Problem, rows_of

__all__ = ["load_share"]

#: A fault that takes more than this leaves the load untold; a reading this many spreads
#: off is left unexplained.
_MOST, _ODD = 0.7, 2.5
#: So many loads are looked at, of which each must be seen in the reading at all; all
#: but one are put this far above it, as a logarithm.
_SWAPPED, _SEEN, _ASIDE = 3, 1e-3, 3.0
#: Load and fault by what is read: two thirds of the current, or one, to the load.
_STARTS = ((1.5, 3.0), (3.0, 1.5))


def load_share(
    problem: Problem,
    batch: Batch,
    fitted: Fit,
    rounds: int,
    some: NDArray[np.intp],
) -> Fit:
    """Return the fits, better ones where the load may take its share.

    Parameters
    ----------
    problem : Problem
    batch : Batch
    fitted : Fit
        Of this batch.
    rounds : int
        As in `fit`.
    some : ndarray of int, shape (rows,)
        The rows that are worth it.

    Notes
    -----
    Up to five more fits for each row that leaves a reading unexplained.
    """
    m = len(problem.common)
    told = np.flatnonzero(~problem.at_least)
    if not len(told) or not problem.beside.any():
        return fitted
    rows = some[_left_odd(problem, fitted, some, told)]
    if not len(rows):
        return fitted
    common, fault = fitted.common[rows], fitted.fault[rows]
    found = predicted(problem, rows_of(batch, rows), common, fault)
    share = found.slope[:, told] / found.total[:, told, None]
    # The reading that a load moves most, of those that a fault has to itself.
    loads = share[:, :, :m] * problem.beside
    loads *= (share[:, :, m:].sum(2) > _MOST)[:, :, None]
    at = loads.max(2).argmax(1)
    every = np.arange(len(rows))
    load = loads[every, at].argmax(1)
    unknown = share[every, at, m:].argmax(1)
    log_ohms = np.log(found.total[every, told[at]])
    begun: list[int] = []
    starts: list[NDArray[np.float64]] = []

    def begin(h: int, ohms: dict[int, float]) -> None:
        start = np.concatenate((common[h], fault[h]))
        for k, log in ohms.items():
            start[k] = log
        starts.append(start)
        begun.append(int(rows[h]))

    for h in np.flatnonzero(loads[every, at, load]).tolist():
        for mine, others in np.log(_STARTS):
            if log_ohms[h] + mine >= problem.common_low[load[h]]:
                to_load, to_fault = log_ohms[h] + mine, log_ohms[h] + others
                begin(h, {int(load[h]): to_load, m + int(unknown[h]): to_fault})
    # Of loads with links between them any may be the low one.
    by_load = share[:, :, :m] * problem.beside
    worst = np.abs(fitted.deviation[np.ix_(rows, told)]).argmax(1)
    for h in every.tolist():
        taken = by_load[h, worst[h]]
        seen = [k for k in np.argsort(-taken)[:_SWAPPED].tolist() if taken[k] > _SEEN]
        log = float(np.log(found.total[h, told[worst[h]]]))
        for k in seen if len(seen) > 1 else ():
            if taken[k] < _MOST and log >= problem.common_low[k]:
                begin(h, {one: log + (_ASIDE if one != k else 0.0) for one in seen})
    if not begun:
        return fitted
    which = np.array(begun, np.intp)
    tried = fit(problem, rows_of(batch, which), rounds, np.array(starts), near=True)
    return better_of(fitted, tried, which)


def _left_odd(
    problem: Problem, fitted: Fit, some: NDArray[np.intp], told: NDArray[np.intp]
) -> NDArray[np.bool_]:
    """Return which rows leave something unexplained, shape (rows,).

    One reading, or all sharp ones together with what copper and links had to give way.
    """
    odd = oddness(problem, fitted)[some]
    readings = problem.log_value.size
    sharp = told[problem.leads[told] == 0.0]
    way = readings + np.flatnonzero(problem.beside == 0.0)
    strain = (odd[:, sharp] ** 2).sum(1) + (odd[:, way] ** 2).sum(1)
    worst = np.abs(odd[:, told]).max(1)
    found: NDArray[np.bool_] = np.maximum(worst, np.sqrt(strain)) > _ODD
    return found
