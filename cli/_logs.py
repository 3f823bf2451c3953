"""Opening bench logs, the one under repair and that of a good board."""

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

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
    "load_log_beside",
    "log_path",
    "looks_shared",
    "noted",
    "solve_beside_logs",
    "warn_and_note",
]


def load_log(path: Path, board: "Board") -> "Log":
    """Read a bench log, or that of a shared case; what reads oddly goes to stderr.

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
    if looks_shared(data):
        from ohmtrail.importers.shared_case._read import read_case

        text = read_case(path).log
    else:
        text = decode_log(data, str(path))
    log = read_log(text, board, str(path))
    for line, what in log.doubts:
        warn(f"{path}:{line}: {what}")
    return log


def load_log_beside(path: Path, circuit: "Circuit") -> "tuple[Circuit, Log]":
    """Read a bench log; what reads oddly is counted in the circuit that comes back."""
    log = load_log(path, circuit.board)
    return noted(circuit, path, [f"line {at}: {what}" for at, what in log.doubts]), log


def looks_shared(data: bytes) -> bool:
    """Say whether the first bytes of a file are those of a shared case."""
    if data[:2] not in (b"\x1f\x8b", b"oh"):
        return False
    from ohmtrail.importers.shared_case._read import is_case

    return is_case(data)


def log_path(request: "Request", log: str | None) -> Path:
    """Return the log that is meant: a shared case holds its own.

    Raises
    ------
    click.UsageError
        If none is given and the board is no shared case.
    """
    if log is not None:
        return Path(log)
    if looks_shared(read_file(request.path, 4096)):
        return request.path
    raise click.UsageError("missing option '--log'")


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
        circuit, log = load_log_beside(Path(own), circuit)
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
    circuit, log = load_log_beside(path, circuit)
    evidence = gather(circuit, log, own)
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
