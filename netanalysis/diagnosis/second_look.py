"""A second look at fits that take several readings for wrong.

Readings that cannot all be right pull an unknown to and fro, and a fit may come to rest
where it gives up two of them though giving up one would do.  Each of those given up is
held on to in turn; what explains the readings best is kept.
"""

import numpy as np

from ohmtrail.netanalysis.diagnosis.fit import Fit, better_of, fit
from ohmtrail.netanalysis.diagnosis.problem import Batch, Problem, rows_of

__all__ = ["second_look"]

#: From this chance on a reading counts as given up; so many are tried.
_GIVEN_UP, _TRIED_MAX = 0.5, 4


def second_look(problem: Problem, batch: Batch, fitted: Fit, rounds: int) -> Fit:
    """Return the fits, better ones where holding on to another reading helps.

    Parameters
    ----------
    problem : Problem
    batch : Batch
    fitted : Fit
        Of this batch.
    rounds : int
        As in `fit`.

    Notes
    -----
    One more fit for each reading that a row gives up, of rows that give up several.
    """
    lost = fitted.wrong > _GIVEN_UP
    rows, held = [], []
    for h in np.flatnonzero(lost.sum(1) > 1):
        worst = np.argsort(-np.abs(fitted.deviation[h]) * lost[h])[:_TRIED_MAX]
        for p in worst[: lost[h].sum()]:
            rows.append(h)
            mine = ~lost[h]
            mine[p] = True
            held.append(mine)
    if not rows:
        return fitted
    some = np.array(rows, np.intp)
    start = np.concatenate((fitted.common, fitted.fault), 1)[some]
    tried = fit(problem, rows_of(batch, some), rounds, start, held=np.array(held))
    return better_of(fitted, tried, some)
