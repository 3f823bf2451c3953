"""What a written-down reading says in ohms, and how well it says it."""

import math
from typing import NamedTuple

__all__ = [
    "AMPS_SPREAD",
    "DIODE_AMPS",
    "DROP_SPREAD",
    "FOUR_WIRE_OHMS",
    "Noise",
    "awake",
    "noise_of",
]

#: Test current of diode mode (REFERENCES I: about 1 mA).
DIODE_AMPS = 1e-3
#: Above this a reading says no more than "no short here", in ohms.
_OPEN_OHMS = 2e5
#: A milliohm meter may show OL from here on, in ohms.
FOUR_WIRE_OHMS = 100.0
#: Silicon alone may read so little in resistance mode, in ohms (common practice: half
#: a volt at the test currents of the usual ranges).
_AWAKE_OHMS = 300.0
#: Drops read with one current repeat this well; the current itself is known less well,
#: by its three digits and by the supply's own meter (common practice, no source).
DROP_SPREAD, AMPS_SPREAD = 5e-4, 0.02
#: In diode mode a junction hides what lies above it, in volts.
_ASLEEP_VOLTS = 0.22


class Noise(NamedTuple):
    """A reading as a resistance with its spreads.

    Contact of two-wire probes (0 to 0.1 ohm) and of four-wire ones
    (0.3 to 1.2 milliohms) are common practice; the gain is the same for all
    readings of a meter, the current for all drops of an injection: both stand
    elsewhere.
    """

    log_value: float
    #: True where the reading is only a lower end.
    at_least: bool
    #: 1.0 where the leads count.
    leads: float
    bias_ohms: float
    sd_ohms: float
    relative: float


def noise_of(
    mode: str, value: float, step: float | None, amps: float | None = None
) -> Noise | None:
    """Return what a reading says, None where it says nothing about resistance.

    Parameters
    ----------
    mode : str
        As in the log.
    value : float
        Ohms or volts; ``inf`` for OL.
    step : float, optional
        What the last digit written down counts.
    amps : float, optional
        The injected current, for a drop.
    """
    step = step or 0.0
    if mode == "resistance":
        last = step / math.sqrt(12)
        if value >= _OPEN_OHMS:
            return Noise(math.log(_OPEN_OHMS), True, 1.0, 0.05, 0.05, 0.01)
        least = max(value, 0.5 * step, 0.02)
        return Noise(math.log(least), False, 1.0, 0.05, math.hypot(0.05, last), 0.005)
    if mode == "four-wire":
        last = max(step, _coarse(value)) / math.sqrt(12)
        if value >= _OPEN_OHMS:
            return Noise(math.log(FOUR_WIRE_OHMS), True, 0.0, 0.75e-3, 0.3e-3, 0.01)
        least = max(value, 0.5 * step, 1e-4)
        sd = math.hypot(0.27e-3, last)
        return Noise(math.log(least), False, 0.0, 0.75e-3, sd, 5e-5)
    if mode == "diode":
        if value >= _ASLEEP_VOLTS:
            least = min(value, 1.0) / DIODE_AMPS * 0.8
            return Noise(math.log(least), True, 0.0, 0.0, 1.0, 0.1)
        ohms = max(value, 0.5e-3) / DIODE_AMPS
        sd = math.hypot(0.6, step / DIODE_AMPS / math.sqrt(12))
        return Noise(math.log(ohms), False, 1.0, 0.05, sd, 0.03)
    if mode == "drop" and amps:
        ohms = max(value, 0.0) / amps
        sd = math.hypot(0.1e-3, step / math.sqrt(12)) / amps
        return Noise(
            math.log(max(ohms, 2e-5)), False, 0.0, 0.0, max(sd, 3e-5), DROP_SPREAD
        )
    return None


def awake(noise: Noise) -> Noise:
    """Return what a reading says across silicon that the meter may have woken.

    Above some hundred ohms a junction alone explains it: it is only a lower end.
    """
    log_value = min(noise.log_value, math.log(_AWAKE_OHMS))
    if noise.log_value > log_value:
        return noise._replace(log_value=log_value, at_least=True)
    return noise


def _coarse(value: float) -> float:
    """Return the step of a meter of four digits, 0 where the value is finer than it.

    What is written with zeros at the end need not have been read so finely.
    """
    if not math.isfinite(value) or value <= 0:
        return 0.0
    step = 10.0 ** (math.ceil(math.log10(value)) - 4)
    count = value / step
    return step if abs(count - round(count)) < 1e-6 * count else 0.0
