"""How wide a reading between two nodes may honestly be, and which parts make it so.

A network that only resists reads higher when any one of its resistances does
(Rayleigh's monotonicity law), so the worst case is exact: all ranges at their low
ends, and all at their high ends.  The root-sum-square takes each range as
independent and small: ``dR/dr_k = i_k^2`` with ``i_k`` the current through element k
per ampere of the meter (Cohn's theorem; both laws from memory, checked by the tests).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ohmtrail.netanalysis.network.assembly import Floats, Ints
from ohmtrail.netanalysis.network.elements import CORNERS, Network
from ohmtrail.netanalysis.network.factor import CHUNK
from ohmtrail.netanalysis.network.solve import Solver

__all__ = ["Corners", "ResistanceRange"]

#: A part that sets less than this share of a range is not named.
_NAMED = 0.01


@dataclass(frozen=True, slots=True)
class ResistanceRange:
    """What an ohmmeter may read between two nodes, in ohms; ``inf`` is no path."""

    #: Exact worst case: no healthy board with elements in their ranges reads lower.
    ohms_low: float
    ohms: float
    ohms_high: float
    #: The lowest where independent paths do not all lie low at once (`likely`).
    ohms_low_likely: float
    #: Root-sum-square about ``ohms``, within the worst case.
    ohms_low_rss: float
    ohms_high_rss: float
    #: Refs that set the range, those that widen it most first.
    because: tuple[str, ...]
    #: True if any element of theirs is something that no file states.
    assumed: bool


class Corners:
    """A network factored at its low, typical and high corner.

    Parameters
    ----------
    network : Network
        Its junctions are taken as open.

    Raises
    ------
    ValueError
        As `Solver`.

    Examples
    --------
    >>> from ohmtrail.netanalysis.network.elements import Network, Resistance
    >>> from ohmtrail.netanalysis.network.tolerance import Corners
    >>> r1 = Resistance("R1", "OUT", "GND", 20e3, 19.8e3, 20.2e3)
    >>> r2 = Resistance("R2", "OUT", "GND", 20e3, 19e3, 21e3)
    >>> found = Corners(Network(("OUT", "GND"), (r1, r2))).range("OUT", "GND")
    >>> round(found.ohms_low), round(found.ohms), round(found.ohms_high)
    (9696, 10000, 10296)
    >>> found.because
    ('R2', 'R1')
    """

    __slots__ = (
        "_alone",
        "_ends",
        "_first",
        "_part",
        "_refs",
        "_second",
        "network",
        "solvers",
    )

    def __init__(self, network: Network) -> None:
        self.network = network
        elements = network.resistances
        self._ends = {
            corner: np.array([one.at(corner) for one in elements], dtype=np.float64)
            for corner in CORNERS
        }
        self._alone = np.array([one.likely is not None for one in elements], dtype=bool)
        places = {node: place for place, node in enumerate(network.nodes)}
        refs: dict[str, int] = {}
        self._part: Ints = np.array(
            [refs.setdefault(one.ref, len(refs)) for one in elements], dtype=np.intp
        )
        self._refs = tuple(refs)
        self.solvers: dict[str, Solver] = {}
        typical = Solver(network)
        for corner in CORNERS:
            same = np.array_equal(self._ends[corner], self._ends["typical"])
            self.solvers[corner] = typical if same else Solver(network, corner)
        ends = [(places[one.a], places[one.b]) for one in elements]
        self._first, self._second = np.array(ends, dtype=np.intp).reshape(-1, 2).T

    def range(self, a: str, b: str) -> ResistanceRange:
        """Return the range between two nodes; `ValueError` if one is unknown."""
        return self.ranges([(a, b)])[0]

    def ranges(self, pairs: Sequence[tuple[str, str]]) -> tuple[ResistanceRange, ...]:
        """Return the range of every pair.

        Raises
        ------
        ValueError
            If a node is unknown.

        Notes
        -----
        Three solutions a pair, then time that grows with elements times pairs.
        """
        found: list[ResistanceRange] = []
        for start in range(0, len(pairs), CHUNK):
            some = pairs[start : start + CHUNK]
            reads = {corner: self._read(corner, some) for corner in CORNERS}
            found += [
                self._range({c: (r[0][k], r[1][:, k]) for c, r in reads.items()})
                for k in range(len(some))
            ]
        return tuple(found)

    def _read(
        self, corner: str, pairs: Sequence[tuple[str, str]]
    ) -> tuple[Floats, Floats]:
        """Return the readings, and the volts across every element per ampere."""
        solver = self.solvers[corner]
        net = solver.assembly
        plus, minus = net.pairs(pairs)
        apart = net.island[plus] != net.island[minus]
        volts = solver.factor.solve(plus, minus)
        ohms = np.diagonal(volts.drops(plus, minus)).copy()
        ohms[apart] = math.inf
        drops = volts.drops(net.points[self._first], net.points[self._second])
        drops[:, apart] = 0.0
        return ohms, drops

    def _range(self, reads: dict[str, tuple[float, Floats]]) -> ResistanceRange:
        low, typical, high = (float(reads[corner][0]) for corner in CORNERS)
        watts = {c: _watts(drops, self._ends[c]) for c, (_, drops) in reads.items()}
        down, up = self._linear(reads["typical"][1], watts)
        if math.isfinite(typical):
            low_rss = max(low, typical - math.sqrt(float(np.sum(down**2))))
            high_rss = min(high, typical + math.sqrt(float(np.sum(up**2))))
            # A path that may be missing is no small range: its end is the worst.
            high_rss = high if math.isinf(high) else high_rss
        else:
            low_rss, high_rss = low, high
        shares = self._share("low", "typical", watts, cut=math.isinf(typical))
        low_likely = self._likely(low, typical, shares)
        shares += self._share("typical", "high", watts, cut=math.isinf(high))
        if not shares.any():
            shares = watts["typical"]
        because = self._named(shares)
        names = frozenset(because)
        return ResistanceRange(
            low,
            typical,
            high,
            low_likely,
            low_rss,
            high_rss,
            because,
            any(o.assumed and o.ref in names for o in self.network.resistances),
        )

    def _likely(self, low: float, typical: float, shares: Floats) -> float:
        """Return the low end with the independent paths' shares root-sum-squared.

        In siemens, where parallel paths add up; for paths in series that is lower
        than it need be.
        """
        alone = shares[self._alone]
        every = float(shares.sum())
        if not (0.0 < low < typical < math.inf and 0.0 < every < math.inf):
            return low
        together = every - float(alone.sum()) + math.sqrt(float(np.sum(alone**2)))
        siemens = 1 / typical + together / every * (1 / low - 1 / typical)
        return max(low, 1 / siemens)

    def _linear(self, drops: Floats, watts: dict[str, Floats]) -> tuple[Floats, Floats]:
        """Return how far each element moves the typical reading down, and up, in ohms.

        By its sensitivity there.  An element of 0 ohm has none that volts tell: its
        current is taken from the high corner.  One that is no path has one in
        siemens.
        """
        low, typical, high = (self._ends[corner] for corner in CORNERS)
        usual = (typical > 0.0) & np.isfinite(typical)
        with np.errstate(invalid="ignore", divide="ignore"):
            squared = np.where(usual, watts["typical"] / typical, 0.0)
            down = np.where(usual, squared * (typical - low), 0.0)
            # What may be no path at all moves it by nothing if it carries nothing.
            up = np.where(usual & (squared > 0.0), squared * (high - typical), 0.0)
            down = np.where(np.isinf(typical) & (low > 0.0), drops**2 / low, down)
        down = np.where(np.isinf(typical) & (low == 0.0) & (drops != 0), math.inf, down)
        return down, np.where(typical == 0.0, watts["high"], up)

    def _share(
        self, start: str, end: str, watts: dict[str, Floats], *, cut: bool
    ) -> Floats:
        """Return how much of the way between two corners each element makes, in ohms.

        With all elements on the way together, ``dR = sum i_k^2 dr_k``: the mean of
        ``i_k^2 r_k`` at both ends times the change of ``log r_k``.  ``cut``: at the
        end there is no path left, and the elements that broke it made all the way.
        """
        r, s = self._ends[start], self._ends[end]
        first, second = watts[start], watts[end]
        with np.errstate(invalid="ignore", divide="ignore"):
            way = (first + second) / 2.0 * np.log(s / r)
        way = np.where(r == 0.0, second, way)
        way = np.where(np.isinf(s), first, way)
        way = np.where((r == 0.0) & np.isinf(s), math.inf, way)
        way = np.where(r == s, 0.0, way)
        if cut:
            way = np.where(np.isinf(s) & (first > 0.0), math.inf, way)
        return np.asarray(way, dtype=np.float64)

    def _named(self, shares: Floats) -> tuple[str, ...]:
        total = np.zeros(len(self._refs))
        np.add.at(total, self._part, shares)
        finite = float(total[np.isfinite(total)].sum())
        named = np.flatnonzero((total >= _NAMED * finite) & (total > 0.0)).tolist()
        order = sorted(named, key=lambda k: (-total[k], self._refs[k]))
        return tuple(self._refs[k] for k in order)


def _watts(drops: Floats, ohms: Floats) -> Floats:
    """Return the power in every element per square ampere; 0 where none is told."""
    usual = (ohms > 0.0) & np.isfinite(ohms)
    return np.where(usual, drops**2 / np.where(usual, ohms, 1.0), 0.0)
