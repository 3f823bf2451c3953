"""Readings under many hypotheses from one factorisation: parts lifted, fitted, shorted.

A hypothesis changes a few conductances between points.  With ``M`` the voltages
that 1 A through one changed pair (or probe pair) drops across another, a reading
becomes ``M_pp - q S^-1 q`` (Woodbury), where S is small: ``M`` between the changed
pairs plus the reciprocals of the changes.  Where a fault joins islands, S is bordered
by the rule that no current is lost in an island; the unknowns that go with it are
the voltages between islands.  Each result carries an estimate of what rounding has
done to it; what cannot be trusted is solved afresh.
"""

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.network.assembly import Floats, Ints, islands, merged
from ohmtrail.netanalysis.network.changed import (
    Change,
    Edges,
    changed_edges,
    part_of,
)
from ohmtrail.netanalysis.network.factor import CHUNK
from ohmtrail.netanalysis.network.solve import Solver

Bools = NDArray[np.bool_]

__all__ = ["Change", "resistances_after"]

#: Relative error of a reading that is still trusted; relative error of one product.
_TRUSTED = 2e-8
_ROUNDING = 1e-15
#: A singular value below the first may be a split; what is one lies below the second.
_DOUBTFUL = 1e-6
_SPLIT = 1e-9


def resistances_after(
    solver: Solver,
    pairs: Sequence[tuple[str, str]],
    changes: Sequence[Change],
) -> Floats:
    """Return the ohms of every pair under every hypothesis, shape (pairs, changes).

    What ``Solver(network.changed(...), corner).resistances(pairs)`` gives for each.

    Parameters
    ----------
    solver : Solver
        The network as it is.
    pairs : sequence of (str, str)
        Nodes; a node that only some change names is an island of its own elsewhere.
    changes : sequence of Change
        The hypotheses.

    Raises
    ------
    ValueError
        If neither the network nor a change knows a node of a pair, or a resistance
        put in is negative or not a number.

    Notes
    -----
    One solution a pair and one a changed pair of points, then dense algebra of the
    size of the change.  A change that opens a path of 0 ohm, one that splits an
    island and puts something in as well, and one whose results rounding has spoilt
    cost a factorisation of the islands that they touch.
    """
    return _Update(solver, pairs, changes).answer()


class _Update:
    """The pairs unchanged, and all that the hypotheses have in common."""

    def __init__(
        self,
        solver: Solver,
        pairs: Sequence[tuple[str, str]],
        changes: Sequence[Change],
    ) -> None:
        self.solver, self.pairs, self.changes = solver, pairs, changes
        one = solver.assembly
        self.count = one.count
        self.edges, new = changed_edges(one, changes)
        #: How many islands there are, and the island of every point, old and new.
        self.towns = int(one.island.max()) + 1 if one.count else 0
        fresh = np.arange(self.towns, self.towns + len(new))
        self.island: Ints = np.concatenate([one.island, fresh])
        ends = [
            new[node] if node in new else one.point(node)
            for pair in pairs
            for node in pair
        ]
        self.first: Ints = np.array(ends[0::2], dtype=np.intp)
        self.second: Ints = np.array(ends[1::2], dtype=np.intp)
        self.ohms = self._unchanged()
        #: M_pp: finite also for pairs across islands, where some fault joins them.
        self.own = self._own()

    def _unchanged(self) -> Floats:
        first, second = self.first, self.second
        old = (first < self.count) & (second < self.count)
        ohms = np.where(first == second, 0.0, math.inf)
        ohms[old] = self.solver.between(first[old], second[old])
        return ohms

    def _own(self) -> Floats:
        own = self.ohms.copy()
        if any(self._crossing(one).any() for one in self.edges):
            apart = np.flatnonzero(np.isinf(own))
            for start in range(0, len(apart), CHUNK):
                some = apart[start : start + CHUNK]
                a, b = self.first[some], self.second[some]
                own[some] = np.diagonal(self._drops(a, b, a, b))
        return own

    def _crossing(self, one: Edges) -> Bools:
        ends = np.array(one.pairs, dtype=np.intp).reshape(-1, 2)
        return np.asarray(self.island[ends[:, 0]] != self.island[ends[:, 1]])

    def _drops(self, plus: Ints, minus: Ints, tail: Ints, head: Ints) -> Floats:
        """Return the drops from tail to head, shape (tails, columns)."""
        if not self.count:
            return np.zeros((len(tail), len(plus)))
        reference = self.solver.factor.reference

        def inside(points: Ints, other: Ints) -> Ints:
            # Current into a new node returns there; so does that into a reference.
            stand = np.where(other < self.count, other, 0)
            return np.where(points < self.count, points, reference[self.island[stand]])

        volts = self.solver.factor.solve(inside(plus, minus), inside(minus, plus))
        old_tail, old_head = tail < self.count, head < self.count
        a, b = np.where(old_tail, tail, 0), np.where(old_head, head, 0)
        drops = volts.drops(a, b)
        mixed = ~(old_tail & old_head)
        if mixed.any():
            left = volts.high[a[mixed]] * old_tail[mixed, None]
            drops[mixed] = left - volts.high[b[mixed]] * old_head[mixed, None]
        return drops

    def answer(self) -> Floats:
        """Return the readings, shape (pairs, changes)."""
        ohms = np.repeat(self.ohms[:, None], len(self.changes), axis=1)
        for some in _chunks(self.edges):
            place: dict[tuple[int, int], int] = {}
            for pair in (pair for one in some for pair in one.pairs):
                place.setdefault(pair, len(place))
            ends = np.array(list(place), dtype=np.intp).reshape(-1, 2)
            plus, minus = ends[:, 0], ends[:, 1]
            tail = np.concatenate([plus, self.first])
            head = np.concatenate([minus, self.second])
            drops = self._drops(plus, minus, tail, head)
            among, across = drops[: len(plus)], drops[len(plus) :]
            for one in some:
                if one.opened:
                    good = self._untouched(one)
                elif one.pairs:
                    columns = np.array([place[pair] for pair in one.pairs])
                    ohms[:, one.number], good = self._after(
                        one, among[np.ix_(columns, columns)], across[:, columns]
                    )
                else:
                    continue
                if not good.all():
                    self._afresh(one, np.flatnonzero(~good), ohms)
        return ohms

    def _after(self, one: Edges, among: Floats, across: Floats) -> tuple[Floats, Bools]:
        """Return the readings under one hypothesis, and which can be trusted."""
        bound, feeds, joined = self._borders(one)
        size = len(one.pairs)
        system = np.zeros((size + bound.shape[1],) * 2)
        system[:size, :size] = (among + among.T) / 2.0 + np.diag(one.ohms)
        system[:size, size:] = -bound
        system[size:, :size] = -bound.T
        scale = np.sqrt(np.abs(np.diagonal(among)) + np.abs(one.ohms))
        scale[scale == 0.0] = 1.0
        border = np.max(np.abs(bound) / scale[:, None], axis=0, initial=0.0)
        scale = np.concatenate([scale, border])
        left, values, right = np.linalg.svd(system / scale[:, None] / scale)
        rank = len(values)
        apart = self.island[self.first] != self.island[self.second]
        apart &= ~joined
        if values[-1] < _DOUBTFUL and min(one.ohms) < 0.0:
            label = self._label_without(one)
            rank -= int(label[: self.count].max()) + 1 - self.towns
            if (
                one.added
                or (rank > 0 and values[rank - 1] < _DOUBTFUL)
                or values[rank:].max(initial=0.0) > _SPLIT
            ):
                return self.ohms, self._untouched(one)
            apart |= label[self.first] != label[self.second]
        given = np.concatenate([across, -feeds], axis=1) / scale
        terms = (given @ right[:rank].T) * (given @ left[:, :rank]) / values[:rank]
        with np.errstate(invalid="ignore", divide="ignore"):
            ohms = self.own - terms.sum(axis=1)
            change = np.abs(terms).sum(axis=1)
            worst = values[rank - 1] if rank else 1.0
            doubt = _ROUNDING * (self.own + change / worst)
            good = (ohms > 0.0) & (doubt <= _TRUSTED * ohms)
        still = change == 0.0
        ohms[still] = self.own[still]
        ohms[apart] = math.inf
        good |= still | apart
        if size == 1 and not bound.size and rank:
            self._itself(one, float(among[0, 0]), ohms, good)
        return ohms, good

    def _itself(self, one: Edges, before: float, ohms: Floats, good: Bools) -> None:
        """Read the one changed pair itself: two resistances in parallel."""
        low = np.minimum(self.first, self.second)
        same = (low == one.pairs[0][0]) & (
            self.first + self.second == sum(one.pairs[0])
        )
        change = one.ohms[0]
        ohms[same] = before * (change / (before + change))
        good[same] = _ROUNDING * before <= _TRUSTED * abs(before + change)

    def _borders(self, one: Edges) -> tuple[Floats, Floats, Bools]:
        """Return what new paths between islands add to S.

        Incidence of changed pairs, and of probe pairs, on the islands that are
        joined (one of each group left out: its voltage is the zero), and which
        probe pairs across islands are joined.
        """
        first, second = self.island[self.first], self.island[self.second]
        crossing = np.flatnonzero(self._crossing(one))
        pairs = [one.pairs[k] for k in crossing.tolist()]
        ends = [(int(self.island[a]), int(self.island[b])) for a, b in pairs]
        place: dict[int, int] = {}
        for town in (town for both in ends for town in both):
            place.setdefault(town, len(place))
        group, groups = merged(
            len(place),
            np.array([place[a] for a, _ in ends], dtype=np.intp),
            np.array([place[b] for _, b in ends], dtype=np.intp),
        )
        _, zero = np.unique(group, return_index=True)
        free = np.setdiff1d(np.arange(len(place)), zero)
        bound = np.zeros((len(one.pairs), len(place)))
        for k, (a, b) in zip(crossing.tolist(), ends, strict=True):
            bound[k, place[a]] += 1.0
            bound[k, place[b]] -= 1.0
        # Islands that nothing joins are a group of their own, never the same.
        of = np.full(len(self.island) + 1, -1, dtype=np.intp)
        of[list(place)] = np.arange(len(place))
        group = np.append(group, groups)
        in_first, in_second = of[first], of[second]
        joined = (
            (first != second)
            & (in_first >= 0)
            & (in_second >= 0)
            & (group[in_first] == group[in_second])
        )
        feeds = np.zeros((len(first), len(place)))
        rows = np.flatnonzero(joined)
        feeds[rows, in_first[rows]] += 1.0
        feeds[rows, in_second[rows]] -= 1.0
        return bound[:, free], feeds[:, free], np.asarray(joined)

    def _label_without(self, one: Edges) -> Ints:
        """Return the islands of all points with the edges gone, new nodes last."""
        net = self.solver.assembly
        kept = np.ones(len(net.tail), dtype=bool)
        kept[list(one.gone)] = False
        label = islands(self.count, net.tail[kept], net.head[kept])
        more = np.arange(len(self.island) - self.count) + int(label.max()) + 1
        return np.concatenate([label, more]).astype(np.intp)

    def _touched(self, one: Edges) -> Ints:
        points = [*(p for pair in one.pairs for p in pair), *one.opened]
        return np.unique(self.island[np.array(points, dtype=np.intp)])

    def _untouched(self, one: Edges) -> Bools:
        touched = self._touched(one)
        return ~(
            np.isin(self.island[self.first], touched)
            | np.isin(self.island[self.second], touched)
        )

    def _afresh(self, one: Edges, wanted: Ints, ohms: Floats) -> None:
        """Solve the islands that a hypothesis touches anew, for some pairs."""
        net = self.solver.assembly
        here = np.isin(net.island, self._touched(one))[net.points]
        nodes = frozenset(
            node
            for node, inside in zip(net.network.nodes, here.tolist(), strict=True)
            if inside
        )
        change = self.changes[one.number]
        part = part_of(net.network, nodes)
        part = part.changed(without=change.without, add=change.add)
        known = frozenset(part.nodes)
        places = [k for k in wanted.tolist() if known.issuperset(self.pairs[k])]
        again = Solver(part, net.corner)
        ohms[wanted, one.number] = self.ohms[wanted]
        ohms[places, one.number] = again.resistances([self.pairs[k] for k in places])


def _chunks(edges: Sequence[Edges]) -> Iterator[list[Edges]]:
    """Group hypotheses so that their columns are not too many at one time."""
    some: list[Edges] = []
    columns = 0
    for one in edges:
        if some and columns + len(one.pairs) > CHUNK:
            yield some
            some, columns = [], 0
        some.append(one)
        columns += len(one.pairs)
    if some:
        yield some
