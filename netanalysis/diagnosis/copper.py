"""What copper adds between the pads that are probed and the pads that are shorted.

Copper spreads current, so a part near the culprit reads nearly as low as the culprit
itself.  Half a milliohm a square (1 oz copper), a point contact on a sheet sees
``(sheet / pi) ln(distance / contact)``, far away the length of a pour by its width, and
each pad hangs on its sheet by a few tenths of a milliohm (common practice, no source).
Nobody knows how thick or how wide the copper of a board is: the sheet's part is fitted
to all readings by one scale.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["SAME_PAD", "SHEET_SPREAD", "UNKNOWN_WAY", "Copper", "copper_ways"]

Floats = NDArray[np.float64]

_SHEET_OHMS = 0.5e-3
#: Far away the copper of a net is no wide sheet but a pour of so many millimetres,
#: which adds by its length (Pouillet's law; the width is common practice, no source).
_POUR_MM = 40.0
_PAD_OHMS = 0.35e-3
_PAD_SD = 0.15e-3
#: Radius of a pad on its sheet, in millimetres.
_CONTACT_MM = 0.6


#: How far a way may be off the sheet's rule once its scale is known, relative to what
#: it differs from the other ways by.
SHEET_SPREAD = 0.4


class Copper(NamedTuple):
    """What pads hang by, what the sheet adds at scale 1, and the pads' spread; ohms."""

    pads: float
    sheet: float
    sd: float


SAME_PAD = Copper(0.0, 0.0, 0.03e-3)
#: Where positions are not known, or the fault lies beyond other parts.
UNKNOWN_WAY = Copper(0.7e-3, 0.4e-3, 0.5e-3)


def copper_ways(apart_mm: Floats, *, carries: bool) -> Floats:
    """Return what lies between probed pads and pads of the faulty part, one net.

    Parameters
    ----------
    apart_mm : ndarray
        How far they are apart; nan where a place is not known.
    carries : bool
        Whether the meter's current goes through the probed pad (four-wire), or the
        pad is only looked at (a drop while injecting elsewhere).

    Returns
    -------
    ndarray, shape (..., 3)
        As in `Copper`, in ohms.
    """
    pads = 2 * _PAD_OHMS if carries else _PAD_OHMS
    unknown = np.isnan(apart_mm)
    squares = np.log1p(apart_mm / _CONTACT_MM) / np.pi + apart_mm / _POUR_MM
    sheet = _SHEET_OHMS * squares
    sheet = np.where(unknown, UNKNOWN_WAY.sheet, sheet)
    # The culprit's own pads are the same for all readings, a common unknown; what is
    # left is the probed pads', and what the rule for the sheet leaves out.
    sd = np.where(unknown, UNKNOWN_WAY.sd, 1.4 * _PAD_SD)
    return np.stack((np.full(sheet.shape, pads), sheet, sd), -1)
