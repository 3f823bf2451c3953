"""Shockley's law of many junctions at once, with series resistance and no overflow."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ohmtrail.netanalysis.network.elements import Junction

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["THERMAL_VOLTS", "Law"]

#: kT/q at 27 degrees Celsius (CODATA 2018 constants), as SPICE takes room
#: temperature.
THERMAL_VOLTS = 1.380649e-23 * 300.15 / 1.602176634e-19

_KNEE_AMPS = 1e-3


@dataclass(frozen=True, slots=True)
class Law:
    """Laws of n junctions, all arrays of length n.

    ``i(v)`` solves ``v = nVt ln(1 + i/Is) + Rs i``: Wright's omega function, that is
    Lambert's W of an exponential, taken in logarithms so that nothing overflows.
    Above ``amps_cap`` the law goes on straight.  In a circuit of passive two-terminal
    elements no element carries more than the source, so with a cap above the source's
    current the answer is exact.
    """

    #: n Vt in volts.
    slope: "Floats"
    log_is: "Floats"
    amps_is: "Floats"
    ohms: "Floats"
    amps_cap: float
    volts_cap: "Floats"
    siemens_cap: "Floats"

    @staticmethod
    def of(junctions: "Sequence[Junction]", corner: str, amps_cap: float) -> "Law":
        """Return the laws of junctions at a corner.

        Raises
        ------
        ValueError
            A drop or an emission that is not above 0, a negative resistance.
        """
        for one in junctions:
            if not (one.at(corner) > 0.0 and one.emission > 0.0):
                raise ValueError(
                    f"junction of {one.ref}: found a drop of {one.at(corner):g} V and "
                    f"emission {one.emission:g}, expected both above 0"
                )
            if not 0.0 <= one.ohms_series < np.inf:
                raise ValueError(
                    f"junction of {one.ref}: found {one.ohms_series:g} ohms in series, "
                    "expected 0 or more"
                )
        slope = THERMAL_VOLTS * np.array([one.emission for one in junctions], float)
        drop = np.array([one.at(corner) for one in junctions], float) / slope
        ohms = np.array([one.ohms_series for one in junctions], float)
        # ln(exp(x) - 1) = x + ln(1 - exp(-x)), good for a large x and a small one.
        log_is = np.log(_KNEE_AMPS) - drop - np.log(-np.expm1(-drop))
        return Law._capped(slope, log_is, ohms, amps_cap)

    @staticmethod
    def _capped(
        slope: "Floats", log_is: "Floats", ohms: "Floats", amps_cap: float
    ) -> "Law":
        amps_is = np.exp(np.maximum(log_is, -700.0)) * (log_is > -700.0)
        log_sum = np.logaddexp(np.log(amps_cap), log_is)
        return Law(
            slope,
            log_is,
            amps_is,
            ohms,
            amps_cap,
            slope * (log_sum - log_is) + ohms * amps_cap,
            1.0 / (ohms + slope / (amps_cap + amps_is)),
        )

    def with_cap(self, amps_cap: float) -> "Law":
        """Return the same laws that go on straight from another current."""
        return Law._capped(self.slope, self.log_is, self.ohms, amps_cap)

    def take(self, which: "NDArray[np.intp]") -> "Law":
        """Return the laws of some of the junctions."""
        return Law._capped(
            self.slope[which], self.log_is[which], self.ohms[which], self.amps_cap
        )

    def at(self, volts: "Floats") -> "tuple[Floats, Floats]":
        """Return amps and siemens (the law's slope) at so many volts each."""
        from scipy.special import wrightomega

        over = volts - self.volts_cap
        inside = np.minimum(volts, self.volts_cap)
        x = inside / self.slope
        # No series resistance: the exponential itself; exact around 0.
        with np.errstate(under="ignore"):
            ratio = np.expm1(np.minimum(x, 1.0))
            amps = np.where(
                x <= 1.0,
                self.amps_is * ratio,
                np.exp(np.minimum(self.log_is + x, 50.0)) - self.amps_is,
            )
        some = self.ohms > 0.0
        if some.any():
            r, s = self.ohms[some], self.slope[some]
            log_a = np.log(r / s) + self.log_is[some]
            a = r / s * self.amps_is[some]
            w = wrightomega(log_a + x[some] + a)
            amps[some] = self._polished(some, inside[some], s / r * (w - a))
        siemens = 1.0 / (
            self.ohms + self.slope / np.maximum(amps + self.amps_is, 1e-300)
        )
        high = over > 0.0
        if high.any():
            amps = np.where(high, self.amps_cap + self.siemens_cap * over, amps)
            siemens = np.where(high, self.siemens_cap, siemens)
        return amps, siemens

    def _polished(
        self, some: "NDArray[np.bool_]", volts: "Floats", amps: "Floats"
    ) -> "Floats":
        """Take one step of Newton's: `wrightomega` is good to some ten digits."""
        slope, ohms, amps_is = self.slope[some], self.ohms[some], self.amps_is[some]
        small = np.abs(amps) < amps_is
        with np.errstate(all="ignore"):
            log = np.where(
                small,
                np.log1p(amps / amps_is),
                np.log(np.abs(amps + amps_is)) - self.log_is[some],
            )
            step = (slope * log + ohms * amps - volts) / (
                ohms + slope / (amps + amps_is)
            )
        # Far in reverse the current is -Is, and the logarithm of what is left noise.
        good = (amps > -0.5 * amps_is) & np.isfinite(step)
        return np.where(good, amps - np.where(good, step, 0.0), amps)

    def content_change(
        self, volts: "Floats", amps: "Floats", volts_new: "Floats", amps_new: "Floats"
    ) -> float:
        """Return the co-content in watts gained from some voltages to others.

        The co-content of a junction is the integral of its amps over its volts.
        """
        gained = self._content(volts_new, amps_new) - self._content(volts, amps)
        return float(gained.sum())

    def _content(self, volts: "Floats", amps: "Floats") -> "Floats":
        over = np.maximum(volts - self.volts_cap, 0.0)
        i = np.minimum(amps, self.amps_cap)
        v = np.minimum(volts, self.volts_cap)
        inside = self.slope * i + self.ohms * (0.5 * i + self.amps_is) * i
        inside = inside - self.amps_is * v
        return inside + over * (self.amps_cap + 0.5 * self.siemens_cap * over)
