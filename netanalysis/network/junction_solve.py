"""What a meter shows on a network with junctions: diode mode and resistance mode."""

import math
from dataclasses import dataclass

import numpy as np

from ohmtrail.netanalysis.network.elements import Network
from ohmtrail.netanalysis.network.junction_circuit import JunctionSolver, Solution
from ohmtrail.netanalysis.network.meter import Meter, OhmRange

__all__ = [
    "JunctionSolver",
    "ResistanceReading",
    "Solution",
    "diode",
    "resistance_shown",
]

#: Junctions that carry less than this share of the test current together sleep: they
#: move a reading by no more than that, a tenth of a handheld's accuracy.
AWAKE_SHARE = 1e-3


def diode(
    network: Network | JunctionSolver,
    plus: str,
    minus: str,
    meter: Meter,
    corner: str = "typical",
) -> float:
    """Return the volts at the pads in diode mode, ``inf`` for "OL".

    Parameters
    ----------
    network : Network or JunctionSolver
        A solver made once serves many pairs of probes; it brings its own corner.
    plus, minus : str
        Nodes of the red and the black lead.
    meter : Meter
        Its diode range.
    corner : str
        Of `CORNERS`; ignored with a solver.
    """
    solver = _solver(network, corner)
    one = meter.diode
    answer = _drive(solver, plus, minus, one.test_amps, one.open_volts, meter, "diode")
    if answer.limited or answer.volts > one.full_scale_volts:
        return math.inf
    return answer.volts


@dataclass(frozen=True, slots=True)
class ResistanceReading:
    """What the meter shows in ohms, and whether it is a resistance at all."""

    #: Ohms at the pads, ``inf`` for "OL".
    ohms: float
    #: The range in which the meter ends; the highest for "OL".
    range: OhmRange
    #: Refs of the parts whose junctions conduct, the strongest first; empty where the
    #: reading is that of the resistances alone.
    woke: tuple[str, ...]
    #: The same with the probes swapped.
    swapped_ohms: float
    swapped_range: OhmRange
    swapped_woke: tuple[str, ...]
    #: The resistances alone, whatever the meter can show; ``inf`` without a path.
    linear_ohms: float

    @property
    def polar(self) -> bool:
        """True where swapping the probes tells a junction from a resistance."""
        low, high = sorted((self.ohms, self.swapped_ohms))
        if math.isinf(high):
            return not math.isinf(low)
        return high - low > self.range.error_ohms(low) + self.swapped_range.error_ohms(
            high
        )


def resistance_shown(
    network: Network | JunctionSolver,
    plus: str,
    minus: str,
    meter: Meter,
    corner: str = "typical",
    mode: str = "resistance",
) -> ResistanceReading:
    """Return what the meter shows in resistance or four-wire mode.

    Where no junction wakes it is the resistance of the linear network, to the last
    digit; else volts over amps in the range where the meter ends.

    Parameters
    ----------
    network, plus, minus, meter, corner
        As for `diode`.
    mode : str
        "resistance" or "four-wire".
    """
    solver = _solver(network, corner)
    # Any source does for a linear network; a high limit, since no meter is meant yet.
    plain = solver.linear.solve(plus, minus, 1.0, 1e15)
    linear = math.inf if plain.limited else plain.volts
    ohms, landed, woke = _one_way(solver, plus, minus, meter, mode, linear)
    back, back_range, back_woke = _one_way(solver, minus, plus, meter, mode, linear)
    return ResistanceReading(ohms, landed, woke, back, back_range, back_woke, linear)


def _one_way(
    solver: JunctionSolver,
    plus: str,
    minus: str,
    meter: Meter,
    mode: str,
    linear: float,
) -> tuple[float, OhmRange, tuple[str, ...]]:
    woke: tuple[str, ...] = ()

    def read(one: OhmRange) -> float:
        nonlocal woke
        woke = ()
        if not solver.network.junctions:
            return linear
        answer = _drive(solver, plus, minus, one.test_amps, one.open_volts, meter, mode)
        shares = np.abs(answer.junction_amps) / one.test_amps
        if float(shares.sum()) <= AWAKE_SHARE:
            return linear
        if answer.limited:
            return math.inf
        woke = _refs(solver.network, shares)
        return answer.volts / one.test_amps

    landed, ohms = meter.autorange(read, mode)
    return ohms, landed, woke if ohms < math.inf else ()


def _refs(
    network: Network, shares: "np.ndarray[tuple[int], np.dtype[np.float64]]"
) -> tuple[str, ...]:
    """Return the refs of the junctions that carry a share, or of the largest."""
    order = np.argsort(-shares, kind="stable")
    least = min(AWAKE_SHARE, float(shares[order[0]]))
    found = (network.junctions[k].ref for k in order if shares[k] >= least)
    return tuple(dict.fromkeys(found))


def _solver(network: Network | JunctionSolver, corner: str) -> JunctionSolver:
    if isinstance(network, JunctionSolver):
        return network
    return JunctionSolver(network, corner)


def _drive(
    solver: JunctionSolver,
    plus: str,
    minus: str,
    amps: float,
    open_volts: float,
    meter: Meter,
    mode: str,
) -> Solution:
    """Drive the range's current; what the leads drop is lost to the pads."""
    at_pads = open_volts - amps * meter.leads(mode)
    if at_pads <= 0.0:
        raise ValueError(
            f"found leads of {meter.lead_ohms:g} ohms, expected fewer: they take "
            f"all of {open_volts:g} V at {amps:g} A"
        )
    return solver.solve(plus, minus, amps, at_pads)
