"""The meter and the hand that holds it: ranges, gain, leads, contact, resolution.

Two-wire resistance: five ranges, a constant current each, full scale at 0.3 to
0.6 V, so that silicon mostly stays off.  Diode mode: 1 mA, up to 3 V.  Four-wire:
0.1 A and under 0.1 V, so nothing above 1 ohm.  Drop: millivolts while a supply
drives a current through the short.  Resolution: 0.1 ohm in the lowest two-wire
range as handhelds have it, 4 digits above; 0.1 milliohm four-wire; 1 mV in diode
mode; 0.1 mV in drop mode.  Ranges and resolution are common practice, no source.
"""

import random

from bench.circuit import Circuit, Pad

__all__ = ["Meter", "text_of"]

#: Full scale in ohms, test current, resolution.
_RANGES = (
    (600.0, 0.5e-3, 0.1),
    (6e3, 0.1e-3, 1.0),
    (60e3, 10e-6, 10.0),
    (600e3, 1e-6, 100.0),
    (6e6, 0.1e-6, 1e3),
)
_OVER_OHMS = 40e6
_DIODE_AMPS, _DIODE_VOLTS, _DIODE_STEP = 1e-3, 3.0, 1e-3
_FOUR_AMPS, _FOUR_VOLTS, _FOUR_STEP = 0.1, 0.1, 0.1e-3


def text_of(value: float | None, mode: str) -> str:
    """Return a reading as it is written in the log; None is an open circuit."""
    if value is None:
        return "OL"
    if mode == "resistance":
        for scale, letter in ((1e6, "M"), (1e3, "k")):
            if value >= scale:
                return f"{value / scale:.4g}{letter}"
        return f"{value:.1f}"
    if mode == "four-wire":
        return f"{value:.4f}"
    return f"{value:.4f}" if mode == "drop" else f"{value:.3f}"


class Meter:
    """One meter with its own gain error and leads.

    Parameters
    ----------
    seed : int
        Draws the gain (sd 0.6 %), the leads (0.2 ohm, sd 0.03) and each contact.
    exact : bool
        A meter without error, lead or resolution: what is really at the pads.
    """

    def __init__(self, seed: int, exact: bool = False) -> None:
        self.exact = exact
        self._rng = random.Random(f"meter/{seed}")
        self.gain = 1.0 if exact else 1 + self._rng.gauss(0.0, 0.006)
        # what the technician took off is the nominal 0.2 ohm
        self.leads = self._rng.gauss(0.2, 0.03) - 0.2

    def read(self, circuit: Circuit, mode: str, plus: Pad, minus: Pad) -> float | None:
        """Return ohms or volts as displayed, None for an open circuit.

        Raises
        ------
        ValueError
            If the mode is not one of the meter's.
        """
        if mode == "resistance":
            return self._ohms(circuit, plus, minus)
        if mode == "four-wire":
            return self._four(circuit, plus, minus)
        if mode == "diode":
            return self._diode(circuit, plus, minus)
        raise ValueError(f"found mode {mode!r}, expected resistance, four-wire, diode")

    def drop(self, volts: float) -> float:
        """Return a measured drop while somebody else drives the current."""
        seen = volts * self.gain + self._rng.gauss(0.0, 0.1e-3)
        return self._shown(seen, 0.1e-3)

    def _contact(self) -> float:
        return 0.0 if self.exact else self.leads + self._rng.uniform(0.0, 0.1)

    def _shown(self, value: float, step: float) -> float:
        return value if self.exact else round(value / step) * step

    def _volts(self, circuit: Circuit, amps: float, plus: Pad, minus: Pad) -> float:
        red, black = circuit.volts(amps, plus, minus)[:2]
        return red - black

    def _ohms(self, circuit: Circuit, plus: Pad, minus: Pad) -> float | None:
        if plus == minus:
            return max(0.0, self._shown(self._contact(), 0.1))
        extra = self._contact()
        amps = _RANGES[-1][1]
        ohms = self._volts(circuit, amps, plus, minus) / amps
        # silicon sleeps at the smallest current; a range that is full goes one up
        for full, amps, step in _RANGES:
            if ohms > full and amps != _RANGES[-1][1]:
                continue
            seen = ohms
            if ohms > 60.0 and amps != _RANGES[-1][1]:
                seen = self._volts(circuit, amps, plus, minus) / amps
                if seen > full:
                    continue
            seen = (seen + extra) * self.gain
            if seen > _OVER_OHMS:
                return None
            if seen > full:
                step *= 10
            return max(0.0, self._shown(seen, step))
        return None

    def _four(self, circuit: Circuit, plus: Pad, minus: Pad) -> float | None:
        # under the open voltage the current is less than nominal: the ratio stays
        scatter = 0.0 if self.exact else self._rng.uniform(0.3e-3, 1.2e-3)
        if plus == minus:
            return self._shown(scatter, _FOUR_STEP)
        amps = 1e-6
        ohms = self._volts(circuit, amps, plus, minus) / amps
        if ohms > _FOUR_VOLTS / _FOUR_AMPS * 100:
            return None
        seen = (ohms + scatter) * self.gain
        step = _FOUR_STEP if seen < 1 else 1e-3 if seen < 10 else 1e-2
        return self._shown(seen, step)

    def _diode(self, circuit: Circuit, plus: Pad, minus: Pad) -> float | None:
        if plus == minus:
            return 0.0
        for amps in (1e-7, 1e-5, _DIODE_AMPS):
            volts = self._volts(circuit, amps, plus, minus)
            if volts > _DIODE_VOLTS:
                return None
        if not self.exact:
            volts += _DIODE_AMPS * (self._contact() + 0.2)
        return max(0.0, self._shown(volts * self.gain, _DIODE_STEP))
