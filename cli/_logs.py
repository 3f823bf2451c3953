"""Opening bench logs, the one under repair and that of a good board."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ohmtrail.cli._errors import warn

if TYPE_CHECKING:
    from ohmtrail.cli._load import Request
    from ohmtrail.netanalysis.board import Board
    from ohmtrail.netanalysis.circuit import Circuit
    from ohmtrail.netanalysis.diagnosis.log import Log
    from ohmtrail.netanalysis.network.evidence import Evidence

__all__ = ["load_evidence", "load_log"]


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

    try:
        with path.open("rb") as file:
            data = file.read(BYTES_MAX + 1)
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise click.ClickException(f"{path}: {reason}") from error
    log = read_log(decode_log(data, str(path)), board, str(path))
    for line, what in log.doubts:
        warn(f"{path}:{line}: {what}")
    return log


def load_evidence(request: "Request", circuit: "Circuit") -> "Evidence | None":
    """Return what the log given with ``--good`` says, None where none was given.

    What contradicts itself in it is said on stderr and stands in its ``doubts``.
    """
    if request.good is None:
        return None
    from ohmtrail.netanalysis.network.evidence import gather

    evidence = gather(circuit, load_log(request.good, circuit.board))
    for doubt in evidence.doubts:
        warn(f"{request.good}: {doubt}")
    return evidence
