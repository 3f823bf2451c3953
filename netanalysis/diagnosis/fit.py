"""How well a hypothesis explains all readings: unknown resistances fitted, weighed.

Every hypothesis is a handful of unknown resistances (its faults, the loads, the
links); the readings are fitted by damped Gauss-Newton in logarithms, all hypotheses
of a batch at once, and the fit is turned into evidence by Laplace's method.  A
reading may be plain wrong (by ten, or by anything): each is weighed as a mixture, so
that one wrong line neither sinks the right suspect nor goes unnoticed.
"""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.predicted import Predictor, spread
from ohmtrail.netanalysis.diagnosis.problem import Batch, Problem, rows_of
from ohmtrail.netanalysis.diagnosis.reading_density import reading_density

__all__ = [
    "Fit",
    "better_of",
    "fit",
    "oddness",
    "unexplained",
]

Floats = NDArray[np.float64]

#: What a plain wrong reading costs beside a sharp right one, as a logarithm.
_PLAIN_WRONG = 14.0
_ROUNDS = 12
#: First rounds: extra spread of every reading, and whether none may be disregarded.
#: Sharp readings that disagree would else hold an unknown where it started.
_COOLING = (
    (1.0, True),
    (0.7, True),
    (0.6, False),
    (0.4, False),
    (0.2, False),
    (0.08, False),
    (0.02, False),
    (0.005, False),
    (0.001, False),
)
_STEP_MAX = 2.5
#: So often at most is a first round repeated while an unknown has far to go.
_FAR_MAX = 4
#: Extra spread of the readings that are held on to, round by round.
_HOLDING = (0.4, 0.1, 0.02, 0.005, 0.005, 0.001, 0.001)
#: What is left of it for a row that begins where a row like it came to rest.
_COOLING_LEFT = 3
#: A bound that is missed by less than this is just met, or as good as met, in spreads.
_JUST_MET, _AS_GOOD = 0.75, 0.35
#: How steeply a parameter outside its range counts, in log units.
_EDGE = 0.25


@dataclass(frozen=True, slots=True)
class Fit:
    """The answer for a batch."""

    #: Log evidence of the readings, shape (H,).
    evidence: Floats
    #: Log resistances at the best fit: common (H, M), faults (H, F).
    common: Floats
    fault: Floats
    #: Posterior covariance of all of them, shape (H, M + F, M + F).
    covariance: Floats
    #: Deviation of each reading in its own spreads, and the chance that it is
    #: plain wrong, shape (H, P).
    deviation: Floats
    wrong: Floats
    #: What each reading should be, as a logarithm, shape (H, P).
    expected: Floats


def fit(
    problem: Problem,
    batch: Batch,
    rounds: int = _ROUNDS,
    start: Floats | None = None,
    *,
    near: bool = False,
    held: NDArray[np.bool_] | None = None,
) -> Fit:
    """Fit every hypothesis of a batch to all readings.

    Parameters
    ----------
    problem : Problem
    batch : Batch
    rounds : int
        Gauss-Newton rounds; the first ones trust every reading to some degree.
    start : ndarray, shape (H, M + F), optional
        Log resistances to begin with, by default the middle of every range.
    near : bool
        The start is that of another row that differs in its copper alone.
    held : ndarray of bool, shape (H, P), optional
        From the start these readings alone are held on to, to see what follows.

    Notes
    -----
    Each round solves one small system a hypothesis and state: O(H S (M + C)^3).
    """
    count = len(batch.low)
    m = len(problem.common)
    prior = _Prior.of(problem, batch)
    theta = prior.middle.copy() if start is None else start.copy()
    whole = Predictor(problem, batch)
    if start is None or near:
        for blur, trusting in _COOLING[-_COOLING_LEFT if near else 0 :]:
            for _ in range(_FAR_MAX if trusting else 1):
                terms = _terms(whole, theta, prior, blur, trusting=trusting)
                step = _step(terms, 0.05, problem.tied)
                theta = theta + step
                if np.abs(step).max() < _STEP_MAX:
                    break
    for blur in _HOLDING if held is not None else ():
        terms = _terms(whole, theta, prior, blur, held=held)
        theta = theta + _step(terms, 0.05, problem.tied)
    damping = np.full((count, 1), 1e-2)
    terms = _terms(whole, theta, prior)
    busy = np.arange(count)
    part = whole
    for _ in range(rounds):
        if len(busy) < len(part.batch.path):
            part = whole.of(rows_of(batch, busy), busy)
        some = terms.of(busy)
        step = _step(some, damping[busy], problem.tied)
        tried = _terms(part, theta[busy] + step, prior.of_rows(busy))
        better = tried.value >= some.value
        won = busy[better]
        theta[won] += step[better]
        gain = tried.value[better] - some.value[better]
        terms.put(won, tried.of(np.flatnonzero(better)))
        damping[won] *= 0.2
        lost = busy[~better]
        damping[lost] = damping[lost] * 10 + 1e-3
        still = np.concatenate((won[gain > 2e-3], lost[damping[lost, 0] < 10]))
        busy = np.sort(still)
        if not len(busy):
            break
    hessian = _around(whole, theta, prior, terms)
    logdet = np.asarray(np.linalg.slogdet(hessian)[1], float)
    evidence = terms.value - 0.5 * (
        logdet - np.log(np.where(prior.curve > 0, prior.curve, 1.0)).sum(1)
    )
    covariance = np.asarray(np.linalg.inv(hessian), float)
    for hand, board in problem.tied:
        covariance[:, hand] = covariance[:, board]
        covariance[:, :, hand] = covariance[:, :, board]
    return Fit(
        np.asarray(evidence, float),
        theta[:, :m],
        theta[:, m:],
        covariance,
        terms.deviation,
        terms.wrong,
        terms.expected,
    )


def better_of(fitted: Fit, tried: Fit, rows: NDArray[np.intp]) -> Fit:
    """Return the fits, with those tried in their place where these explain more.

    Parameters
    ----------
    fitted, tried : Fit
    rows : ndarray of int, shape (tried,)
        Which row of ``fitted`` each was tried for; the same may come more than once.
    """
    made = Fit(*(getattr(fitted, f.name).copy() for f in fields(Fit)))
    for i in np.argsort(tried.evidence):
        if tried.evidence[i] > made.evidence[rows[i]]:
            for f in fields(Fit):
                getattr(made, f.name)[rows[i]] = getattr(tried, f.name)[i]
    return made


def oddness(problem: Problem, fitted: Fit) -> Floats:
    """Return what is odd under each hypothesis, in spreads, shape (H, P + M).

    How far each reading is off, and how far each common unknown is from its usual
    value so that the readings are not: a load far below its class is odd too, and so
    are several at the low end of theirs.
    """
    log = fitted.common
    outside = np.maximum(log - problem.common_high, 0.0)
    outside += np.minimum(log - problem.common_low, 0.0)
    inside = (log - problem.common_log) * np.sqrt(
        _curve(problem.common_high - problem.common_low)
    )
    unusual = np.hypot(inside, outside / _EDGE)
    unusual[:, problem.tied[:, 0]] = 0.0
    return np.concatenate((fitted.deviation, unusual), 1)


def unexplained(fitted: Fit) -> Floats:
    """Return how much more evidence there were if nothing were left odd, shape (H,)."""
    density = 0.5 * fitted.deviation**2 + np.log(np.maximum(1 - fitted.wrong, 1e-300))
    gain: Floats = np.clip(density, 0.0, _PLAIN_WRONG).sum(1)
    return gain


def _curve(width: Floats) -> Floats:
    """Return the curvature of a normal density as high as the uniform one."""
    curve: Floats = 2 * np.pi / np.maximum(width, 1e-3) ** 2
    return curve


def _step(terms: "_Terms", damping: Floats | float, tied: NDArray[np.intp]) -> Floats:
    matrix = terms.hessian.copy()
    diagonal = np.arange(matrix.shape[1])
    matrix[:, diagonal, diagonal] *= 1.0 + damping
    step = np.linalg.solve(matrix, terms.gradient[:, :, None])[:, :, 0]
    step[:, tied[:, 0]] = step[:, tied[:, 1]]
    return np.asarray(np.clip(step, -_STEP_MAX, _STEP_MAX), float)


def _around(
    predictor: Predictor, theta: Floats, prior: "_Prior", terms: "_Terms"
) -> Floats:
    """Return the curvature around where the fits came to rest, shape (H, K, K).

    A lower bound that is just met, or the end of a range, cuts the posterior off there:
    what lies on its near side is as wide as if there were no bound.
    """
    just = (terms.deviation > 0) & (terms.deviation < _JUST_MET)
    near = np.abs(theta - np.clip(theta, prior.low, prior.high))
    cut = ((near > 0) & (near < _JUST_MET * _EDGE)).any(1)
    rows = np.flatnonzero(cut | (just & predictor.problem.at_least).any(1))
    if not len(rows):
        return terms.hessian
    part = predictor
    if len(rows) < len(theta):
        part = predictor.of(rows_of(predictor.batch, rows), rows)
    hessian = terms.hessian.copy()
    some = _terms(part, theta[rows], prior.of_rows(rows), one_sided=True)
    hessian[rows] = some.hessian
    return hessian


def _wide(spreads: Floats) -> Floats:
    """Return how much of its curvature a bound counts with that is missed by so much.

    As wide as what falls off beyond it at that rate; nothing where it is met.
    """
    beyond = np.maximum(np.abs(spreads) - _AS_GOOD, 0.0)
    found: Floats = np.minimum(1.0, 2.0 * np.pi * beyond**2)
    return found


def _as_one(tied: NDArray[np.intp], gradient: Floats, hessian: Floats) -> None:
    """Give what moves an unknown in the hand to the same one on the board."""
    for hand, board in tied:
        gradient[:, board] += gradient[:, hand]
        hessian[:, board] += hessian[:, hand]
        hessian[:, :, board] += hessian[:, :, hand]
        gradient[:, hand] = hessian[:, hand] = hessian[:, :, hand] = 0.0
        hessian[:, hand, hand] = 1.0


@dataclass(frozen=True, slots=True)
class _Prior:
    """What is known of every unknown beforehand, shape (H, M + F) each."""

    low: Floats
    high: Floats
    middle: Floats
    curve: Floats
    used: NDArray[np.bool_]

    def of_rows(self, rows: NDArray[np.intp]) -> "_Prior":
        """Return some rows."""
        return _Prior(*(getattr(self, f.name)[rows] for f in fields(_Prior)))

    @classmethod
    def of(cls, problem: Problem, batch: Batch) -> "_Prior":
        count = len(batch.low)
        m = len(problem.common)
        wide = (count, m)
        low = np.concatenate((np.broadcast_to(problem.common_low, wide), batch.low), 1)
        high = np.concatenate(
            (np.broadcast_to(problem.common_high, wide), batch.high), 1
        )
        middle = 0.5 * (low + high)
        middle[:, :m] = problem.common_log
        # It integrates to one.
        curve = _curve(high - low)
        # What is tied to another is told by that one alone.
        hand, board = problem.tied.T
        curve[:, hand], middle[:, hand] = 0.0, middle[:, board]
        low[:, hand], high[:, hand] = -np.inf, np.inf
        used = np.concatenate((np.ones(wide, bool), batch.used), 1)
        return cls(low, high, middle, curve, used)


@dataclass(frozen=True, slots=True)
class _Terms:
    """Log posterior with gradient and curvature, and each reading's deviation."""

    value: Floats
    gradient: Floats
    hessian: Floats
    deviation: Floats
    wrong: Floats
    expected: Floats

    def of(self, rows: NDArray[np.intp]) -> "_Terms":
        """Return some rows."""
        return _Terms(*(getattr(self, f.name)[rows] for f in fields(_Terms)))

    def put(self, rows: NDArray[np.intp], other: "_Terms") -> None:
        """Write rows over."""
        for f in fields(_Terms):
            getattr(self, f.name)[rows] = getattr(other, f.name)


def _terms(
    predictor: Predictor,
    theta: Floats,
    prior: _Prior,
    blur: float = 0.0,
    *,
    trusting: bool = False,
    held: NDArray[np.bool_] | None = None,
    one_sided: bool = False,
) -> _Terms:
    problem = predictor.problem
    m = len(problem.common)
    found = predictor.readings(theta[:, :m], theta[:, m:])
    sd = np.hypot(spread(problem, found, np.exp(problem.log_value)), blur)
    expected = np.log(found.total)
    off = problem.log_value - expected
    met = problem.at_least & (off <= 0)
    off = np.where(met, 0.0, off)
    deviation = off / sd
    density, right = reading_density(deviation, sd, problem.at_least)
    by_log = found.slope / found.total[:, :, None]
    trust = right
    if held is not None:
        trust = held / np.maximum(1.0, np.abs(deviation) / 3.0)
    elif trusting:
        trust = 1.0 / np.maximum(1.0, np.abs(deviation) / 3.0)
    weight = np.where(met, 0.0, trust / sd**2)
    if one_sided:
        weight = np.where(problem.at_least, weight * _wide(deviation), weight)
    outside = np.where(
        theta > prior.high, theta - prior.high, np.minimum(theta - prior.low, 0.0)
    )
    pull = prior.curve * (theta - prior.middle) + outside / _EDGE**2
    gradient = np.einsum("hp,hpk->hk", weight * off, by_log) - pull
    hessian = np.matmul((by_log * weight[:, :, None]).transpose(0, 2, 1), by_log)
    diagonal = np.arange(theta.shape[1])
    edge = _wide(outside / _EDGE) if one_sided else outside != 0
    hessian[:, diagonal, diagonal] += prior.curve + edge / _EDGE**2
    _as_one(problem.tied, gradient, hessian)
    cost = 0.5 * prior.curve * (theta - prior.middle) ** 2
    cost += 0.5 * (outside / _EDGE) ** 2
    value = density.sum(1) - np.where(prior.used, cost, 0.0).sum(1)
    return _Terms(value, gradient, hessian, deviation, 1.0 - right, expected)
