"""A meter on many small networks of junctions: it drives its current, or its voltage.

A meter's source drives its test current up to its open voltage.  Which of the two holds
is only known from a solution, so one is tried and the other taken where the first does
not hold.  The current comes first unless it is more than any junction would carry at
that voltage: a volt held across a junction is any current at all.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.network.assembly import Floats, Ints
from ohmtrail.netanalysis.network.port_newton import newton

__all__ = ["Driven", "Ports"]

Bools = NDArray[np.bool_]

#: A source that would drive its current through less than this is one of voltage.
_STIFF_OHMS = 1.0


@dataclass(slots=True)
class Driven:
    """What flows, by case."""

    #: Amps of the junctions, shape (cases, ports), and of the source.
    flow: Floats
    driven: Floats
    #: The open voltage holds, not the current.
    limited: Bools
    #: False where nothing settled.
    good: Bools
    steps: int = 0


@dataclass(frozen=True, slots=True)
class Ports:
    """Cases as their ports see them: the linear network between junctions.

    Parameters
    ----------
    ohms : array, shape (cases, ports, ports)
        Resistances between ports while the source drives a current.
    drive : array, shape (cases, ports)
        Volts at the open ports for 1 A of the source.
    seen : array, shape (cases,)
        Ohms that the source sees with all ports open.
    used : array of bool, shape (cases, ports)
        False for ports that a case does not have.
    law : tuple of array, each of shape (cases, ports)
        Saturation current, slope and series resistance of the junctions.
    """

    ohms: Floats
    drive: Floats
    seen: Floats
    used: Bools
    law: tuple[Floats, Floats, Floats]

    def solved(self, amps: Floats, volts: Floats) -> Driven:
        """Return what flows for sources of so many amps, up to so many volts."""
        shape = self.used.shape
        found = Driven(
            np.zeros(shape),
            np.zeros(len(amps)),
            np.zeros(len(amps), dtype=bool),
            np.zeros(len(amps), dtype=bool),
        )
        start = 1e-3 * np.minimum(amps, volts / 10.0)[:, None] * np.ones(shape)
        stiff = amps * _STIFF_OHMS > volts
        self._at_amps(found, np.flatnonzero(~stiff), start, amps)
        across = self._volts(found, amps)
        over = ~stiff & found.good & (across > volts)
        share = np.where(over, volts / np.where(over, across, 1.0), 1.0)
        start = np.maximum(np.where(over[:, None], found.flow, start), 1e-15)
        self._at_volts(
            found, np.flatnonzero(stiff | over), start * share[:, None], volts
        )
        more = stiff & found.good & (found.driven > amps)
        share = np.where(more, amps / np.where(more, found.driven, 1.0), 1.0)
        start = np.maximum(found.flow * share[:, None], 1e-15)
        self._at_amps(found, np.flatnonzero(more), start, amps)
        return found

    def _volts(self, found: Driven, amps: Floats) -> Floats:
        """Return the volts at the source while it drives its current."""
        carried: Floats = (self.drive * found.flow).sum(axis=1)
        return self.seen * amps - carried

    def _at_amps(self, found: Driven, some: Ints, start: Floats, amps: Floats) -> None:
        self._newton(
            found, some, self.ohms[some], self.drive[some] * amps[some][:, None], start
        )
        found.driven[some], found.limited[some] = amps[some], False

    def _at_volts(
        self, found: Driven, some: Ints, start: Floats, volts: Floats
    ) -> None:
        drive, seen = self.drive[some], self.seen[some]
        share = drive / seen[:, None]
        held = self.ohms[some] - drive[:, :, None] * share[:, None, :]
        self._newton(found, some, held, share * volts[some][:, None], start)
        carried = (drive * found.flow[some]).sum(axis=1)
        found.driven[some] = (volts[some] + carried) / seen
        found.limited[some] = True

    def _newton(
        self, found: Driven, some: Ints, ohms: Floats, drive: Floats, start: Floats
    ) -> None:
        if not len(some):
            return
        used = self.used[some]
        flow, good, steps = newton(
            ohms,
            drive,
            np.where(used, start[some], 0.0),
            used,
            *(one[some] for one in self.law),
        )
        found.flow[some], found.good[some] = flow, good
        found.steps += steps
