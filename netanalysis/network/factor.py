"""One factorisation of all islands, and solutions that are right to the last digits.

The Laplacian of the edges, without one reference point an island, is factored once
by SuperLU.  Every solution is then refined: the current of each edge is computed
from the difference of its two voltages and taken from one end and given to the
other, so that what a residual says of a group of points is what flows across its
border, and nothing is lost between milliohms and gigaohms.  Voltages are kept as sums
of two floats for the same reason.  A column that does not converge is solved again by
`elimination`, which is slow and cannot fail.
"""

import numpy as np
from scipy.sparse import coo_array, csr_array
from scipy.sparse.linalg import SuperLU, splu

from ohmtrail.netanalysis.network.assembly import Floats, Ints
from ohmtrail.netanalysis.network.elimination import Elimination, eliminate

__all__ = ["CHUNK", "Factor", "Volts"]

#: Columns that are solved at one time, for the sake of memory.
CHUNK = 128
#: Refinement ends when what is left is this small: volts against the largest
#: voltage of the column, and amps against the 1 A fed in.
_VOLTS_LEFT = 1e-14
_AMPS_LEFT = 1e-11
_ROUNDS = 12
#: Columns that SuperLU solves at one time; fewer and more were slower.
_COLUMNS = 8


class Volts:
    """Voltages at all points, one column a feed of 1 A, as sums of two floats.

    The reference point of every island is at 0 V.
    """

    __slots__ = ("high", "low")

    def __init__(self, high: Floats, low: Floats) -> None:
        self.high = high
        self.low = low

    def drops(self, tail: Ints, head: Ints) -> Floats:
        """Return the volts from ``tail`` to ``head``, shape (len(tail), columns)."""
        high = self.high[tail] - self.high[head]
        return np.asarray(high + (self.low[tail] - self.low[head]), dtype=np.float64)

    def add(self, more: Floats, columns: Ints) -> None:
        """Add to some columns without losing what the first float cannot hold."""
        high, low = self.high[:, columns], self.low[:, columns]
        rest = low + more
        total = high + rest
        # The error of a sum, exactly (Knuth, TAOCP 2, 4.2.2, from memory).
        part = total - high
        self.high[:, columns] = total
        self.low[:, columns] = (high - (total - part)) + (rest - part)


class Factor:
    """Edges factored once, solved for any pair of points.

    Parameters
    ----------
    count : int
        How many points there are.
    tail, head : array of int, shape (edges,)
        Ends of the edges, never equal.
    siemens : array, shape (edges,)
        Conductances, above 0 and finite.
    island : array of int, shape (points,)
        Island of every point, numbered from 0.
    """

    __slots__ = (
        "_incidence",
        "_kept",
        "_lu",
        "_transposed",
        "count",
        "head",
        "island",
        "reference",
        "siemens",
        "tail",
    )

    def __init__(
        self, count: int, tail: Ints, head: Ints, siemens: Floats, island: Ints
    ) -> None:
        self.count, self.tail, self.head = count, tail, head
        self.siemens, self.island = siemens, island
        edges = np.arange(len(tail))
        signs = np.concatenate([np.ones(len(tail)), -np.ones(len(tail))])
        places = (np.concatenate([edges, edges]), np.concatenate([tail, head]))
        self._incidence = csr_array((signs, places), shape=(len(tail), count))
        self._transposed = csr_array(self._incidence.T)
        weight = np.zeros(count)
        np.add.at(weight, tail, siemens)
        np.add.at(weight, head, siemens)
        self.reference = _heaviest(weight, island)
        kept = np.ones(count, dtype=bool)
        kept[self.reference] = False
        self._kept: Ints = np.flatnonzero(kept)
        self._lu = self._factored(weight)

    def _factored(self, weight: Floats) -> SuperLU | None:
        size = len(self._kept)
        if size == 0:
            return None
        place = np.full(self.count, -1, dtype=np.intp)
        place[self._kept] = np.arange(size)
        a, b = place[self.tail], place[self.head]
        inner = (a >= 0) & (b >= 0)
        a, b, g = a[inner], b[inner], self.siemens[inner]
        diagonal = np.arange(size)
        matrix = coo_array(
            (
                np.concatenate([weight[self._kept], -g, -g]),
                (np.concatenate([diagonal, a, b]), np.concatenate([diagonal, b, a])),
            ),
            shape=(size, size),
        ).tocsc()
        try:
            return splu(
                matrix,
                permc_spec="MMD_AT_PLUS_A",
                diag_pivot_thresh=0.0,
                options={"SymmetricMode": True, "Equil": False},
            )
        except RuntimeError:  # a pivot was lost to rounding: exactly singular
            return None

    def solve(self, plus: Ints, minus: Ints) -> Volts:
        """Feed 1 A into ``plus[k]`` and out of ``minus[k]``, for every column k.

        Parameters
        ----------
        plus, minus : array of int, shape (columns,)
            Points.  In two islands each current returns at its island's reference.

        Notes
        -----
        Two triangular solutions a column where conductances are of like size, more
        where they are not.
        """
        columns = np.arange(len(plus))
        feed = np.zeros((self.count, len(plus)))
        np.add.at(feed, (plus, columns), 1.0)
        np.add.at(feed, (minus, columns), -1.0)
        feed[self.reference] = 0.0
        volts = Volts(np.zeros_like(feed), np.zeros_like(feed))
        if self._lu is None:
            left = columns[plus != minus]
        else:
            left = self._refined(feed, volts, columns)
        for column in left:
            self._eliminated(feed, volts, int(plus[column]), int(minus[column]), column)
        return volts

    def feed(self, amps: Floats) -> Volts:
        """Feed currents in amps into all points at once, shape (points,).

        For conductances of like size: what does not converge stays as it is.
        """
        feed = amps[:, None].copy()
        feed[self.reference] = 0.0
        volts = Volts(np.zeros_like(feed), np.zeros_like(feed))
        if self._lu is not None:
            self._refined(feed, volts, np.array([0]))
        return volts

    def _amps_left(self, feed: Floats, volts: Volts, columns: Ints) -> Floats:
        """Return what Kirchhoff's current law lacks at every point."""
        every = len(columns) == feed.shape[1]
        high = volts.high if every else volts.high[:, columns]
        low = volts.low if every else volts.low[:, columns]
        amps = self._incidence @ high
        if low.any():
            amps += self._incidence @ low
        amps *= self.siemens[:, None]
        lacking = (feed if every else feed[:, columns]) - self._transposed @ amps
        lacking[self.reference] = 0.0
        return np.asarray(lacking, dtype=np.float64)

    def _refined(self, feed: Floats, volts: Volts, columns: Ints) -> Ints:
        """Solve and refine; return the columns that did not converge."""
        assert self._lu is not None
        volts.high[self._kept] = _solved(self._lu, feed[self._kept])
        before = _largest(volts.high)
        failed = [columns[~np.isfinite(before)]]
        columns = columns[np.isfinite(before)]
        before = before[columns]
        for _ in range(_ROUNDS):
            if not len(columns):
                break
            lacking = self._amps_left(feed, volts, columns)
            more = np.zeros_like(lacking)
            more[self._kept] = _solved(self._lu, lacking[self._kept])
            step = _largest(more)
            good = np.isfinite(step) & ((step <= 0.5 * before) | (step == 0.0))
            size = _largest(volts.high[:, columns])
            good |= step <= 1e-15 * size
            volts.add(more[:, good], columns[good])
            failed.append(columns[~good])
            with np.errstate(divide="ignore", invalid="ignore"):
                shrink = np.where(before > 0.0, np.minimum(step / before, 1.0), 0.0)
            going = good & (
                (shrink * step > _VOLTS_LEFT * size)
                | (shrink * _largest(lacking) > _AMPS_LEFT)
            )
            columns, before = columns[going], step[going]
        return np.concatenate([*failed, columns])

    def _eliminated(
        self, feed: Floats, volts: Volts, plus: int, minus: int, column: int
    ) -> None:
        """Solve one column by elimination, each island that is fed on its own."""
        whole = self.island[plus] == self.island[minus]
        sides = [(plus, minus)] if whole else [(plus, -1), (minus, -1)]
        volts.high[:, column] = 0.0
        volts.low[:, column] = 0.0
        one = np.array([column])
        for point, last in sides:
            reference = int(self.reference[self.island[point]])
            last = reference if last < 0 else last
            if point == last:
                continue
            sign = 1.0 if point == plus else -1.0
            here = self.island[self.tail] == self.island[point]
            factor = eliminate(
                self.tail[here], self.head[here], self.siemens[here], last
            )
            amps = np.zeros((self.count, 1))
            amps[point] = sign
            found = Volts(factor.solve(amps), np.zeros((self.count, 1)))
            amps[last] = -sign
            self._polished(factor, amps, found, last)
            inside = self.island == self.island[point]
            shift_high, shift_low = found.high[reference], found.low[reference]
            found.add(np.where(inside[:, None], -shift_high, 0.0), np.array([0]))
            found.add(np.where(inside[:, None], -shift_low, 0.0), np.array([0]))
            volts.add(found.high, one)
            volts.add(found.low, one)

    def _polished(
        self, factor: Elimination, amps: Floats, found: Volts, last: int
    ) -> None:
        """Refine what elimination gave for as long as that makes it better.

        The volts are right to the last digits as they are: a step that would move
        them further is rounding.  What is won is what the second float holds.
        """
        before = 1e-12 * _largest(found.high)[0]
        for _ in range(_ROUNDS):
            drops = self._incidence @ found.high + self._incidence @ found.low
            lacking = amps - self._transposed @ (self.siemens[:, None] * drops)
            lacking[self.island != self.island[last]] = 0.0
            lacking[last] = 0.0
            more = factor.solve(lacking)
            step = _largest(more)[0]
            if not step <= 0.1 * before:
                break
            found.add(more, np.array([0]))
            before = step


def _solved(lu: SuperLU, feed: Floats) -> Floats:
    """Solve a few columns at a time: SuperLU slows down beyond what caches hold."""
    found = np.empty_like(feed)
    for start in range(0, feed.shape[1], _COLUMNS):
        some = slice(start, start + _COLUMNS)
        found[:, some] = lu.solve(np.asfortranarray(feed[:, some]))
    return found


def _heaviest(weight: Floats, island: Ints) -> Ints:
    """Return the point of largest conductance of every island."""
    if not len(island):
        return np.zeros(0, dtype=np.intp)
    order = np.lexsort((-weight, island))
    _, first = np.unique(island[order], return_index=True)
    return np.asarray(order[first], dtype=np.intp)


def _largest(values: Floats) -> Floats:
    if not values.size:
        return np.zeros(values.shape[1])
    return np.asarray(np.abs(values).max(axis=0), dtype=np.float64)
