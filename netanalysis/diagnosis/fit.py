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

__all__ = [
    "Batch",
    "Fit",
    "Problem",
    "fit",
    "forecast",
    "predict",
    "relevant",
    "rows_of",
]

Floats = NDArray[np.float64]

#: Chance that a reading is wrong by ten (a slip of the range), and by anything.
_BY_TEN, _ANY = 0.012, 0.006
#: Density of a reading that may be anything, over nine decades of ohms.
_ANY_DENSITY = 1.0 / np.log(1e9)
_LN10 = float(np.log(10.0))
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
#: An open part keeps a millionth of its conductance, so that no matrix is singular.
_OPEN = 1.0 - 1e-6
_STEP_MAX = 2.5
#: How steeply a parameter outside its range counts, in log units.
_EDGE = 0.5


@dataclass(frozen=True, slots=True)
class Problem:
    """What is the same for every hypothesis."""

    #: Transfer resistances, see `Coupling`.
    q: Floats
    #: Columns of the paths that every hypothesis has (loads, links), shape (M,).
    common: NDArray[np.intp]
    #: Log of their resistance: usual value, range ends; shape (M,).
    common_log: Floats
    common_low: Floats
    common_high: Floats
    #: Column of each reading, of the current that it is taken with (its own, or an
    #: injection's), board state and logarithm of the value; shape (P,).
    column: NDArray[np.intp]
    drive: NDArray[np.intp]
    state: NDArray[np.intp]
    log_value: Floats
    #: 1 where the leads count; their resistance is the last common unknown, the
    #: meter's gain the last but one.
    leads: Floats
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
    #: Copper between the reading's pads and the fault, in ohms, shape (H, P).
    copper: Floats
    copper_sd: Floats


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


def rows_of(batch: Batch, rows: NDArray[np.intp]) -> Batch:
    """Return some rows of a batch."""
    return Batch(*(getattr(batch, f.name)[rows] for f in fields(Batch)))


def _network(
    problem: Problem, batch: Batch, common: Floats, fault: Floats, state: int
) -> tuple[NDArray[np.intp], Floats]:
    """Return the columns and conductances of all changing paths in a state."""
    count = batch.path.shape[0]
    index = np.concatenate(
        (np.broadcast_to(problem.common, (count, len(problem.common))), batch.path), 1
    )
    g_common = np.exp(-common) * batch.common_there[:, state]
    g_fault = np.exp(-np.take_along_axis(fault, batch.unknown, 1))
    g_fault = np.where(batch.removed > 0, -batch.removed * _OPEN, g_fault)
    g_fault = g_fault * batch.there[:, state]
    return index, np.concatenate((g_common, g_fault), 1)


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
    index, g = _network(problem, batch, common, fault, state)
    kuu = problem.q[index[:, :, None], index[:, None, :]]
    kub = problem.q[index[:, :, None], columns[None, None, :]]
    matrix = kuu * g[:, None, :]
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
    ohms = own - np.einsum("hmb,hm,hmb->hb", kub, g, driven)
    each = np.maximum(g, 0.0)[:, :, None] * volts * driven
    m = len(problem.common)
    f = fault.shape[1]
    slope = np.zeros((len(ohms), len(columns), m + f))
    slope[:, :, :m] = each[:, :m].transpose(0, 2, 1)
    for c in range(batch.path.shape[1]):
        rows = np.arange(len(ohms))
        slope[rows, :, m + batch.unknown[:, c]] += each[:, m + c]
    return np.maximum(ohms, 1e-7), slope


def _all_readings(
    problem: Problem, batch: Batch, common: Floats, fault: Floats
) -> tuple[Floats, Floats]:
    count, size = batch.path.shape[0], len(problem.column)
    width = common.shape[1] + fault.shape[1]
    ohms = np.empty((count, size))
    slope = np.empty((count, size, width))
    for state in range(problem.states):
        rows = np.flatnonzero(problem.state == state)
        if len(rows):
            ohms[:, rows], slope[:, rows] = predict(
                problem,
                batch,
                common,
                fault,
                problem.column[rows],
                state,
                problem.drive[rows],
            )
    m = common.shape[1]
    leads = np.exp(common[:, -1])[:, None] * problem.leads
    slope[:, :, m - 1] += leads
    gain = np.exp(common[:, -2])[:, None]
    ohms = (ohms + leads) * gain
    slope *= gain[:, :, None]
    slope[:, :, m - 2] += ohms
    return ohms, slope


def relevant(
    problem: Problem, batch: Batch, least: float = 0.02
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Return which common unknowns, and which hypotheses, move any reading.

    Parameters
    ----------
    problem : Problem
    batch : Batch
        The first row is the healthy board.
    least : float
        The smallest change of a log reading that counts: for an unknown that
        doubles, or between a hypothesis and the healthy board.

    Returns
    -------
    common : ndarray of bool, shape (M,)
    telling : ndarray of bool, shape (H,)
        Looked at with the faults at the low end and the middle of their ranges.
    """
    count = len(batch.low)
    m = len(problem.common)
    common = np.broadcast_to(problem.common_log, (count, m))
    most = np.zeros(m)
    telling = np.zeros(count, bool)
    for weight in (0.0, 0.5):
        fault = batch.low + weight * (batch.high - batch.low)
        ohms, slope = _all_readings(problem, batch, common, fault)
        total = ohms + problem.bias
        share = np.abs(slope[:, :, :m]) / total[:, :, None]
        if share.size:
            most = np.maximum(most, share.max((0, 1)))
            change = np.abs(np.log(total / total[0])).max(1)
            telling |= change > least
    telling |= (batch.copper != 0).any(1)
    telling[0] = True
    found: NDArray[np.bool_] = most > least
    found[-2:] = True
    return found, telling


def _spread(
    problem: Problem, batch: Batch, ohms: Floats, least: Floats | float = 0.0
) -> Floats:
    """Return the standard deviation of each log reading under each hypothesis.

    ``least`` is what was read: the last digit of "47k" is nothing beside it, though
    it is much beside what a hypothesis of a short expects.
    """
    total = ohms + problem.bias + batch.copper
    open_part = problem.doubt * np.minimum(1.0, ohms / problem.healthy)
    # A test voltage of some hundred millivolts wakes junctions above some ohms.
    waking = 0.4 * np.clip(np.log10(total / 300.0), 0.0, 1.0)
    absolute = (problem.bias_sd**2 + batch.copper_sd**2) / np.maximum(total, least) ** 2
    spread = problem.meter_sd**2 + open_part**2 + waking**2 + absolute
    return np.asarray(np.sqrt(spread), float)


def _weigh(
    deviation: Floats, sd: Floats, at_least: NDArray[np.bool_]
) -> tuple[Floats, Floats]:
    """Return each reading's log density and the chance that it is as it should be."""
    plain = np.exp(-0.5 * deviation**2) / (np.sqrt(2 * np.pi) * sd)
    wide = np.sqrt(sd**2 + 0.05**2)
    shifted = deviation * sd
    ten = sum(
        np.exp(-0.5 * ((shifted + sign * _LN10) / wide) ** 2) for sign in (-1.0, 1.0)
    ) / (2 * np.sqrt(2 * np.pi) * wide)
    right = (1 - _BY_TEN - _ANY) * plain
    # A one-sided reading says nothing when it is met: density of a wide pull.
    right = np.where(at_least, right * sd * np.sqrt(2 * np.pi) * 0.3, right)
    density = right + _BY_TEN * ten + _ANY * _ANY_DENSITY
    return np.log(density), right / density


def fit(
    problem: Problem, batch: Batch, rounds: int = _ROUNDS, start: Floats | None = None
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

    Notes
    -----
    Each round solves one small system a hypothesis and state: O(H S (M + C)^3).
    """
    count = len(batch.low)
    m = len(problem.common)
    prior = _Prior.of(problem, batch)
    theta = prior.middle.copy() if start is None else start.copy()
    if start is None:
        for blur, trusting in _COOLING:
            terms = _terms(problem, batch, theta, prior, blur, trusting=trusting)
            theta = theta + _step(terms.gradient, terms.hessian, 0.05)
    damping = np.full((count, 1), 1e-2)
    terms = _terms(problem, batch, theta, prior)
    busy = np.arange(count)
    for _ in range(rounds):
        some = terms.of(busy)
        step = _step(some.gradient, some.hessian, damping[busy])
        tried = _terms(
            problem, rows_of(batch, busy), theta[busy] + step, prior.of_rows(busy)
        )
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
    logdet = np.asarray(np.linalg.slogdet(terms.hessian)[1], float)
    evidence = terms.value - 0.5 * (logdet - np.log(prior.curve).sum(1))
    covariance = np.asarray(np.linalg.inv(terms.hessian), float)
    return Fit(
        np.asarray(evidence, float),
        theta[:, :m],
        theta[:, m:],
        covariance,
        terms.deviation,
        terms.wrong,
    )


def forecast(problem: Problem, batch: Batch, fitted: Fit) -> tuple[Floats, Floats]:
    """Return what imagined readings would show under each fitted hypothesis.

    Parameters
    ----------
    problem : Problem
        The imagined readings; their values are not looked at.
    batch : Batch
        The hypotheses that were fitted, with the copper of these readings.
    fitted : Fit
        From `fit`, with the same unknowns.

    Returns
    -------
    mean, sd : ndarray, shape (H, P)
        Of the logarithm of the reading in ohms.
    """
    ohms, slope = _all_readings(problem, batch, fitted.common, fitted.fault)
    total = ohms + problem.bias + batch.copper
    sd = _spread(problem, batch, ohms)
    by_log = slope / total[:, :, None]
    unknown = np.einsum("hpk,hkl,hpl->hp", by_log, fitted.covariance, by_log)
    return np.log(total), np.sqrt(sd**2 + np.maximum(unknown, 0.0))


def _step(gradient: Floats, hessian: Floats, damping: Floats | float) -> Floats:
    matrix = hessian.copy()
    diagonal = np.arange(hessian.shape[1])
    matrix[:, diagonal, diagonal] *= 1.0 + damping
    step = np.linalg.solve(matrix, gradient[:, :, None])[:, :, 0]
    return np.asarray(np.clip(step, -_STEP_MAX, _STEP_MAX), float)


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
        # A normal density as high as the uniform one: it integrates to one.
        curve = 2 * np.pi / np.maximum(high - low, 1e-3) ** 2
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

    def of(self, rows: NDArray[np.intp]) -> "_Terms":
        """Return some rows."""
        return _Terms(*(getattr(self, f.name)[rows] for f in fields(_Terms)))

    def put(self, rows: NDArray[np.intp], other: "_Terms") -> None:
        """Write rows over."""
        for f in fields(_Terms):
            getattr(self, f.name)[rows] = getattr(other, f.name)


def _terms(
    problem: Problem,
    batch: Batch,
    theta: Floats,
    prior: _Prior,
    blur: float = 0.0,
    *,
    trusting: bool = False,
) -> _Terms:
    m = len(problem.common)
    ohms, slope = _all_readings(problem, batch, theta[:, :m], theta[:, m:])
    total = ohms + problem.bias + batch.copper
    sd = np.hypot(_spread(problem, batch, ohms, np.exp(problem.log_value)), blur)
    off = problem.log_value - np.log(total)
    met = problem.at_least & (off < 0)
    off = np.where(met, 0.0, off)
    deviation = off / sd
    density, right = _weigh(deviation, sd, problem.at_least)
    by_log = slope / total[:, :, None]
    trust = 1.0 / np.maximum(1.0, np.abs(deviation) / 3.0) if trusting else right
    weight = np.where(met, 0.0, trust / sd**2)
    outside = np.where(
        theta > prior.high, theta - prior.high, np.minimum(theta - prior.low, 0.0)
    )
    pull = prior.curve * (theta - prior.middle) + outside / _EDGE**2
    gradient = np.einsum("hp,hpk->hk", weight * off, by_log) - pull
    hessian = np.matmul((by_log * weight[:, :, None]).transpose(0, 2, 1), by_log)
    diagonal = np.arange(theta.shape[1])
    hessian[:, diagonal, diagonal] += prior.curve + (outside != 0) / _EDGE**2
    cost = 0.5 * prior.curve * (theta - prior.middle) ** 2
    cost += 0.5 * (outside / _EDGE) ** 2
    value = density.sum(1) - np.where(prior.used, cost, 0.0).sum(1)
    return _Terms(value, gradient, hessian, deviation, 1.0 - right)
