"""What every reading shows under every hypothesis: one factorisation for states alike.

A log of a long repair has dozens of board states, and most of them are the same to
most hypotheses: a lifted capacitor changes nothing for those that hold another part
guilty.  Each hypothesis is therefore solved once for all states in which the same of
its paths are there, and not at all where none of them is (a part in the hand).
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ohmtrail.netanalysis.diagnosis.copper import SHEET_SPREAD
from ohmtrail.netanalysis.diagnosis.problem import (
    NO_PATHS,
    Batch,
    Problem,
    alike,
    conductances,
    path_columns,
    rows_of,
)

__all__ = ["Predicted", "Predictor", "predicted", "relevant", "spread"]

Floats = NDArray[np.float64]
Places = NDArray[np.intp]

#: Kinds of hypotheses that are looked at at once: memory grows with them.
_KINDS = 64


@dataclass(frozen=True, slots=True)
class _Look:
    """Hypotheses that share a board state, and the readings that it serves."""

    state: int
    #: Which hypotheses, shape (R,), and which readings, shape (P,).
    rows: Places
    readings: Places
    #: Which of these readings each hypothesis has from this state, shape (R, P).
    mine: NDArray[np.bool_]
    #: Where each reading's pair and that of its current stand in ``kub``.
    pair: Places
    drive: Places
    #: Which of these readings have copper, and their places among all that have.
    told: Places
    place: Places
    #: Couplings of the changing paths to one another (R, N, N) and to pairs (R, N, B).
    kuu: Floats
    kub: Floats
    #: What the fixed board shows, shape (P,).
    own: Floats

    def of(self, some: NDArray[np.bool_], rows: Places) -> "_Look":
        """Return the same for some of the hypotheses, under their new places."""
        return _Look(
            self.state,
            rows,
            self.readings,
            self.mine[some],
            self.pair,
            self.drive,
            self.told,
            self.place,
            self.kuu[some],
            self.kub[some],
            self.own,
        )


@dataclass(frozen=True, slots=True)
class Predicted:
    """Readings of a batch of hypotheses, shape (H, P) each but the slope."""

    #: What the board shows with the leads, times the meter's gain.
    ohms: Floats
    #: With contacts and copper on top: what is read.
    total: Floats
    #: Spread of the copper, in ohms.
    copper_sd: Floats
    #: Derivative of the total by each log unknown, shape (H, P, M + F).
    slope: Floats


@dataclass(frozen=True, slots=True)
class _Into:
    """What is filled in state by state, shape (H, P) or (H, P, M + F)."""

    ohms: Floats
    slope: Floats
    #: How much of the current goes through the faults, and its derivative, of those
    #: readings alone that have copper, shape (H, T) and (H, T, M + F).
    share: Floats
    turn: Floats


class Predictor:
    """Readings under a batch of hypotheses; couplings are gathered once.

    Parameters
    ----------
    problem : Problem
    batch : Batch

    Notes
    -----
    O(H N^3) for each distinct set of paths that a hypothesis has over the states,
    with N paths; memory O(H N^2).
    """

    def __init__(self, problem: Problem, batch: Batch) -> None:
        self.problem, self.batch = problem, batch
        self._alone = problem.q[problem.column, problem.drive]
        self._alike = _alike(problem)
        apart = (batch.copper != batch.load_copper).any((0, 2))
        self._told = np.flatnonzero(apart)
        self._looks = tuple(_looks(problem, batch, self._told))

    def of(self, batch: Batch, rows: Places) -> "Predictor":
        """Return the predictor of some hypotheses, ``batch`` being those rows."""
        made = object.__new__(Predictor)
        made.problem, made.batch, made._alone = self.problem, batch, self._alone
        made._alike, made._told = self._alike, self._told
        place = np.full(len(self.batch.path), -1, np.intp)
        place[rows] = np.arange(len(rows))
        looks = []
        for look in self._looks:
            at = place[look.rows]
            some = at >= 0
            if some.any():
                looks.append(look.of(some, at[some]))
        made._looks = tuple(looks)
        return made

    def readings(self, common: Floats, fault: Floats) -> Predicted:
        """Return what every reading shows, and what sets it.

        Parameters
        ----------
        common : ndarray, shape (H, M)
            Log resistances of what every hypothesis has.
        fault : ndarray, shape (H, F)
            Log resistances of the faults.
        """
        problem, batch = self.problem, self.batch
        count, size = batch.path.shape[0], len(problem.column)
        m, f = common.shape[1], fault.shape[1]
        ohms = np.empty((count, size))
        ohms[:] = self._alone
        told = self._told
        slope = np.zeros((count, size, m + f))
        share = np.zeros((count, len(told)))
        turn = np.zeros((count, len(told), m + f))
        into = _Into(ohms, slope, share, turn)
        for look in self._looks:
            _predict(look, problem, batch, common, fault, into)
        ohms = np.maximum(ohms, 1e-7)
        amps, pads, scale, gain, lead = np.exp(common[:, -NO_PATHS:].T)[:, :, None]
        # How much of the current goes through the faults: copper counts by it.
        apart = batch.copper[:, told] - batch.load_copper[:, told]
        copper = batch.load_copper.copy()
        copper[:, told] += share[:, :, None] * apart
        more = pads * apart[:, :, 0] + scale * apart[:, :, 1]
        leads = lead * problem.leads
        slope[:, :, m - 1] += leads
        # More current than was written down is more of a drop.
        gain = gain * np.where(problem.driven > 0, amps, 1.0)
        ohms = (ohms + leads) * gain
        slope *= gain[:, :, None]
        slope[:, told] += more[:, :, None] * turn
        slope[:, :, m - 2] += ohms
        sheet = scale * copper[:, :, 1]
        slope[:, :, m - 3] += sheet
        hang = pads * copper[:, :, 0]
        slope[:, :, m - 4] += hang
        slope[:, :, m - 5] += ohms * problem.driven
        total = ohms + problem.bias + hang + sheet
        # What all ways to the culprit share is the same for all readings.
        off = SHEET_SPREAD * (sheet - sheet @ self._alike)
        return Predicted(ohms, total, np.hypot(copper[:, :, 2], off), slope)


def _alike(problem: Problem) -> Floats:
    """Return the matrix that takes the mean over readings of the same nets, (P, P)."""
    same = problem.column[:, None] == problem.column
    same &= problem.leads[:, None] == problem.leads
    mean: Floats = same / same.sum(0)
    return mean


def _looks(problem: Problem, batch: Batch, told: Places) -> list[_Look]:
    """Return the distinct factorisations that all readings need."""
    count = len(batch.path)
    present = np.concatenate((batch.common_there[:, :, :-NO_PATHS], batch.there), 2)
    used = np.unique(problem.state)
    # Which state serves each state of each hypothesis; -1 where no path is there.
    served = np.full((count, problem.states), -1, np.intp)
    for i, state in enumerate(used):
        mine = present[:, state]
        served[mine.any(1), state] = state
        for earlier in used[:i]:
            same = (served[:, earlier] == earlier) & (served[:, state] == state)
            if same.any():
                same &= (present[:, earlier] == mine).all(1)
                served[same, state] = earlier
    index = path_columns(problem, batch)
    made = []
    for state in used:
        mine = served[:, problem.state] == state
        rows = np.flatnonzero(mine.any(1))
        if not len(rows):
            continue
        readings = np.flatnonzero(mine.any(0))
        column, drive = problem.column[readings], problem.drive[readings]
        pairs, at = np.unique(np.concatenate((column, drive)), return_inverse=True)
        some = index[rows]
        made.append(
            _Look(
                int(state),
                rows,
                readings,
                mine[np.ix_(rows, readings)],
                at[: len(readings)],
                at[len(readings) :],
                np.flatnonzero(np.isin(readings, told)),
                np.flatnonzero(np.isin(told, readings)),
                problem.q[some[:, :, None], some[:, None, :]],
                problem.q[some[:, :, None], pairs[None, None, :]],
                problem.q[column, drive],
            )
        )
    return made


def _predict(
    look: _Look,
    problem: Problem,
    batch: Batch,
    common: Floats,
    fault: Floats,
    out: _Into,
) -> None:
    """Write what one state's readings show."""
    rows = look.rows
    g, change = conductances(problem, batch, common, fault, look.state, rows)
    matrix = look.kuu * change[:, None, :]
    diagonal = np.arange(g.shape[1])
    matrix[:, diagonal, diagonal] += 1.0
    paths = common.shape[1] - NO_PATHS
    size = look.kub.shape[2]
    beside = [look.kub]
    if len(look.told):
        # The faults' own columns beside those of the readings: how currents shift.
        beside.append(look.kuu[:, :, paths:])
    solved = np.linalg.solve(matrix, np.concatenate(beside, 2))
    volts, shift = solved[:, :, :size], solved[:, :, size:]
    positive = np.maximum(g, 0.0)[:, :, None]
    into = look.kub * change[:, :, None]
    if np.array_equal(look.pair, look.drive):
        # What is read often at one place is worked out once.
        less = (into * volts).sum(1)[:, look.pair]
        each = (positive * volts * volts).transpose(0, 2, 1)[:, look.pair]
    else:
        pair, driven = volts[:, :, look.pair], volts[:, :, look.drive]
        less = (into[:, :, look.pair] * driven).sum(1)
        each = (positive * pair * driven).transpose(0, 2, 1)
    unknown = common.shape[1] + batch.unknown[rows]
    slope = np.zeros((len(rows), len(look.readings), out.slope.shape[2]))
    _spread_out(slope, each, paths, unknown)
    _write(out.ohms, look.own - less, look)
    _write(out.slope, slope, look)
    if not len(look.told):
        return
    drive = look.drive[look.told]
    through = (positive[:, paths:] * volts[:, paths:])[:, :, drive]
    # A path that takes more leaves less to the faults: d(g v) = -g v + g Z g v.
    signed = np.sign(through) * positive[:, paths:]
    turns = np.matmul(shift, signed)
    turns *= positive * volts[:, :, drive]
    through = np.abs(through)
    turns[:, paths:] -= through
    share = through.sum(1)
    turns *= share[:, None] < 1.0
    turn = np.zeros((len(rows), len(drive), out.turn.shape[2]))
    _spread_out(turn, turns.transpose(0, 2, 1), paths, unknown)
    _write(out.share, np.minimum(share, 1.0), look, look.told, look.place)
    _write(out.turn, turn, look, look.told, look.place)


def _write(
    whole: Floats,
    new: Floats,
    look: _Look,
    told: Places | None = None,
    place: Places | None = None,
) -> None:
    """Write what a state shows where its hypotheses have their readings from it.

    ``told`` are those of its readings that ``whole`` has, at ``place``.
    """
    where = np.ix_(look.rows, look.readings if place is None else place)
    mine = look.mine if told is None else look.mine[:, told]
    if not mine.all():
        wide = mine if new.ndim == 2 else mine[:, :, None]
        new = np.where(wide, new, whole[where])
    whole[where] = new


def _spread_out(slope: Floats, each: Floats, paths: int, unknown: Places) -> None:
    """Write derivatives by path into those by unknown; several paths may share one."""
    slope[:, :, :paths] = each[:, :, :paths]
    every = np.arange(len(slope))
    for c in range(unknown.shape[1]):
        slope[every, :, unknown[:, c]] += each[:, :, paths + c]


def predicted(
    problem: Problem, batch: Batch, common: Floats, fault: Floats
) -> Predicted:
    """Return what every reading shows under every hypothesis, see `Predictor`."""
    return Predictor(problem, batch).readings(common, fault)


def relevant(
    problem: Problem, batch: Batch, least: float = 0.02
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Return which common unknowns, and which hypotheses, move any reading.

    Parameters
    ----------
    problem : Problem
    batch : Batch
        The first row is the healthy board.
    least : float
        The smallest change of a log reading that counts: for an unknown that
        doubles, or between a hypothesis and the healthy board.

    Returns
    -------
    common : ndarray of bool, shape (M,)
    telling : ndarray of bool, shape (H,)
        Looked at with the faults at the low end and the middle of their ranges.
    """
    # What is asked here does not depend on the copper.
    first, kind = alike(batch)
    m = len(problem.common)
    most = np.zeros(m)
    telling = np.zeros(len(first), bool)
    # Under each weight, what a healthy board shows.
    healthy: dict[float, Floats] = {}
    for start in range(0, len(first), _KINDS):
        some = slice(start, start + _KINDS)
        kinds = rows_of(batch, first[some])
        none = np.zeros_like(kinds.copper)
        predictor = Predictor(problem, replace(kinds, copper=none, load_copper=none))
        common = np.broadcast_to(problem.common_log, (len(kinds.path), m))
        for weight in (0.0, 0.5):
            fault = kinds.low + weight * (kinds.high - kinds.low)
            found = predictor.readings(common, fault)
            total = found.ohms + problem.bias
            share = np.abs(found.slope[:, :, :m]) / total[:, :, None]
            if share.size:
                most = np.maximum(most, share.max((0, 1)))
                change = np.log(total / healthy.setdefault(weight, total[0]))
                telling[some] |= np.abs(change).max(1) > least
    telling = telling[kind]
    telling |= (batch.copper != batch.load_copper).any((1, 2))
    telling[0] = True
    used: NDArray[np.bool_] = most > least
    used[-NO_PATHS:] = True
    return used, telling


def spread(problem: Problem, found: Predicted, least: Floats | float = 0.0) -> Floats:
    """Return the standard deviation of each log reading under each hypothesis.

    ``least`` is what was read: the last digit of "47k" is nothing beside it, though
    it is much beside what a hypothesis of a short expects.
    """
    total = found.total
    open_part = problem.doubt * np.minimum(1.0, found.ohms / problem.healthy)
    # A test voltage of some hundred millivolts wakes junctions above some ohms.
    waking = 0.4 * np.clip(np.log10(total / 300.0), 0.0, 1.0)
    absolute = (problem.bias_sd**2 + found.copper_sd**2) / np.maximum(total, least) ** 2
    spread = problem.meter_sd**2 + open_part**2 + waking**2 + absolute
    return np.asarray(np.sqrt(spread), float)
