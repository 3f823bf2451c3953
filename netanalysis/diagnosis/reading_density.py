"""How dense a reading is around what a hypothesis expects, and whether it is wrong."""

import numpy as np
from numpy.typing import NDArray

__all__ = ["reading_density"]

Floats = NDArray[np.float64]

#: Chance that a reading is wrong by ten (a slip of the range), and by anything.
_BY_TEN, _ANY = 0.012, 0.006
#: Density of a reading that may be anything, over nine decades of ohms.
_ANY_DENSITY = 1.0 / np.log(1e9)
_LN10 = float(np.log(10.0))


def reading_density(
    deviation: Floats, sd: Floats, at_least: NDArray[np.bool_]
) -> tuple[Floats, Floats]:
    """Return each reading's log density and the chance that it is as it should be.

    Parameters
    ----------
    deviation : ndarray, shape (H, P)
        How far each logarithm is off, in its spreads.
    sd : ndarray, shape (H, P)
        The spreads.
    at_least : ndarray of bool, shape (P,)
        Readings that are a lower bound.
    """
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
