"""How strongly every two pairs of nodes are coupled: one factorisation, many faults.

With the columns ``a_i = e_plus - e_minus`` of all pairs that can matter (readings,
loads, links, fault paths) side by side in A and the conductance matrix G of what
never changes, ``Q = A^T G^-1 A`` holds all that any combination of added or removed
paths needs: each is a low-rank change of Q (Woodbury), and the board itself is
never solved again.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.network.elements import Resistance

__all__ = ["Coupling"]

#: What ties an island to the reference, in siemens: far above any reading that
#: tells of a fault, and small enough that differences keep their digits.
_TIE_SIEMENS = 1e-6
#: A part marked 0 ohms has this much, in ohms.
_LEAST_OHMS = 1e-4
_BLOCK = 256
#: Up to so many nodes the matrix is held whole.
_DENSE_MAX = 1000


class Coupling:
    """The fixed part of a board, solved for every pair of interest.

    Parameters
    ----------
    nodes : iterable of str
        Every node that anything names.
    fixed : iterable of Resistance
        The paths that stay as they are, at their typical resistance.
    pairs : sequence of (str, str)
        Red and black node of each column.

    Attributes
    ----------
    q : ndarray, shape (pairs, pairs)
        Transfer resistances in ohms: the voltage across pair i for 1 A through
        pair j.

    Notes
    -----
    One sparse factorisation and one solve a pair.
    """

    def __init__(
        self,
        nodes: Iterable[str],
        fixed: Iterable[Resistance],
        pairs: Sequence[tuple[str, str]],
    ) -> None:
        self._node = {name: i for i, name in enumerate(dict.fromkeys(nodes))}
        paths = [one for one in fixed if np.isfinite(one.ohms)]
        size = len(self._node)
        a = np.fromiter((self._node[one.a] for one in paths), np.intp, len(paths))
        b = np.fromiter((self._node[one.b] for one in paths), np.intp, len(paths))
        g = 1.0 / np.fromiter(
            (max(one.ohms, _LEAST_OHMS) for one in paths), float, len(paths)
        )
        self._paths = paths
        self._a, self._b, self._g = a, b, g
        self._solve = _solver(size, a, b, g)
        plus = np.array([self._node[one] for one, _ in pairs], np.intp)
        minus = np.array([self._node[one] for _, one in pairs], np.intp)
        count = len(pairs)
        self.x = np.empty((size, count))
        for start in range(0, count, _BLOCK):
            stop = min(count, start + _BLOCK)
            columns = np.arange(stop - start)
            block = np.zeros((size, stop - start))
            block[plus[start:stop], columns] += 1.0
            block[minus[start:stop], columns] -= 1.0
            self.x[:, start:stop] = self._solve(block)
        self.q: NDArray[np.float64] = self.x[plus]
        self.q -= self.x[minus]

    def doubt(
        self, x: NDArray[np.float64], ohms: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Return how far assumed paths leave each reading open.

        Parameters
        ----------
        x : ndarray, shape (nodes, n)
            Node voltages for 1 A through each pair, with all that is added.
        ohms : ndarray, shape (n,)
            The resistance between each pair: the power that all paths take together,
            the added ones too.

        Returns
        -------
        ndarray, shape (n,)
            Standard deviation of the resistance's natural logarithm.
        """
        loose, spread = self._loose
        if not len(loose):
            return np.zeros(len(ohms))
        drop = x[self._a[loose]] - x[self._b[loose]]
        # Power that a path takes of a 1 A source is its share of the resistance.
        part = self._g[loose][:, None] * drop**2 / np.maximum(ohms, 1e-12)
        doubt: NDArray[np.float64] = np.sqrt(((part * spread[:, None]) ** 2).sum(0))
        return doubt

    @cached_property
    def _loose(self) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
        """The paths whose resistance is not certain, and how uncertain it is."""
        spread = np.fromiter(map(_spread, self._paths), float, len(self._paths))
        loose = np.flatnonzero(spread > 0.0)
        return loose, spread[loose]


def _spread(path: Resistance) -> float:
    """Return the standard deviation of a path's log resistance, from its range."""
    low = max(path.ohms_low, _LEAST_OHMS)
    high = path.ohms_high if math.isfinite(path.ohms_high) else max(30 * path.ohms, low)
    return math.log(max(high, low) / low) / 3.46


def _solver(
    size: int,
    a: NDArray[np.intp],
    b: NDArray[np.intp],
    g: NDArray[np.float64],
) -> Callable[[NDArray[np.float64]], NDArray[np.float64]]:
    """Return what solves the conductance matrix for columns of currents.

    Small boards are solved dense: importing the sparse solver takes longer than that.
    """
    first = _firsts(size, a, b)
    if size <= _DENSE_MAX:
        matrix = np.zeros((size, size))
        np.add.at(matrix, (a, a), g)
        np.add.at(matrix, (b, b), g)
        np.add.at(matrix, (a, b), -g)
        np.add.at(matrix, (b, a), -g)
        matrix[first, first] += _TIE_SIEMENS
        inverse = np.linalg.inv(matrix)

        def dense(block: NDArray[np.float64]) -> NDArray[np.float64]:
            x = inverse @ block
            return np.asarray(x + inverse @ (block - matrix @ x), float)

        return dense
    from scipy.sparse import coo_array, csc_array
    from scipy.sparse.linalg import splu

    rows = np.concatenate((a, b, a, b, first))
    columns = np.concatenate((a, b, b, a, first))
    values = np.concatenate((g, g, -g, -g, np.full(len(first), _TIE_SIEMENS)))
    factor = splu(
        csc_array(coo_array((values, (rows, columns)), shape=(size, size))),
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )

    def sparse(block: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(factor.solve(block), float)

    return sparse


def _firsts(size: int, a: NDArray[np.intp], b: NDArray[np.intp]) -> NDArray[np.intp]:
    """Return the first node of every island."""
    head = list(range(size))

    def find(node: int) -> int:
        while head[node] != node:
            head[node] = head[head[node]]
            node = head[node]
        return node

    for one, other in zip(a.tolist(), b.tolist(), strict=True):
        low, high = sorted((find(one), find(other)))
        head[high] = low
    return np.array([node for node in range(size) if find(node) == node], np.intp)
