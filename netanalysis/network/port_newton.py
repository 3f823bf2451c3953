"""Newton's method for the junctions at the ports of many small networks at once."""

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.network.assembly import Floats

__all__ = ["newton"]

_STEPS = 50
#: Relative change of the largest current at which a case is settled.
_SETTLED = 1e-9
#: What may be lacking at a port then, in volts.
_VOLTS_LEFT = 1e-7
#: Below this share of Is a junction is off.
_FALLEN = 1e-9
#: A current falls to no less than this share of itself in one step.
_FALL = 0.1


def newton(
    ohms: Floats,
    drive: Floats,
    start: Floats,
    used: NDArray[np.bool_],
    amps_is: Floats,
    slope: Floats,
    series: Floats,
) -> tuple[Floats, NDArray[np.bool_], int]:
    """Find currents with ``slope ln(1 + i/Is) + series i + ohms i = drive``.

    Parameters
    ----------
    ohms : array, shape (cases, ports, ports)
        Positive semidefinite.
    drive, start, amps_is, slope, series : array, shape (cases, ports)
        Volts at the open ports, amps to begin with, and the laws.
    used : array of bool, shape (cases, ports)
        False for ports that a case does not have.

    Returns
    -------
    (array, array of bool, int)
        Currents, which cases have settled, steps.

    Notes
    -----
    The left side is the gradient of a convex function of the currents.  The logarithm
    is concave: from below a step falls short, never beyond; from above it may fall
    below -Is, and is then cut.
    """
    ports = np.arange(ohms.shape[1])
    # Is + i: positive, and exact where i is near -Is.
    total = np.where(used, start + amps_is, 1.0)
    pairs = used[:, :, None] & used[:, None, :]
    ohms = np.where(pairs, ohms, 0.0)
    settled = np.zeros(len(ohms), dtype=bool)
    failed = np.zeros(len(ohms), dtype=bool)
    steps = 0
    for _ in range(_STEPS):
        some = np.flatnonzero(~(settled | failed))
        if not len(some):
            break
        steps += 1
        t, on, none = total[some], used[some], ~used[some]
        i = np.where(on, t - amps_is[some], 0.0)
        z = ohms[some]
        with np.errstate(divide="ignore", over="ignore"):
            left = slope[some] * np.log(t / amps_is[some]) + series[some] * i
            left += (z @ i[:, :, None])[:, :, 0] - drive[some]
            bend = slope[some] / t + series[some]
        left[none] = 0.0
        matrix = z.copy()
        matrix[:, ports, ports] += np.where(on, bend, 1.0)
        # Scaled to ones on the diagonal: ports span twenty decades.  Rounding may
        # leave less than nothing there: that case is lost.
        diagonal = matrix[:, ports, ports]
        scale = 1.0 / np.sqrt(np.where(diagonal > 0.0, diagonal, 1.0))
        matrix *= scale[:, :, None] * scale[:, None, :]
        try:
            move = np.linalg.solve(matrix, -(scale * left)[:, :, None])[:, :, 0]
        except np.linalg.LinAlgError:
            failed[some] = True
            break
        move = scale * move
        new = np.maximum(t + move, _FALL * t)
        new[none] = 1.0
        bad = ~np.isfinite(new).all(axis=1) | (diagonal <= 0.0).any(axis=1)
        new[bad] = 1.0
        failed[some[bad]] = True
        size = np.abs(np.where(on, new, 0.0)).max(axis=1)
        change = np.abs(np.where(on, new - t, 0.0)).max(axis=1)
        # Far in reverse the logarithm says nothing: the current is -Is.
        lacking = np.abs(np.where(on & (t > _FALLEN * amps_is[some]), left, 0.0))
        near = lacking.max(axis=1) <= _VOLTS_LEFT
        settled[some[(change <= _SETTLED * size) & near]] = True
        total[some] = new
    return np.where(used, total - amps_is, 0.0), settled & ~failed, steps
