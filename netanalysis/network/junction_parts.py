"""What of a network a pair of probes can reach, as arrays for the solver.

Nodes at 0 ohms of each other are one.  Nodes that resistances join are an island; an
island's nodes are told from one of them (its base), so that a small drop across
milliohms is not the difference of two large numbers, and an island that only sleeping
junctions hold does not make the equations singular.
"""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ohmtrail.netanalysis.network.elements import Network
from ohmtrail.netanalysis.network.junction_law import Law

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]

__all__ = ["MERGED_OHMS", "Elements", "Reach"]

#: Nodes at so few ohms are one: 0.1 nV at the largest current a meter drives.
MERGED_OHMS = 1e-9


def _groups(n: int, a: "Ints", b: "Ints") -> "Ints":
    """Label the connected groups of n nodes under edges a-b."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    graph = coo_array((np.ones(len(a), dtype=np.int8), (a, b)), shape=(n, n))
    labels: Ints = connected_components(graph, directed=False)[1].astype(np.intp)
    return labels


@dataclass(frozen=True, slots=True)
class Elements:
    """A network at one corner, as arrays; shared by all pairs of probes."""

    index: dict[str, int]
    #: Merged node of each node of the network.
    merged: "Ints"
    n: int
    #: Resistances that join two merged nodes: ends, siemens, which of the network.
    ra: "Ints"
    rb: "Ints"
    siemens: "Floats"
    r_which: "Ints"
    #: Resistances of the network that are 0 ohms.
    r_zero: "Ints"
    #: Junctions that join two merged nodes: anodes, cathodes, laws, which.
    ja: "Ints"
    jb: "Ints"
    law: Law
    j_which: "Ints"
    #: Which merged nodes hang together at all, and which by resistances alone.
    group: "Ints"
    island: "Ints"

    @staticmethod
    def of(network: Network, corner: str) -> "Elements":
        """Take the values of a network at a corner.

        Raises
        ------
        ValueError
            A resistance below 0 or not a number, or a junction that `Law` refuses.
        """
        index = {node: k for k, node in enumerate(network.nodes)}
        ohms = np.array([one.at(corner) for one in network.resistances], float)
        bad = ~(ohms >= 0.0)
        if bad.any():
            one = network.resistances[int(bad.argmax())]
            raise ValueError(
                f"resistance of {one.ref}: found {one.at(corner):g} ohms, "
                "expected 0 or more"
            )
        a = np.array([index[one.a] for one in network.resistances], np.intp)
        b = np.array([index[one.b] for one in network.resistances], np.intp)
        zero = ohms <= MERGED_OHMS
        merged = _groups(len(index), a[zero], b[zero])
        n = int(merged.max(initial=-1)) + 1
        a, b = merged[a], merged[b]
        r_which = np.flatnonzero((a != b) & (ohms < math.inf))
        ja = merged[np.array([index[one.anode] for one in network.junctions], np.intp)]
        jb = merged[
            np.array([index[one.cathode] for one in network.junctions], np.intp)
        ]
        j_which = np.flatnonzero(ja != jb)
        law = Law.of([network.junctions[k] for k in j_which], corner, 1.0)
        ra, rb, ja, jb = a[r_which], b[r_which], ja[j_which], jb[j_which]
        return Elements(
            index,
            merged,
            n,
            ra,
            rb,
            1.0 / ohms[r_which],
            r_which,
            np.flatnonzero(zero),
            ja,
            jb,
            law,
            j_which,
            _groups(n, np.concatenate((ra, ja)), np.concatenate((rb, jb))),
            _groups(n, ra, rb),
        )


@dataclass(frozen=True, slots=True)
class Reach:
    """The elements that can carry current between two merged nodes, and unknowns.

    The voltage of a node is that of its island's base plus its own part.  Unknowns:
    a part for each node that is no base, a voltage for each base; minus is at 0 and
    has none; plus comes last.
    """

    #: Elements of `Elements` that are left.
    r_kept: "Ints"
    j_kept: "Ints"
    unknowns: int
    #: For each kept element, resistances first: unknowns and signs that add up to the
    #: volts across it, as rows of triplets.
    row: "Ints"
    column: "Ints"
    sign: "Floats"
    #: For each merged node: its own unknown, its island's, or -1.
    own: "Ints"
    base: "Ints"
    #: For each merged node the node whose voltage it has (itself where it is kept).
    stands_for: "Ints"
    #: Merged nodes that are left.
    kept: "NDArray[np.bool_]"

    def volts(self, unknowns: "Floats") -> "Floats":
        """Return the volts of each merged node, NaN where the probes do not reach."""
        padded = np.append(unknowns, 0.0)
        own = padded[self.own] + padded[self.base]
        own[~self.kept] = np.nan
        found: Floats = own[self.stands_for]
        return found

    def into_plus(self, amps: "Floats") -> float:
        """Return what the source drives, from the currents of all elements."""
        last = self.column == self.unknowns - 1
        return float(self.sign[last] @ amps[self.row[last]])

    @staticmethod
    def between(elements: Elements, plus: int, minus: int) -> "Reach | None":
        """Find what lies between plus and minus; None when nothing does.

        Dangling ends carry no current: they are cut off, end after end.
        """
        if elements.group[plus] != elements.group[minus]:
            return None
        a = np.concatenate((elements.ra, elements.ja))
        b = np.concatenate((elements.rb, elements.jb))
        alive = elements.group[a] == elements.group[plus]
        stands_for = np.arange(elements.n)
        order: list[tuple[Ints, Ints]] = []
        while True:
            kept = np.flatnonzero(alive)
            degree = np.bincount(a[kept], minlength=elements.n)
            degree += np.bincount(b[kept], minlength=elements.n)
            degree[[plus, minus]] = 2
            end_a, end_b = degree[a[kept]] == 1, degree[b[kept]] == 1
            if not (end_a.any() or end_b.any()):
                break
            alive[kept[end_a | end_b]] = False
            # Both ends free is a piece of its own, which the group rules out.
            order.append(
                (
                    np.concatenate((a[kept[end_a]], b[kept[end_b]])),
                    np.concatenate((b[kept[end_a]], a[kept[end_b]])),
                )
            )
        for ends, roots in reversed(order):
            stands_for[ends] = stands_for[roots]
        n_r = len(elements.ra)
        return Reach._number(
            elements, kept[kept < n_r], kept[kept >= n_r] - n_r, plus, minus, stands_for
        )

    @staticmethod
    def _number(
        elements: Elements,
        r_kept: "Ints",
        j_kept: "Ints",
        plus: int,
        minus: int,
        stands_for: "Ints",
    ) -> "Reach":
        n = elements.n
        a = np.concatenate((elements.ra[r_kept], elements.ja[j_kept]))
        b = np.concatenate((elements.rb[r_kept], elements.jb[j_kept]))
        used = np.zeros(n, bool)
        used[a] = used[b] = used[plus] = used[minus] = True
        # The base is the node with most siemens; plus and minus win.
        weight = np.zeros(n)
        for ends in (elements.ra, elements.rb):
            weight += np.bincount(ends[r_kept], elements.siemens[r_kept], minlength=n)
        weight[~used] = -1.0
        weight[plus] = np.inf
        by_weight = np.argsort(weight, kind="stable")
        base_of = np.full(n, -1, np.intp)
        base_of[elements.island[by_weight]] = by_weight
        base_of[elements.island[minus]] = minus
        is_base = base_of[elements.island] == np.arange(n)
        own = np.full(n, -1, np.intp)
        base = np.full(n, -1, np.intp)
        free = np.flatnonzero(used & ~is_base)
        own[free] = np.arange(len(free))
        bases = np.flatnonzero(used & is_base & (np.arange(n) != minus))
        number = np.full(n, -1, np.intp)
        number[bases] = len(free) + np.arange(len(bases))
        base[used] = number[base_of[elements.island[used]]]
        unknowns = len(free) + len(bases)
        last = own[plus] if own[plus] >= 0 else base[plus]
        for table in (own, base):
            swap_up, swap_down = table == last, table == unknowns - 1
            table[swap_up], table[swap_down] = unknowns - 1, last
        edge = np.arange(len(a))
        same = base[a] == base[b]
        columns = (own[a], own[b], base[a], base[b])
        signs = (1.0, -1.0, 1.0, -1.0)
        keeps = (
            own[a] >= 0,
            own[b] >= 0,
            ~same & (base[a] >= 0),
            ~same & (base[b] >= 0),
        )
        return Reach(
            r_kept,
            j_kept,
            unknowns,
            np.concatenate([edge[keep] for keep in keeps]),
            np.concatenate([c[keep] for c, keep in zip(columns, keeps, strict=True)]),
            np.concatenate(
                [np.full(int(k.sum()), s) for s, k in zip(signs, keeps, strict=True)]
            ),
            own,
            base,
            stands_for,
            used,
        )
