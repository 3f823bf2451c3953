"""Readings of the same two points that should be alike and are not.

What makes a single reading uncertain, silicon that the meter may have woken, or a load
that nobody knows, is the same when the same two points are read again: two readings
that differ are no matter of spread, one of them is wrong.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.readings import Reading, State

__all__ = ["odd_repeats"]

Floats = NDArray[np.float64]

#: What drift, charge in capacitors and probes set anew change at most, as a logarithm
#: (a factor of 2.5; common practice, no source).
_DRIFT = float(np.log(2.5))
#: The same for what is written down, above where a meter's readings count as open: a
#: rail that charges drifts far there, but not by a slip of the range.
_FAR = float(np.log(6.0))
#: Two readings should be the same where what is made of them differs by less.
_SAME = 0.1


def odd_repeats(
    readings: Sequence[Reading], log_value: Floats, expected: Floats
) -> Floats:
    """Return the chance that each reading is wrong, told by others of its two points.

    Parameters
    ----------
    readings : sequence of Reading, length P
    log_value : ndarray, shape (P,)
        What was read, as a logarithm.
    expected : ndarray, shape (H, P)
        What each hypothesis makes of it: with parts lifted in between the same two
        points may well read otherwise.

    Returns
    -------
    ndarray, shape (H, P)
        Of two that differ one half each; of three that one differs from the others,
        two thirds and a third.
    """
    made = np.zeros_like(expected)
    # A reading that is only a lower end is met by all that should read more.
    least = np.array([one.noise.at_least for one in readings], bool)
    met = np.where(least, np.minimum(expected, log_value), expected)
    alike: dict[tuple[str, str | None, str | None, State | None], list[int]] = {}
    for i, one in enumerate(readings):
        hand = one.state if one.state.hand is not None else None
        # The other way round a body diode may conduct.
        key = one.mode, one.plus.net, one.minus.net, hand
        if one.drive is None:
            alike.setdefault(key, []).append(i)
    for mine in alike.values():
        if len(mine) > 1:
            off = log_value[mine] - met[:, mine]
            apart = np.abs(off[:, :, None] - off[:, None, :]) > _DRIFT
            told = _written([readings[i] for i in mine], log_value[mine])
            far = np.abs(told[:, None] - told) > _FAR
            should = expected[:, mine]
            # What is far up is not made out well: of boards that should read the same.
            same = np.abs(should[:, :, None] - should[:, None, :]) < _SAME
            apart |= far & same
            made[:, mine] = apart.sum(2) / len(mine)
    return made


def _written(readings: Sequence[Reading], log_value: Floats) -> Floats:
    """Return what was written down in ohms, as logarithms; OL as it counts."""
    return np.array(
        [
            np.log(one.value)
            if one.mode == "resistance" and 0 < one.value < np.inf
            else counted
            for one, counted in zip(readings, log_value, strict=True)
        ]
    )
