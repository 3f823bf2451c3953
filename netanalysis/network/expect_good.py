"""An expected reading beside what a good board, or a sister stage, reads there.

A sister stage of the board under repair only ever takes the range in towards what the
circuit itself calls usual: it may be sick in a way that no range shows.
"""

from collections.abc import Iterable
from dataclasses import replace

from ohmtrail.netanalysis.network.evidence import Evidence, Known
from ohmtrail.netanalysis.network.expect import expect
from ohmtrail.netanalysis.network.expectation import Expectation
from ohmtrail.netanalysis.network.narrow import narrow
from ohmtrail.netanalysis.network.own_loads import with_own_loads
from ohmtrail.netanalysis.network.solved_board import SolvedBoard
from ohmtrail.netanalysis.probe_points import find_part, find_point

__all__ = ["beside_good_board", "expect_beside", "narrowed_board"]


def narrowed_board(
    board: SolvedBoard, evidence: Evidence
) -> tuple[SolvedBoard, tuple[str, ...]]:
    """Return the board with assumed paths narrowed, and what could not be.

    Parameters
    ----------
    board : SolvedBoard
        A healthy board, parts off as its state says.
    evidence : Evidence
        Readings of a good board, and of this one; those with other parts off do not
        count.
    """
    narrowed = narrow(board.network, evidence, board.state.lifted)
    network = with_own_loads(narrowed.network, evidence, board.state.lifted)
    if network is board.network:
        return board, narrowed.doubts
    solved = SolvedBoard(
        board.circuit,
        board.state,
        board.meter,
        scene=board.scene,
        network=network,
    )
    return solved, narrowed.doubts


def expect_beside(
    board: SolvedBoard,
    evidence: Evidence,
    mode: str,
    plus: str,
    minus: str,
    lifted: Iterable[str] = (),
) -> Expectation:
    """Return what the meter should read, as `expect`, readings taken into account.

    Parameters
    ----------
    board : SolvedBoard
        From `narrowed_board`.
    evidence : Evidence
        What readings say of the pair itself.
    mode, plus, minus, lifted
        As `expect` takes and refuses them.
    """
    on = board.circuit.board
    red, black = find_point(on, plus), find_point(on, minus)
    more = frozenset(find_part(on, ref).ref for ref in lifted)
    expected = expect(board, mode, red, black, lifted=more)
    if red.net is None or black.net is None:
        return expected
    off = board.state.lifted | more
    return beside_good_board(expected, evidence, red.net, black.net, off)


def beside_good_board(
    expected: Expectation,
    evidence: Evidence,
    plus: str,
    minus: str,
    off: frozenset[str] = frozenset(),
) -> Expectation:
    """Return the expectation with a reading of that very pair taken into account.

    Parameters
    ----------
    expected : Expectation
        What the circuit says.
    evidence : Evidence
        What readings say.
    plus, minus : str
        Nets under the leads.
    off : frozenset of str
        Parts off the board.

    Returns
    -------
    Expectation
        What both ranges have in common, the readings first among the sources; the
        readings alone where the circuit knows no way between the two.  Where
        they have nothing in common the range holds both and a note says so: one of
        the two is wrong, and nobody can tell which.
    """
    low, high = expected.low, expected.high
    honest = (low, high) if low is not None and high is not None else None
    known = evidence.known(expected.mode, plus, minus, off, honest)
    if known is None:
        return expected
    if known.own:
        return _beside_sister(expected, known)
    if low is None or high is None or not expected.because:
        return _taken(expected, known, known.source)
    common = known.within(low, high)
    if common is not None:
        return _taken(expected, common, f"{known.source}; {expected.source}")
    joined = replace(known, low=min(low, known.low), high=max(high, known.high))
    note = f"{known.source} does not fit what the circuit says: another model, or sick"
    found = _taken(expected, joined, f"{known.source}; {expected.source}")
    return replace(found, notes=(*found.notes, note))


def _beside_sister(expected: Expectation, known: Known) -> Expectation:
    """Return the expectation taken in, what is usual always within."""
    low, typical, high = expected.low, expected.typical, expected.high
    if low is None or typical is None or high is None:
        return expected
    low = max(low, min(known.low, typical))
    high = min(high, max(known.high, typical))
    if (low, high) == (expected.low, expected.high):
        return expected
    source = f"{known.source}; {expected.source}"
    return replace(expected, low=low, high=high, source=source.removesuffix("; "))


def _taken(expected: Expectation, known: Known, source: str) -> Expectation:
    return replace(
        expected,
        low=known.low,
        typical=known.typical,
        high=known.high,
        source=source.removesuffix("; "),
    )
