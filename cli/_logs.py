"""Opening bench logs, the one under repair and that of a good board."""

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from ohmtrail.cli._errors import warn
from ohmtrail.cli._files import read_file

if TYPE_CHECKING:
    from ohmtrail.cli._load import Request
    from ohmtrail.netanalysis.board import Board
    from ohmtrail.netanalysis.circuit import Circuit
    from ohmtrail.netanalysis.diagnosis.log import Log
    from ohmtrail.netanalysis.network.evidence import Evidence
    from ohmtrail.netanalysis.network.solved_board import SolvedBoard

__all__ = [
    "load_evidence",
    "load_log",
    "noted",
    "solve_beside_logs",
    "warn_and_note",
]


def load_log(path: Path, board: "Board") -> "Log":
    """Read a bench log; what reads oddly in it is said on stderr.

    Raises
    ------
    ClickException
        If the file cannot be read.
    LogError
        As `read_log`.
    """
    from ohmtrail.netanalysis.diagnosis.log_text import (
        BYTES_MAX,
        decode_log,
        read_log,
    )

    data = read_file(path, BYTES_MAX + 1)
    log = read_log(decode_log(data, str(path)), board, str(path))
    for line, what in log.doubts:
        warn(f"{path}:{line}: {what}")
    return log


def load_evidence(
    request: "Request", circuit: "Circuit"
) -> "tuple[Circuit, Evidence | None]":
    """Return what the log given with ``--good`` says, None where none was given.

    What reads oddly or contradicts itself in it is said on stderr and counted in the
    board that comes back, so that it stands among the answer's warnings.
    """
    if request.good is None:
        return circuit, None
    return _evidence(request, circuit, None)


def solve_beside_logs(
    request: "Request", circuit: "Circuit", own: str | None
) -> "tuple[SolvedBoard, Evidence | None]":
    """Return the board solved, and what its own log and a good board's say of it.

    Parts that are off by its own log are off.  Warnings as `load_evidence`; the
    circuit that they are counted in is the solved board's.
    """
    from ohmtrail.netanalysis.network.solved_board import SolvedBoard

    if own is None and request.good is None:
        return SolvedBoard(circuit, meter=request.meter), None
    from ohmtrail.netanalysis.network.board_state import AS_DRAWN
    from ohmtrail.netanalysis.network.expect_good import narrowed_board
    from ohmtrail.netanalysis.network.own_log import state_now

    log = None
    if own is not None:
        log = load_log(Path(own), circuit.board)
        odd = [f"line {line}: {what}" for line, what in log.doubts]
        circuit = noted(circuit, Path(own), odd)
    state = AS_DRAWN if log is None else state_now(log)
    circuit, evidence = _evidence(request, circuit, log)
    board = SolvedBoard(circuit, state, request.meter)
    board, doubts = narrowed_board(board, evidence)
    if doubts:
        assert request.good is not None, "only a good board is doubted"
        board.circuit = warn_and_note(circuit, request.good, doubts)
    return board, evidence


def _evidence(
    request: "Request", circuit: "Circuit", own: "Log | None"
) -> "tuple[Circuit, Evidence]":
    from ohmtrail.netanalysis.network.evidence import gather

    path = request.good
    if path is None:
        return circuit, gather(circuit, own=own)
    log = load_log(path, circuit.board)
    evidence = gather(circuit, log, own)
    odd = [f"line {line}: {what}" for line, what in log.doubts]
    circuit = noted(circuit, path, odd)
    return warn_and_note(circuit, path, evidence.doubts), evidence


def warn_and_note(circuit: "Circuit", path: Path, texts: Iterable[str]) -> "Circuit":
    """Say warnings about a file on stderr, and count them as `noted` does."""
    texts = tuple(texts)
    for text in texts:
        warn(f"{path}: {text}")
    return noted(circuit, path, texts)


def noted(circuit: "Circuit", path: Path, texts: Iterable[str]) -> "Circuit":
    """Return the circuit with warnings about a file counted in its board."""
    from ohmtrail.netanalysis.board import Unused

    more = tuple(Unused(text, str(path)) for text in texts)
    if not more:
        return circuit
    board = replace(circuit.board, unused=(*circuit.board.unused, *more))
    return replace(circuit, board=board)
