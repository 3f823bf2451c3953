"""What copper adds between the pads that are probed and the pads that are shorted.

Copper spreads current, so a part near the culprit reads nearly as low as the culprit
itself.  Half a milliohm a square (1 oz copper), a point contact on a sheet sees
``(sheet / pi) ln(distance / contact)``, and each pad hangs on its sheet by a few
tenths of a milliohm (common practice, no source).  Nobody knows how thick or how wide
the copper of a board is: the sheet's part is fitted to all readings by one scale.
"""

import math
from typing import NamedTuple

from ohmtrail.netanalysis.board import Pin

__all__ = ["SAME_PAD", "SHEET_SPREAD", "UNKNOWN_WAY", "Copper", "copper_between"]

_SHEET_OHMS = 0.5e-3
_PAD_OHMS = 0.35e-3
_PAD_SD = 0.15e-3
#: Radius of a pad on its sheet, in millimetres.
_CONTACT_MM = 0.6


#: How far a way may be off the sheet's rule once its scale is known, relative.
SHEET_SPREAD = 0.4


class Copper(NamedTuple):
    """What pads hang by, what the sheet adds at scale 1, and the pads' spread; ohms."""

    pads: float
    sheet: float
    sd: float

    @property
    def ohms(self) -> float:
        """The usual value of the whole way."""
        return self.pads + self.sheet


SAME_PAD = Copper(0.0, 0.0, 0.03e-3)
#: Where positions are not known, or the fault lies beyond other parts.
UNKNOWN_WAY = Copper(0.7e-3, 0.4e-3, 0.5e-3)


def copper_between(
    probe: Pin | None, fault: Pin | None, *, carries: bool = True
) -> Copper:
    """Return what lies between a probed pad and a pad of the faulty part, one net.

    Parameters
    ----------
    probe, fault : Pin or None
        None where the log names a net only, or the pad is not known.
    carries : bool
        Whether the meter's current goes through the probed pad (four-wire), or the
        pad is only looked at (a drop while injecting elsewhere).
    """
    if probe is None or fault is None:
        return UNKNOWN_WAY
    if probe.ref == fault.ref:
        return SAME_PAD
    pads = 2 * _PAD_OHMS if carries else _PAD_OHMS
    apart = _apart_mm(probe, fault)
    if apart is None:
        return Copper(pads, UNKNOWN_WAY.sheet, UNKNOWN_WAY.sd)
    sheet = _SHEET_OHMS / math.pi * math.log1p(apart / _CONTACT_MM)
    return Copper(pads, sheet, 1.4 * _PAD_SD)


def _apart_mm(one: Pin, other: Pin) -> float | None:
    if one.x_mm is None or one.y_mm is None:
        return None
    if other.x_mm is None or other.y_mm is None:
        return None
    return math.hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm)
