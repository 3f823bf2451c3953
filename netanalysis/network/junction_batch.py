"""Many pairs of probes at once: the few junctions that conduct, seen from their ports.

Of hundreds of junctions a meter wakes some.  To those the linear network is a matrix
of resistances between ports, one solution of its factorisation a port; what is left
is small, and the same for all pairs, so that one Newton run serves them together.  A
junction that the answer would wake is added and the run repeated.  Islands hang
together by `_LEAK_OHMS`, more than any insulation.  What does not settle is left to
the exact solver.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ohmtrail.netanalysis.network.assembly import Floats
from ohmtrail.netanalysis.network.elements import Network
from ohmtrail.netanalysis.network.junction_circuit import (
    JunctionSolver,
    NodeVolts,
    Solution,
)
from ohmtrail.netanalysis.network.port_source import Ports
from ohmtrail.netanalysis.network.solve import Solver

__all__ = ["BatchSolver"]

_LEAK_OHMS = 1e11
#: A junction that would carry more than this share of the current is awake.
_AWAKE_SHARE = 3e-6
#: Junctions woken in one round, rounds, pairs in one run.
_WOKEN = 8
_ROUNDS = 16
#: With more junctions awake than this the exact solver is quicker.
_AWAKE_MOST = 64
_PAIRS = 32

Source = tuple[str, str, float, float]


@dataclass(slots=True)
class _Case:
    """One pair of probes with its source."""

    key: Source
    pair: tuple[int, int]
    amps: float
    volts: float
    #: Junctions awake, and the current of each.
    awake: list[int]
    flow: Floats
    driven: float = 0.0
    limited: bool = True
    settled: bool = False
    steps: int = 0


class BatchSolver(JunctionSolver):
    """A `JunctionSolver` that can be told beforehand what it will be asked.

    Parameters
    ----------
    network : Network
        Its elements.
    corner : str
        Of `CORNERS`.
    linear : Solver
        The same network at the same corner, junctions open.
    """

    def __init__(self, network: Network, corner: str, linear: Solver) -> None:
        super().__init__(network, corner)
        self._solver = linear
        one = linear.assembly
        ends = [(j.anode, j.cathode) for j in network.junctions]
        self._anode, self._cathode = one.pairs(ends)
        self._real = self._anode != self._cathode
        which = self._elements.j_which
        law = self._elements.law
        size = len(network.junctions)
        self._slope, self._is, self._series = np.ones((3, size))
        self._slope[which] = law.slope
        self._is[which] = np.maximum(law.amps_is, 1e-280)
        self._series[which] = law.ohms
        self._real[np.setdiff1d(np.arange(size), which)] = False
        count = np.bincount(one.island, minlength=1)
        #: Islands leak to the largest of them.
        self._main = int(count.argmax())
        #: Volts of all points for 1 A fed in at a pair of points, by the pair.
        self._columns: dict[tuple[int, int], Floats] = {}
        self._drops: dict[tuple[int, int], Floats] = {}
        self._ready: dict[Source, Solution] = {}

    def prepare(self, wanted: Iterable[Source]) -> None:
        """Solve many (plus, minus, amps, open volts) together; `solve` then answers.

        Parameters
        ----------
        wanted : iterable of (str, str, float, float)
            What `solve` will be called with.

        Notes
        -----
        One solution of the linear network a pair and a junction that wakes, then
        dense algebra of the size of the junctions awake.
        """
        one = self._solver.assembly
        cases = []
        for key in dict.fromkeys(wanted):
            plus, minus, amps, volts = key
            pair = one.point(plus), one.point(minus)
            p, m = self._node(plus), self._node(minus)
            group = self._elements.group
            if key in self._ready or pair[0] == pair[1] or group[p] != group[m]:
                continue
            cases.append(_Case(key, pair, amps, volts, [], np.zeros(0)))
        for start in range(0, len(cases), _PAIRS):
            self._run(cases[start : start + _PAIRS])

    def solve(self, plus: str, minus: str, amps: float, open_volts: float) -> Solution:
        """Return what was prepared, else as `JunctionSolver.solve`."""
        found = self._ready.get((plus, minus, amps, open_volts))
        if found is not None:
            return found
        return super().solve(plus, minus, amps, open_volts)

    def _solved(self, pairs: Iterable[tuple[int, int]]) -> None:
        """Solve the linear network for pairs of points, each once."""
        new = [pair for pair in dict.fromkeys(pairs) if pair not in self._columns]
        if not new:
            return
        plus, minus = np.array(new, dtype=np.intp).T
        volts = self._solver.factor.solve(plus, minus)
        drops = volts.drops(self._anode, self._cathode)
        for k, pair in enumerate(new):
            self._columns[pair] = volts.high[:, k] + volts.low[:, k]
            self._drops[pair] = drops[:, k] + self._leak(pair)

    def _offsets(self, pair: tuple[int, int]) -> list[tuple[int, float]]:
        """Return the islands that 1 A through a pair lifts, and by how many volts."""
        island = self._solver.assembly.island
        here, there = int(island[pair[0]]), int(island[pair[1]])
        if here == there:
            return []
        lifted = ((here, _LEAK_OHMS), (there, -_LEAK_OHMS))
        return [(one, volts) for one, volts in lifted if one != self._main]

    def _leak(self, pair: tuple[int, int]) -> Floats:
        """Return what the lift of islands adds to the volts across junctions."""
        island = self._solver.assembly.island
        volts = np.zeros(len(self._anode))
        for one, lift in self._offsets(pair):
            volts += lift * (island[self._anode] == one)
            volts -= lift * (island[self._cathode] == one)
        return volts

    def _port(self, junction: int) -> tuple[int, int]:
        return int(self._anode[junction]), int(self._cathode[junction])

    def _seen(self, pair: tuple[int, int]) -> float:
        """Return the ohms between the probes, leaks included."""
        column = self._columns[pair]
        ohms = float(column[pair[0]] - column[pair[1]])
        island = self._solver.assembly.island
        for one, lift in self._offsets(pair):
            ohms += lift * float(island[pair[0]] == one)
            ohms -= lift * float(island[pair[1]] == one)
        return ohms

    def _run(self, cases: Sequence[_Case]) -> None:
        self._solved(case.pair for case in cases)
        going = list(cases)
        for _ in range(_ROUNDS):
            going = [case for case in going if self._wake(case)]
            for case in going:
                case.settled = len(case.awake) <= _AWAKE_MOST
            going = [case for case in going if case.settled]
            if not going:
                break
            self._solved(self._port(j) for case in going for j in case.awake)
            self._balance(going)
            going = [case for case in going if case.settled]
        for case in cases:
            if case.settled and not any(case is one for one in going):
                self._ready[case.key] = self._solution(case)

    def _across(self, case: _Case) -> Floats:
        """Return the volts across all junctions."""
        volts = case.driven * self._drops[case.pair]
        for j, amps in zip(case.awake, case.flow.tolist(), strict=True):
            volts = volts - amps * self._drops[self._port(j)]
        return volts

    def _wake(self, case: _Case) -> bool:
        """Add the junctions that would conduct; False where none is left."""
        if not case.awake and not case.settled:
            case.driven = min(case.amps, case.volts / self._seen(case.pair))
        volts = self._across(case)
        with np.errstate(over="ignore"):
            amps = self._is * np.expm1(np.minimum(volts / self._slope, 200.0))
        amps[~self._real] = 0.0
        amps[case.awake] = 0.0
        least = _AWAKE_SHARE * max(min(case.amps, case.driven), 1e-15)
        amps = np.abs(amps)
        woken = np.flatnonzero(amps > least)
        if not len(woken):
            if not case.awake:
                ohms = self._seen(case.pair)
                case.limited = ohms * case.amps > case.volts
                case.settled = True
            return False
        order = woken[np.argsort(-amps[woken], kind="stable")][:_WOKEN]
        case.awake += order.tolist()
        return True

    def _balance(self, cases: Sequence[_Case]) -> None:
        """Find the currents of the junctions awake, all cases at once."""
        most = max(len(case.awake) for case in cases)
        shape = len(cases), most
        index = np.zeros(shape, dtype=np.intp)
        used = np.zeros(shape, dtype=bool)
        ohms = np.zeros((len(cases), most, most))
        drive = np.zeros(shape)
        for b, case in enumerate(cases):
            k = len(case.awake)
            index[b, :k], used[b, :k] = case.awake, True
            rows = [self._drops[self._port(j)][case.awake] for j in case.awake]
            ohms[b, :k, :k] = rows
            drive[b, :k] = self._drops[case.pair][case.awake]
        ports = Ports(
            ohms,
            drive,
            np.array([self._seen(case.pair) for case in cases]),
            used,
            (self._is[index], self._slope[index], self._series[index]),
        )
        found = ports.solved(
            np.array([case.amps for case in cases]),
            np.array([case.volts for case in cases]),
        )
        for b, case in enumerate(cases):
            case.flow = found.flow[b, : len(case.awake)].copy()
            case.driven, case.limited = float(found.driven[b]), bool(found.limited[b])
            case.settled = bool(found.good[b])
            case.steps += found.steps

    def _solution(self, case: _Case) -> Solution:
        one = self._solver.assembly
        volts = case.driven * self._columns[case.pair]
        lift = np.zeros(int(one.island.max()) + 1)
        for island, ohms in self._offsets(case.pair):
            lift[island] += case.driven * ohms
        of_j = np.zeros(len(self._anode))
        for j, amps in zip(case.awake, case.flow.tolist(), strict=True):
            port = self._port(j)
            volts = volts - amps * self._columns[port]
            for island, ohms in self._offsets(port):
                lift[island] -= amps * ohms
            of_j[j] = amps
        of_r = np.zeros(len(self.network.resistances))
        of_r[list(one.joints)] = np.nan
        of_r[one.element] = one.siemens * (volts[one.tail] - volts[one.head])
        volts = volts + lift[one.island]
        volts = volts - volts[case.pair[1]]
        shown = case.volts if case.limited else float(volts[case.pair[0]])
        return Solution(
            shown,
            case.driven,
            case.limited,
            case.steps,
            NodeVolts(one.numbers, volts[one.points]),
            of_r,
            of_j,
        )
