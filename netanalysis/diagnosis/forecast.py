"""What further readings would show under fitted hypotheses, and how each was told."""

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.fit import Fit
from ohmtrail.netanalysis.diagnosis.predicted import Predicted, predicted, spread
from ohmtrail.netanalysis.diagnosis.problem import Batch, Problem
from ohmtrail.netanalysis.diagnosis.reading_density import reading_density

__all__ = ["forecast", "told_by_others"]

Floats = NDArray[np.float64]

#: Least share of an unknown that all but one reading settle.
_LEFT_MIN = 1e-4


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
    found = predicted(problem, batch, fitted.common, fitted.fault)
    sd = spread(problem, found)
    return np.log(found.total), np.sqrt(sd**2 + _left_open(found, fitted))


def told_by_others(problem: Problem, batch: Batch, fitted: Fit) -> Floats:
    """Return how well all other readings tell each, shape (H, P).

    Parameters
    ----------
    problem : Problem
    batch : Batch
    fitted : Fit
        From `fit`, of these.

    Returns
    -------
    ndarray, shape (H, P)
        Logarithm of the density of a reading, given the others: what a hypothesis
        gains or loses by it.

    Notes
    -----
    The fit without a reading is not made anew: it lies where the fit with it leads to
    by its own curvature (leave-one-out of linear regression; Cook and Weisberg,
    Residuals and Influence in Regression, 1982, 2.2; from memory).
    """
    found = predicted(problem, batch, fitted.common, fitted.fault)
    sd = spread(problem, found, np.exp(problem.log_value))
    unknown = _left_open(found, fitted)
    off = problem.log_value - np.log(found.total)
    met = problem.at_least & (off < 0)
    off = np.where(met, 0.0, off)
    weight = np.where(met, 0.0, (1.0 - fitted.wrong) / sd**2)
    left = np.maximum(1.0 - weight * unknown, _LEFT_MIN)
    alone = np.sqrt(sd**2 + unknown / left)
    return reading_density(off / left / alone, alone, problem.at_least)[0]


def _left_open(found: Predicted, fitted: Fit) -> Floats:
    """Return the variance of log readings by what a fit leaves open, shape (H, P)."""
    by_log = found.slope / found.total[:, :, None]
    unknown = np.einsum("hpk,hkl,hpl->hp", by_log, fitted.covariance, by_log)
    return np.asarray(np.maximum(unknown, 0.0), float)
