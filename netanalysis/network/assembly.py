"""A `Network` as index arrays: what is joined, what is apart, what conducts.

Paths of 0 ohm are no conductances: their two nodes become one, exactly.  Paths of
``inf`` ohm are left out.  What is left falls into islands between which no direct
current flows.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from ohmtrail.netanalysis.network.elements import CORNERS, Network, Resistance

__all__ = ["Assembly", "Floats", "Ints", "assemble", "islands", "merged"]

Ints = NDArray[np.intp]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Assembly:
    """A network at one corner, as arrays.

    A *point* is a set of nodes that paths of 0 ohm join; points are numbered from 0.
    An *edge* is a path between two points with a resistance that is neither 0 nor
    infinite.  Parallel edges stay apart.
    """

    network: Network
    corner: str
    #: node -> its number in ``network.nodes``.
    numbers: dict[str, int]
    #: Point of every node, shape (nodes,).
    points: Ints
    #: How many points there are.
    count: int
    #: Points at the two ends of every edge, its conductance in siemens, and its
    #: place in ``network.resistances``; all of shape (edges,).
    tail: Ints
    head: Ints
    siemens: Floats
    element: Ints
    #: Places in ``network.resistances`` of the paths of 0 ohm between two nodes.
    joints: tuple[int, ...]
    #: Island of every point, shape (points,).
    island: Ints

    def number(self, node: str) -> int:
        """Return the number of a node; `ValueError` names one that is unknown."""
        try:
            return self.numbers[node]
        except KeyError:
            raise ValueError(f"no node {node!r} in the network") from None

    def point(self, node: str) -> int:
        """Return the point of a node; `ValueError` names one that is unknown."""
        return int(self.points[self.number(node)])

    def pairs(self, pairs: Sequence[tuple[str, str]]) -> tuple[Ints, Ints]:
        """Return the points of the first and of the second nodes, shape (pairs,)."""
        first = [self.point(a) for a, _ in pairs]
        second = [self.point(b) for _, b in pairs]
        return np.array(first, dtype=np.intp), np.array(second, dtype=np.intp)


def assemble(network: Network, corner: str = "typical") -> Assembly:
    """Lay out the points, edges and islands of a network.

    Parameters
    ----------
    network : Network
        Junctions are not looked at.
    corner : str
        Which end of every range to take, one of `CORNERS`.

    Raises
    ------
    ValueError
        If the corner is none of the three, a resistance is negative or not a
        number, or an element names a node that ``network.nodes`` lacks.

    Notes
    -----
    Time and memory grow with nodes plus elements.
    """
    if corner not in CORNERS:
        raise ValueError(f"expected a corner of {', '.join(CORNERS)}, found {corner!r}")
    numbers = {node: number for number, node in enumerate(network.nodes)}
    first, second, ohms = _ends(network.resistances, numbers, corner)
    zero = (ohms == 0.0) & (first != second)
    points, count = merged(len(numbers), first[zero], second[zero])
    tail, head = points[first], points[second]
    with np.errstate(divide="ignore"):
        siemens = 1.0 / ohms
    used = (tail != head) & (siemens > 0.0) & np.isfinite(siemens)
    tail, head = tail[used], head[used]
    return Assembly(
        network,
        corner,
        numbers,
        points,
        count,
        tail,
        head,
        siemens[used],
        np.flatnonzero(used),
        tuple(np.flatnonzero(zero).tolist()),
        islands(count, tail, head),
    )


def _ends(
    elements: Iterable[Resistance], numbers: dict[str, int], corner: str
) -> tuple[Ints, Ints, Floats]:
    first, second, ohms = [], [], []
    for one in elements:
        value = one.at(corner)
        if math.isnan(value) or value < 0.0:
            raise ValueError(f"{one.ref}: expected 0 ohm or more, found {value} ohm")
        try:
            first.append(numbers[one.a])
            second.append(numbers[one.b])
        except KeyError as missing:
            raise ValueError(f"{one.ref}: no node {missing} in the network") from None
        # Below 1e-300 ohm the conductance would overflow: that is 0 ohm.
        ohms.append(0.0 if value < 1e-300 else value)
    return (
        np.array(first, dtype=np.intp),
        np.array(second, dtype=np.intp),
        np.array(ohms, dtype=np.float64),
    )


def merged(count: int, first: Ints, second: Ints) -> tuple[Ints, int]:
    """Join nodes by union-find; return the point of every node, and their number.

    Points are numbered in the order of their first node.
    """
    parent = list(range(count))

    def root(node: int) -> int:
        while parent[node] != node:
            parent[node] = parent[parent[node]]
            node = parent[node]
        return node

    for a, b in zip(first.tolist(), second.tolist(), strict=True):
        one, other = sorted((root(a), root(b)))
        parent[other] = one
    place: dict[int, int] = {}
    points = [place.setdefault(root(node), len(place)) for node in range(count)]
    return np.array(points, dtype=np.intp), len(place)


def islands(count: int, tail: Ints, head: Ints) -> Ints:
    """Return the island of every one of ``count`` points, shape (count,)."""
    if count == 0:
        return np.zeros(0, dtype=np.intp)
    links = coo_array((np.ones(len(tail)), (tail, head)), shape=(count, count))
    _, labels = connected_components(links, directed=False)
    return labels.astype(np.intp)
