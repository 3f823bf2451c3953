"""The least co-content: where the currents of resistances and junctions balance.

The voltages of a circuit of two-terminal elements whose current rises with the
voltage are the minimum of the sum of co-contents (integrals of amps over volts) less
source current times source volts (Millar 1951; Duffin 1947).  Every term is convex,
so the minimum is one, and Newton's steps with backtracking reach it from anywhere.
The meter's open voltage is a bound on one unknown; each step is the exact minimum of
the quadratic model under that bound, so that nothing leaks below it.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ohmtrail.netanalysis.network.junction_law import Law
from ohmtrail.netanalysis.network.junction_parts import Reach

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["Balance", "Circuit"]

_MOST_STEPS = 500
_DENSE = 120
#: The reading is wanted to this fraction, the energy of what is left over to that.
_VOLTS_LEFT = 1e-11
_ENERGY_LEFT = 1e-16
#: Error of a difference of co-contents, as a fraction of what it is made of.
_ROUNDING = 1e-13
#: Added to a diagonal of ones, so that a piece that hangs on sleeping junctions only
#: does not look singular; it shapes steps, never answers.
_RIDGE = 1e-14


@dataclass(frozen=True, slots=True)
class Balance:
    """The minimum."""

    #: All unknowns of the `Reach`, in volts.
    unknowns: "Floats"
    #: Current of each kept element, resistances first, in amps.
    amps: "Floats"
    #: True where the source stands at its open voltage and gives less than it could.
    limited: bool
    steps: int


class _Matrix:
    """Conductances of all elements to the sparse or dense matrix of unknowns."""

    def __init__(self, reach: Reach, edges: int) -> None:
        from scipy.sparse import csr_array

        n = reach.unknowns
        self.n = n
        self._incidence = csr_array(
            (reach.sign, (reach.row, reach.column)), shape=(edges, n)
        )
        self._transposed = self._incidence.T.tocsr()
        count = np.diff(self._incidence.indptr)
        start = self._incidence.indptr[:-1]
        pairs_row, pairs_column, pairs_sign, pairs_edge = [], [], [], []
        for i in range(4):
            for j in range(4):
                some = np.flatnonzero((count > i) & (count > j))
                p, q = start[some] + i, start[some] + j
                pairs_row.append(self._incidence.indices[p].astype(np.int64))
                pairs_column.append(self._incidence.indices[q].astype(np.int64))
                pairs_sign.append(self._incidence.data[p] * self._incidence.data[q])
                pairs_edge.append(some)
        row, column = np.concatenate(pairs_row), np.concatenate(pairs_column)
        keys, self._slot = np.unique(column * n + row, return_inverse=True)
        self._sign = np.concatenate(pairs_sign)
        self._edge = np.concatenate(pairs_edge)
        self._column, self._row = np.divmod(keys, n)
        self._diagonal = np.flatnonzero(self._row == self._column)
        self._inner = (self._row < n - 1) & (self._column < n - 1)
        self._to_last = (self._row < n - 1) & (self._column == n - 1)
        self._indptr = np.concatenate(
            ([0], np.cumsum(np.bincount(self._column[self._inner], minlength=n - 1)))
        )

    def across(self, unknowns: "Floats") -> "Floats":
        """Return the volts across each element."""
        volts: Floats = self._incidence @ unknowns  # type: ignore[assignment]
        return volts

    def gathered(self, flow: "Floats") -> "Floats":
        """Return what the currents of all elements add up to at each unknown."""
        amps: Floats = self._transposed @ flow  # type: ignore[assignment]
        return amps

    def factor(self, siemens: "Floats") -> "tuple[Callable[[Floats], Floats], Floats]":
        """Return a solver of the matrix without its last unknown, and that column."""
        data: Floats = np.asarray(
            np.bincount(
                self._slot, self._sign * siemens[self._edge], minlength=len(self._row)
            ),
            float,
        )
        scale = np.ones(self.n)
        diagonal = data[self._diagonal]
        scale[self._row[self._diagonal]] = 1.0 / np.sqrt(np.maximum(diagonal, 1e-300))
        data = data * scale[self._row] * scale[self._column]
        data[self._diagonal] = data[self._diagonal] + _RIDGE
        m = self.n - 1
        scale, last = scale[:m], scale[m]
        column = np.zeros(m)
        column[self._row[self._to_last]] = data[self._to_last] / last
        solve = self._solver(data[self._inner], m)
        scale = scale[:, None]
        return (lambda right: scale * solve(scale * right)), column / scale[:, 0]

    def _solver(self, data: "Floats", m: int) -> "Callable[[Floats], Floats]":
        if m <= _DENSE:
            from scipy.linalg import cho_factor, cho_solve

            dense = np.zeros((m, m))
            dense[self._row[self._inner], self._column[self._inner]] = data
            while True:
                try:
                    factors = cho_factor(dense, check_finite=False)
                    return lambda right: cho_solve(factors, right, check_finite=False)
                except np.linalg.LinAlgError:
                    dense[np.arange(m), np.arange(m)] += 10 * _RIDGE
        from scipy.sparse import csc_array
        from scipy.sparse.linalg import splu

        matrix = csc_array((data, self._row[self._inner], self._indptr), shape=(m, m))
        lu = splu(
            matrix,
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
        return lambda right: lu.solve(right)


class Circuit:
    """What a pair of probes reaches, ready for any source.

    Parameters
    ----------
    reach : Reach
        Elements and unknowns.
    siemens : (r,) array
        Of the kept resistances.
    law : Law
        Of the j kept junctions; its cap does not matter.
    """

    def __init__(self, reach: Reach, siemens: "Floats", law: Law) -> None:
        self._siemens = siemens
        self._law = law
        self._matrix = _Matrix(reach, len(siemens) + len(law.slope))

    def balance(self, amps: float, open_volts: float) -> Balance:
        """Find the voltages at which all currents balance.

        Parameters
        ----------
        amps, open_volts : float
            The source into the last unknown, and the bound on that unknown.

        Notes
        -----
        Some ten factorisations of a sparse matrix of `Reach.unknowns` rows; the
        number of steps hardly depends on the size.

        References
        ----------
        W. Millar, "Some general theorems for non-linear systems possessing
        resistance", Phil. Mag. 42 (1951) 1150-1160.
        """
        matrix, siemens = self._matrix, self._siemens
        # No element carries more than the source.
        law = self._law.with_cap(2.0 * amps)
        r = len(siemens)

        def state(x: "Floats") -> "tuple[Floats, Floats, Floats]":
            volts = matrix.across(x)
            bent, tangent = law.at(volts[r:])
            flow = np.concatenate((siemens * volts[:r], bent))
            return volts, flow, np.concatenate((siemens, tangent))

        # Below any current that counts; it shapes steps, never answers.
        least = 1e-12 * amps / open_volts
        x = np.zeros(matrix.n)
        volts, flow, slope = state(x)
        # The first step takes chords of the laws: tangents at 0 see no junction.
        slope[r:] = amps / np.maximum(law.volts_cap, 1e-3)
        for step in range(1, _MOST_STEPS + 1):
            gradient = matrix.gathered(flow)
            gradient[-1] -= amps
            slope[r:] = np.maximum(slope[r:], least)
            move, limited = _move(matrix, slope, gradient, open_volts - x[-1])
            energy = -_dot(gradient, move)
            scale = abs(float(x[-1] + move[-1]))
            done = (
                abs(move[-1]) <= _VOLTS_LEFT * scale
                and energy <= _ENERGY_LEFT * amps * scale
            )
            across = matrix.across(move)
            low, fraction, high = 0.0, 1.0, 1.0
            while True:
                x_new = x + fraction * move
                if limited and fraction == 1.0:
                    x_new[-1] = open_volts
                volts_new, flow_new, slope = state(x_new)
                gain = 0.5 * fraction * _dot(flow[:r] + flow_new[:r], across[:r])
                gain += law.content_change(
                    volts[r:], flow[r:], volts_new[r:], flow_new[r:]
                )
                gain -= amps * float(x_new[-1] - x[-1])
                # The content's slope along the step; it rises from -energy.
                ahead = _dot(flow_new, across) - amps * float(move[-1])
                level = abs(ahead) < 0.5 * energy
                # Where the slope says so, a gain that rounding hides is enough.
                wanted = -1e-4 * fraction * energy
                noise = _ROUNDING * (
                    amps * scale
                    + _dot(law.slope, np.abs(flow_new[r:]))
                    + _dot(law.amps_is, np.abs(volts_new[r:]))
                )
                enough = gain <= wanted + (noise if level else 0.0)
                done = done and gain <= noise
                if done or (enough and (fraction == high or level)):
                    break
                if enough and ahead < 0.0:
                    low = fraction
                else:
                    high = fraction
                fraction = 0.5 * (low + high)
                if high - low < 1e-15 * high or high < 1e-18:
                    # Only rounding is left to gain.
                    done, x_new, volts_new, flow_new = True, x, volts, flow
                    break
            x, volts, flow = x_new, volts_new, flow_new
            if done:
                return Balance(x, flow, limited, step)
        raise ArithmeticError(f"no balance of currents after {_MOST_STEPS} steps")


def _move(
    matrix: _Matrix, slope: "Floats", gradient: "Floats", room: float
) -> "tuple[Floats, bool]":
    """Return the step to the quadratic model's minimum with its last entry <= room."""
    n = matrix.n
    shape = np.ones(n)
    rest = np.zeros(n)
    if n > 1:
        solve, column = matrix.factor(slope)
        both = solve(np.column_stack((-column, -gradient[:-1])))
        shape[:-1], rest[:-1] = both[:, 0], both[:, 1]
    # Siemens seen by the source, as a sum of squares: nothing cancels.
    seen = _dot(slope, matrix.across(shape) ** 2)
    pull = -_dot(shape, gradient)
    limited = bool(pull > seen * room)
    last = room if limited else pull / seen
    return rest + last * shape, limited


def _dot(a: "Floats", b: "Floats") -> float:
    """Sum products in pairs: exacter than BLAS, and free of its threads."""
    return float((a * b).sum())
