"""What an ohmmeter reads between two nodes of a linear network, without its leads.

Nodal analysis: one factorisation a corner serves every pair of probes.  Nodes in
different islands read ``inf``; a node to itself, or across 0 ohm, reads 0.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ohmtrail.netanalysis.network.assembly import (
    Floats,
    Ints,
    assemble,
    islands,
)
from ohmtrail.netanalysis.network.elements import Network
from ohmtrail.netanalysis.network.factor import CHUNK, Factor

__all__ = ["Solution", "Solver"]


@dataclass(frozen=True, slots=True)
class Solution:
    """What flows while a current is fed in at one node and out at another.

    Kirchhoff's current law holds to 1e-11 of the current fed in while conductances
    span up to 13 decades in one island; with more, currents through the best
    conductors lose digits, the resistance between the two nodes does not.
    """

    #: Volts of every node of the island, the node where the current leaves is 0 V.
    volts: dict[str, float]
    #: Amps through every element of ``network.resistances``, from its ``a`` to its
    #: ``b``.  In a loop of 0 ohm paths the current divides as if they were equal.
    amps: tuple[float, ...]


class Solver:
    """A network at one corner, factored once.

    Parameters
    ----------
    network : Network
        Its junctions are taken as open.
    corner : str
        Which end of every range to take, one of `CORNERS`.

    Raises
    ------
    ValueError
        As `assemble`.

    Examples
    --------
    >>> from ohmtrail.netanalysis.network.elements import Network, Resistance
    >>> from ohmtrail.netanalysis.network.solve import Solver
    >>> r1 = Resistance("R1", "VIN", "GND", 30.0, 30.0, 30.0)
    >>> r2 = Resistance("R2", "VIN", "GND", 60.0, 60.0, 60.0)
    >>> solver = Solver(Network(("VIN", "GND"), (r1, r2)))
    >>> round(solver.resistance("VIN", "GND"), 9)
    20.0

    References
    ----------
    Klein and Randić, "Resistance distance", J. Math. Chem. 12:81-95, 1993.
    """

    __slots__ = ("assembly", "factor")

    def __init__(self, network: Network, corner: str = "typical") -> None:
        self.assembly = assemble(network, corner)
        one = self.assembly
        self.factor = Factor(one.count, one.tail, one.head, one.siemens, one.island)

    def resistance(self, a: str, b: str) -> float:
        """Return the ohms between two nodes; `ValueError` if one is unknown."""
        return float(self.resistances([(a, b)])[0])

    def resistances(self, pairs: Sequence[tuple[str, str]]) -> Floats:
        """Return the ohms between the nodes of every pair, shape (pairs,).

        Raises
        ------
        ValueError
            If a node is unknown.

        Notes
        -----
        One solution a distinct pair; memory does not grow with the pairs.
        """
        first, second = self.assembly.pairs(pairs)
        return self.between(first, second)

    def between(self, first: Ints, second: Ints) -> Floats:
        """Return the ohms between points; as `resistances`, for points."""
        island = self.assembly.island
        ohms = np.zeros(len(first))
        ohms[island[first] != island[second]] = math.inf
        wanted = np.flatnonzero((island[first] == island[second]) & (first != second))
        ends = np.sort(np.stack([first[wanted], second[wanted]]), axis=0)
        (low, high), place = np.unique(ends, axis=1, return_inverse=True)
        found = np.zeros(len(low))
        for start in range(0, len(low), CHUNK):
            plus, minus = low[start : start + CHUNK], high[start : start + CHUNK]
            drops = self.factor.solve(plus, minus).drops(plus, minus)
            found[start : start + CHUNK] = np.diagonal(drops)
        ohms[wanted] = found[place.reshape(-1)]
        return ohms

    def voltages(self, a: str, b: str, amps: float = 1.0) -> Solution:
        """Feed a current into ``a`` and out of ``b``.

        Parameters
        ----------
        a, b : str
            Nodes; ``b`` is at 0 V.
        amps : float
            The current in amperes.

        Raises
        ------
        ValueError
            If a node is unknown, no path leads from ``a`` to ``b``, or conductances
            span so many decades that the currents would not add up.
        """
        one = self.assembly
        plus, minus = one.point(a), one.point(b)
        here = one.island[plus]
        if here != one.island[minus]:
            raise ValueError(f"expected a path from {a!r} to {b!r}, found none")
        found = self.factor.solve(np.array([plus]), np.array([minus]))
        every = np.arange(one.count)
        volts = amps * found.drops(every, np.full(one.count, minus))[:, 0]
        flows = np.zeros(len(one.network.resistances))
        drops = found.drops(one.tail, one.head)[:, 0]
        flows[one.element] = amps * one.siemens * drops
        flows[one.element[one.island[one.tail] != here]] = 0.0
        lost = np.zeros(one.count)
        lost[plus] += amps
        lost[minus] -= amps
        np.add.at(lost, one.tail, -flows[one.element])
        np.add.at(lost, one.head, flows[one.element])
        if np.abs(lost).max() > 1e-6 * abs(amps):
            raise ValueError(
                f"expected resistances that span 13 decades at most from {a!r} to "
                f"{b!r}, found more: the currents cannot be told"
            )
        self._share(flows, one.number(a), one.number(b), amps)
        return Solution(
            {
                node: float(volts[point])
                for node, point in zip(one.network.nodes, one.points, strict=True)
                if one.island[point] == here
            },
            tuple(flows.tolist()),
        )

    def _share(self, flows: Floats, plus: int, minus: int, amps: float) -> None:
        """Divide the currents inside of points over their paths of 0 ohm."""
        one = self.assembly
        if not one.joints:
            return
        elements = one.network.resistances
        tail = np.array([one.numbers[elements[k].a] for k in one.joints])
        head = np.array([one.numbers[elements[k].b] for k in one.joints])
        count = len(one.numbers)
        feed = np.zeros(count)
        feed[plus] += amps
        feed[minus] -= amps
        for k in one.element.tolist():
            feed[one.numbers[elements[k].a]] -= flows[k]
            feed[one.numbers[elements[k].b]] += flows[k]
        groups = islands(count, tail, head)
        joints = Factor(count, tail, head, np.ones(len(tail)), groups)
        drops = joints.feed(feed).drops(tail, head)[:, 0]
        flows[np.array(one.joints)] = drops
