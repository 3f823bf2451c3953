"""A short way through points: nearest neighbour, then 2-opt and Or-opt."""

import itertools
import random
from collections.abc import Sequence
from heapq import nsmallest
from math import hypot

__all__ = ["length_mm", "short_route"]

Point = tuple[float, float]

#: Nearest points that a move is tried with (Johnson and McGeoch 1997 use 20).
_NEAR = 10
_SEGMENT_MAX = 3
#: Bound on the points that all kicks together may touch, and on kicks.
_WORK_MAX = 120_000
_KICKS_MAX = 400
_KICKS_A_NODE = 10
_GAIN_MIN = 1e-9
_STAY = -1e6
#: Up to so many nodes their distances are kept.
_TABLE_MAX = 3000


def length_mm(points: Sequence[Point], order: Sequence[int]) -> float:
    """Return the length of the way through points in an order, open at both ends."""
    return sum(
        hypot(points[a][0] - points[b][0], points[a][1] - points[b][1])
        for a, b in itertools.pairwise(order)
    )


def short_route(points: Sequence[Point], start: Point | None = None) -> list[int]:
    """Return an order in which the way through all points is short.

    Parameters
    ----------
    points : sequence of (float, float)
        Millimetres.
    start : (float, float), optional
        Where the way comes from; it counts, and is not in the result.

    Returns
    -------
    list of int
        Every index once.  The same input gives the same order.

    Notes
    -----
    An open way is a round trip through one more point that is at no distance from
    all others.  Nearest neighbour, then 2-opt and Or-opt with neighbour lists until
    nothing gains, then kicks (double bridge) that are kept when they gain.
    O(n^2) at the start, about O(n) a kick; kicks are bounded.

    References
    ----------
    D. S. Johnson, L. A. McGeoch, "The traveling salesman problem: a case study in
    local optimization", in E. Aarts, J. K. Lenstra (eds.), Local Search in
    Combinatorial Optimization, 1997.
    """
    if len(points) < 2:
        return list(range(len(points)))
    every = list(points) if start is None else [*points, start]
    tour = _Tour(every, len(points) if start is not None else None)
    tour.improve(range(tour.size))
    tour.kick()
    return [one for one in tour.open_order() if one < len(points)]


class _Tour:
    """A round trip; its last node is at no distance from the others."""

    def __init__(self, points: list[Point], first: int | None) -> None:
        self.points = points
        self.gap = len(points)
        self.size = len(points) + 1
        self.first = first
        self.rows: list[list[float] | None] = [None] * self.size
        self.near = self._neighbours()
        self.order = self._nearest_first()
        self.place = [0] * self.size
        self._index(0, self.size)

    def _row(self, a: int) -> list[float]:
        """Return the distances from one node to every node."""
        if a == self.gap:
            row = [0.0] * self.size
            # The stated start stays beside the gap, whatever it costs.
            if self.first is not None:
                row[self.first] = _STAY
            return row
        x, y = self.points[a]
        row = [hypot(x - px, y - py) for px, py in self.points]
        row.append(_STAY if a == self.first else 0.0)
        return row

    def far(self, a: int, b: int) -> float:
        """Return a distance; rows of the table are made when first asked for."""
        row = self.rows[a]
        if row is not None:
            return row[b]
        if self.size <= _TABLE_MAX or a == self.gap:
            row = self.rows[a] = self._row(a)
            return row[b]
        if b == self.gap:
            return self.far(b, a)
        (ax, ay), (bx, by) = self.points[a], self.points[b]
        return hypot(ax - bx, ay - by)

    def _neighbours(self) -> list[list[int]]:
        nodes = range(self.gap)
        lists = []
        for a in nodes:
            ax, ay = self.points[a]
            away = [(hypot(ax - x, ay - y), b) for b, (x, y) in enumerate(self.points)]
            lists.append([b for _, b in nsmallest(_NEAR + 1, away) if b != a][:_NEAR])
        lists.append(list(nodes) if self.gap <= 4 * _NEAR else [])
        return lists

    def _nearest_first(self) -> list[int]:
        left = set(range(self.gap))
        here = self.first if self.first is not None else self._corner()
        order = [self.gap, here]
        left.discard(here)
        while left:
            near = [one for one in self.near[here] if one in left]
            here = near[0] if near else min(left, key=lambda one: self.far(here, one))
            left.discard(here)
            order.append(here)
        return order

    def _corner(self) -> int:
        return min(range(self.gap), key=lambda one: sum(self.points[one]))

    def _index(self, start: int, stop: int) -> None:
        for at in range(start, stop):
            self.place[self.order[at]] = at

    def after(self, node: int) -> int:
        return self.order[(self.place[node] + 1) % self.size]

    def before(self, node: int) -> int:
        return self.order[self.place[node] - 1]

    def _reverse(self, start: int, stop: int) -> None:
        """Turn round what lies from place ``start`` to ``stop``, both included."""
        self.order[start : stop + 1] = self.order[start : stop + 1][::-1]
        self._index(start, stop + 1)

    def improve(self, dirty: Sequence[int]) -> None:
        """Make moves that gain until none is left near the given nodes."""
        waiting = list(dirty)
        queued = set(waiting)
        while waiting:
            node = waiting.pop()
            queued.discard(node)
            changed = self._two_opt(node) or self._or_opt(node)
            for one in changed:
                if one not in queued:
                    queued.add(one)
                    waiting.append(one)

    def _two_opt(self, a: int) -> tuple[int, ...]:
        far = self.far
        for forward in (True, False):
            step = self.after if forward else self.before
            b = step(a)
            base = far(a, b)
            for c in self.near[a]:
                ac = far(a, c)
                if ac >= base and a != self.gap:
                    break
                d = step(c)
                if c == b or d == a:
                    continue
                if base + far(c, d) - ac - far(b, d) > _GAIN_MIN:
                    lo, hi = (b, c) if forward else (a, d)
                    i, j = sorted((self.place[lo], self.place[hi]))
                    if self.place[lo] > self.place[hi]:
                        # The other part of the ring, which is turned as well.
                        lo, hi = (d, a) if forward else (c, b)
                        i, j = sorted((self.place[lo], self.place[hi]))
                    self._reverse(i, j)
                    return a, b, c, d
        return ()

    def _or_opt(self, a: int) -> tuple[int, ...]:
        """Move the segment that begins or ends at a node to between two others."""
        far = self.far
        for length in range(1, min(_SEGMENT_MAX, self.size - 3) + 1):
            for forward in (True, False):
                segment = [a]
                step, back = (
                    (self.after, self.before) if forward else (self.before, self.after)
                )
                while len(segment) < length:
                    segment.append(step(segment[-1]))
                end = segment[-1]
                p, n = back(a), step(end)
                if p == n:
                    continue
                freed = far(p, a) + far(end, n) - far(p, n)
                for c in self.near[a]:
                    if far(a, c) >= freed and a != self.gap:
                        break
                    if c in segment:
                        continue
                    for d in (self.after(c), self.before(c)):
                        if d in segment:
                            continue
                        added = far(c, a) + far(end, d) - far(c, d)
                        if freed - added > _GAIN_MIN:
                            self._move(segment, c, d)
                            return p, n, c, d, a, end
        return ()

    def _move(self, segment: list[int], c: int, d: int) -> None:
        """Put a segment between two neighbours, its first node beside ``c``."""
        inside = set(segment)
        rest = [one for one in self.order if one not in inside]
        i, j = rest.index(c), rest.index(d)
        if (i + 1) % len(rest) == j:
            rest[i + 1 : i + 1] = segment
        else:
            rest[j + 1 : j + 1] = segment[::-1]
        self.order = rest
        self._index(0, self.size)

    def kick(self) -> None:
        """Disturb the tour in one place at a time; keep what gains."""
        if self.size < 8:
            return
        chance = random.Random(self.size)
        best = self._length()
        kicks = min(_KICKS_MAX, _WORK_MAX // self.size, _KICKS_A_NODE * self.size)
        for _ in range(kicks):
            kept = list(self.order)
            a = chance.randrange(self.size - 4)
            span = min(50, self.size - a)
            cuts = sorted(chance.sample(range(a, a + span), 3)) if span > 3 else []
            if not cuts:
                continue
            i, j, k = cuts
            order = self.order
            order[i + 1 : k + 1] = order[j + 1 : k + 1] + order[i + 1 : j + 1]
            self._index(i + 1, k + 1)
            ends = {i, i + 1, j, j + 1, k, (k + 1) % self.size}
            ends.add(i + 1 + k - j)
            self.improve([self.order[one] for one in ends if one < self.size])
            length = self._length()
            if length < best - _GAIN_MIN:
                best = length
            else:
                self.order = kept
                self._index(0, self.size)

    def _length(self) -> float:
        order = self.order
        return sum(self.far(order[i - 1], order[i]) for i in range(self.size))

    def open_order(self) -> list[int]:
        """Return the nodes from one end of the gap to the other."""
        at = self.place[self.gap]
        order = self.order[at + 1 :] + self.order[:at]
        if self.first is not None and order[-1] == self.first:
            order.reverse()
        return order
