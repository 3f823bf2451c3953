"""What stands between two probes when a meter's current meets junctions."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ohmtrail.netanalysis.network.elements import CORNERS, Network
from ohmtrail.netanalysis.network.junction_newton import Circuit
from ohmtrail.netanalysis.network.junction_parts import Elements, Reach

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["JunctionSolver", "NodeVolts", "Solution"]

#: Pairs of probes whose equations are kept.
_KEPT = 4


@dataclass(frozen=True, slots=True)
class Solution:
    """Voltages and currents while the meter drives."""

    #: Volts of plus above minus, at the pads.
    volts: float
    #: What the meter drives: its test current, less when it is at its limit.
    amps: float
    #: The meter stands at its open voltage: it shows "OL".
    limited: bool
    #: Steps of Newton's that it took.
    steps: int
    #: Volts above minus of each node that the probes reach.
    node_volts: Mapping[str, float]
    #: Amps from ``a`` to ``b`` of each resistance of the network, from anode to
    #: cathode of each junction.  NaN for a resistance of 0 ohms, which Kirchhoff's law
    #: alone determines.
    resistance_amps: "NDArray[np.float64]"
    junction_amps: "NDArray[np.float64]"


class NodeVolts(Mapping[str, float]):
    """Volts by name, without a dictionary of thousands for each answer."""

    __slots__ = ("_index", "_volts")

    def __init__(self, index: dict[str, int], volts: "NDArray[np.float64]") -> None:
        self._index, self._volts = index, volts

    def __getitem__(self, node: str) -> float:
        volts = float(self._volts[self._index[node]])
        if np.isnan(volts):
            raise KeyError(node)
        return volts

    def __iter__(self) -> Iterator[str]:
        return (node for node in self._index if node in self)

    def __len__(self) -> int:
        return int(np.count_nonzero(~np.isnan(self._volts)))

    def __repr__(self) -> str:
        return repr(dict(self))


class JunctionSolver:
    """One network at one corner, ready for any number of pairs of probes.

    Parameters
    ----------
    network : Network
        Its elements.
    corner : str
        Of `CORNERS`: which end of every range to take.

    Raises
    ------
    ValueError
        An unknown corner, a resistance below 0, a junction without a drop.
    """

    def __init__(self, network: Network, corner: str = "typical") -> None:
        if corner not in CORNERS:
            raise ValueError(f"found corner {corner!r}, expected one of {CORNERS}")
        self.network = network
        self.corner = corner
        self._elements = Elements.of(network, corner)
        self._linear: JunctionSolver | None = None
        self._circuits: dict[tuple[int, int], tuple[Reach, Circuit] | None] = {}

    @property
    def linear(self) -> "JunctionSolver":
        """The same without its junctions."""
        if not self.network.junctions:
            return self
        if self._linear is None:
            bare = Network(self.network.nodes, self.network.resistances)
            self._linear = JunctionSolver(bare, self.corner)
        return self._linear

    def solve(self, plus: str, minus: str, amps: float, open_volts: float) -> Solution:
        """Drive a current into plus and out of minus, up to a voltage.

        Parameters
        ----------
        plus, minus : str
            Nodes of the network.
        amps, open_volts : float
            The source, at the pads; both above 0.

        Raises
        ------
        KeyError
            A node that the network has not.
        """
        if not (0.0 < amps < np.inf and 0.0 < open_volts < np.inf):
            raise ValueError(
                f"found a source of {amps:g} A and {open_volts:g} V, "
                "expected both above 0"
            )
        p, m = self._node(plus), self._node(minus)
        elements = self._elements
        volts = np.full(elements.n, np.nan)
        volts[m] = 0.0
        of_r = np.zeros(len(self.network.resistances))
        of_r[elements.r_zero] = np.nan
        of_j = np.zeros(len(self.network.junctions))
        limited, driven, steps = False, amps, 0
        found = None if p == m else self._circuit(p, m)
        if found is not None:
            reach, circuit = found
            answer = circuit.balance(amps, open_volts)
            limited, steps = answer.limited, answer.steps
            volts = reach.volts(answer.unknowns)
            r = len(reach.r_kept)
            of_r[elements.r_which[reach.r_kept]] = answer.amps[:r]
            of_j[elements.j_which[reach.j_kept]] = answer.amps[r:]
            driven = reach.into_plus(answer.amps) if limited else amps
        elif p != m:
            volts[p] = open_volts
            limited, driven = True, 0.0
        return Solution(
            float(volts[p]),
            driven,
            limited,
            steps,
            NodeVolts(elements.index, volts[elements.merged]),
            of_r,
            of_j,
        )

    def _node(self, name: str) -> int:
        try:
            return int(self._elements.merged[self._elements.index[name]])
        except KeyError:
            raise KeyError(f"no node {name!r} in the network") from None

    def _circuit(self, p: int, m: int) -> tuple[Reach, Circuit] | None:
        if (p, m) not in self._circuits:
            if len(self._circuits) >= _KEPT:
                self._circuits.pop(next(iter(self._circuits)))
            elements = self._elements
            reach = Reach.between(elements, p, m)
            self._circuits[p, m] = None
            if reach is not None:
                circuit = Circuit(
                    reach,
                    elements.siemens[reach.r_kept],
                    elements.law.take(reach.j_kept),
                )
                self._circuits[p, m] = (reach, circuit)
        return self._circuits[p, m]
