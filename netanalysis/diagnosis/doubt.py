"""How far the healthy board itself leaves each reading open."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.batch import healthy_batch
from ohmtrail.netanalysis.diagnosis.problem import Problem, conductances, predict

if TYPE_CHECKING:
    from ohmtrail.netanalysis.diagnosis.case import Case
    from ohmtrail.netanalysis.diagnosis.readings import State

__all__ = ["with_doubt"]


def with_doubt(
    case: "Case",
    raw: Problem,
    states: Sequence["State"],
    keep: NDArray[np.bool_] | None,
) -> Problem:
    """Return readings with what the healthy board shows and how sure that is.

    Parameters
    ----------
    case : Case
    raw : Problem
        The readings without doubt.
    states : sequence of State
        Every board state that they name.
    keep : ndarray of bool, shape (M + NO_PATHS,), optional
        Common paths that are fitted: only the others are in doubt.
    """
    batch = healthy_batch(case, states)
    size = len(raw.column)
    healthy, doubt = np.ones(size), np.zeros(size)
    common = raw.common_log[None, :]
    none = np.zeros((1, 1))
    for i, state in enumerate(states):
        rows = np.flatnonzero(raw.state == i)
        if not len(rows):
            continue
        columns = raw.column[rows]
        ohms, _ = predict(raw, batch, common, none, columns, i)
        healthy[rows] = ohms[0]
        if state.hand is not None:
            doubt[rows] = np.where(ohms[0] > 1e5, 2.0, 0.05)
            continue
        paths = len(case.common)
        g, change = (
            one[0, :paths] for one in conductances(raw, batch, common, none, i)
        )
        used = np.flatnonzero((g != 0) | (change != 0))
        at = raw.common[used]
        matrix = raw.q[np.ix_(at, at)] * change[used]
        matrix[np.diag_indices(len(at))] += 1.0
        volts = np.linalg.solve(matrix, raw.q[np.ix_(at, columns)])
        x = case.coupling.x[:, columns]
        x = x - case.coupling.x[:, at] @ (change[used, None] * volts)
        doubt[rows] = case.coupling.doubt(x, ohms[0])
        if keep is not None:
            loose = np.flatnonzero(~keep[used])
            share = g[used[loose], None] * volts[loose] ** 2 / ohms[0]
            width = raw.common_high - raw.common_low
            more = (share * width[used[loose], None] / 3.46) ** 2
            doubt[rows] = np.sqrt(doubt[rows] ** 2 + more.sum(0))
    # Beside one another, four-wire readings share what is not known of the rail.
    shared = np.where(raw.leads > 0, 1.0, 0.05)
    return replace(raw, doubt=np.minimum(doubt, 2.5) * shared, healthy=healthy)
