"""All hypotheses fitted: a rough look at each, then those that are left to the end."""

from collections.abc import Callable
from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.borrowed_start import borrowed_start
from ohmtrail.netanalysis.diagnosis.fit import Fit, better_of, fit, unexplained
from ohmtrail.netanalysis.diagnosis.load_share import load_share
from ohmtrail.netanalysis.diagnosis.problem import Batch, Problem, alike, rows_of
from ohmtrail.netanalysis.diagnosis.second_look import second_look

__all__ = ["fit_all"]

#: Rows that are fitted at once.
_CHUNK = 64
#: Gauss-Newton rounds of a first look, and of what is fitted to the end.
_FIRST_ROUNDS, _ROUNDS = 2, 12
#: A start that gains so much helps rows alike as well, as a logarithm.
_HELPED = 0.1


def fit_all(
    problem: Problem, batch: Batch, prior: NDArray[np.float64], hopeless: float
) -> Fit:
    """Fit every row; those that a first look finds hopeless keep that look.

    Parameters
    ----------
    problem : Problem
    batch : Batch
    prior : ndarray, shape (H,)
        Log prior of each row.
    hopeless : float
        So far behind the best, as a logarithm, a row is hopeless.

    Notes
    -----
    O(rows * states * paths^3).
    """
    quick = _first_look(problem, batch, prior, hopeless)
    score = quick.evidence + prior
    could = np.flatnonzero(score + unexplained(quick) > score.max() - hopeless)
    shared = _by_kind(
        batch,
        quick,
        could,
        lambda now, rows: load_share(problem, batch, now, _FIRST_ROUNDS, rows),
    )
    score = shared.evidence + prior
    hopeful = np.flatnonzero(score > score.max() - hopeless)
    better = _chunks(problem, batch, hopeful, _ROUNDS, _rest(shared)[hopeful])
    # What two rounds make of a start is no promise: both are followed to the end.
    other = np.flatnonzero((_rest(shared) != _rest(quick))[hopeful].any(1))
    if len(other):
        first = hopeful[other]
        tried = _chunks(problem, batch, first, _ROUNDS, _rest(quick)[first])
        better = better_of(better, tried, other)
    some = rows_of(batch, hopeful)
    better = second_look(problem, some, better, _ROUNDS)
    likely = np.argsort(-(better.evidence + prior[hopeful]))
    better = _by_kind(
        some,
        better,
        likely,
        lambda now, rows: borrowed_start(
            problem, some, now, _ROUNDS, prior[hopeful], rows
        ),
    )
    for f in fields(Fit):
        getattr(shared, f.name)[hopeful] = getattr(better, f.name)
    return shared


def _by_kind(
    batch: Batch,
    fitted: Fit,
    could: NDArray[np.intp],
    start: Callable[[Fit, NDArray[np.intp]], Fit],
) -> Fit:
    """Try another start: for one row of each kind, for all of it where that helped."""
    _, kind = alike(batch)
    leading: dict[int, int] = {}
    for h in could.tolist():
        leading.setdefault(int(kind[h]), h)
    first = np.array(list(leading.values()), np.intp)
    tried = start(fitted, first)
    helped = tried.evidence > fitted.evidence + _HELPED
    more = [
        h
        for h in could.tolist()
        if h != leading[int(kind[h])] and helped[leading[int(kind[h])]]
    ]
    return start(tried, np.array(more, np.intp))


def _first_look(
    problem: Problem, batch: Batch, prior: NDArray[np.float64], hopeless: float
) -> Fit:
    """Fit every row roughly: one of those with the same paths, then from there all.

    What would be hopeless even if nothing were left odd is looked at from there, and
    not fitted.
    """
    every = np.arange(len(batch.path))
    first, like = alike(batch)
    if len(first) == len(every):
        return _chunks(problem, batch, every, _FIRST_ROUNDS)
    some = _chunks(problem, batch, first, _FIRST_ROUNDS)
    others = np.setdiff1d(every, first)
    least = (some.evidence + prior[first]).max() - hopeless
    could = (some.evidence + unexplained(some))[like] + prior > least
    looks, order = [some], [first]
    for rows, rounds, near in (
        (others[could[others]], _FIRST_ROUNDS, True),
        (others[~could[others]], 0, False),
    ):
        if len(rows):
            start = _rest(some)[like[rows]]
            looks.append(_chunks(problem, batch, rows, rounds, start, near=near))
            order.append(rows)
    place = np.argsort(np.concatenate(order))
    return Fit(
        *(
            np.concatenate([getattr(one, f.name) for one in looks])[place]
            for f in fields(Fit)
        )
    )


def _rest(fitted: Fit) -> NDArray[np.float64]:
    """Return where every row came to rest, shape (H, M + F)."""
    return np.concatenate((fitted.common, fitted.fault), 1)


def _chunks(
    problem: Problem,
    batch: Batch,
    rows: NDArray[np.intp],
    rounds: int,
    start: NDArray[np.float64] | None = None,
    *,
    near: bool = False,
) -> Fit:
    parts = []
    for i in range(0, len(rows), _CHUNK):
        some = slice(i, i + _CHUNK)
        begin = None if start is None else start[some]
        mine = rows_of(batch, rows[some])
        parts.append(fit(problem, mine, rounds, begin, near=near))
    joined = ([getattr(part, f.name) for part in parts] for f in fields(Fit))
    return Fit(*(np.concatenate(values) for values in joined))
