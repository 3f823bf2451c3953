"""A shared case to bytes."""

import gzip
import hashlib
import json
import re
from typing import Any

from ohmtrail.importers._errors import ImporterError
from ohmtrail.importers.shared_case import MAGIC
from ohmtrail.importers.shared_case._case import (
    LOG_MAX,
    PACKED_MAX,
    QUESTION_MAX,
    UNPACKED_MAX,
    VERSION,
    SharedCase,
)
from ohmtrail.netanalysis.board import Board, Part, Pin

__all__ = ["case_bytes", "source_of"]


def _name(text: str) -> str:
    """Make a design's title a name alone."""
    bare = re.sub(r"[/\\:\x00-\x1f\x7f]+", "-", text).strip(". ")
    return bare or "board"


def source_of(board: Board) -> str:
    """Return what the board was first read from: "kicad_schematic 20231120"."""
    if board.format == "shared_case":
        return board.version.partition(" of ")[2]
    return f"{board.format} {board.version}".strip()


def _pin(pin: Pin, nets: dict[str, int]) -> list[Any]:
    made: list[Any] = [
        pin.number,
        None if pin.net is None else nets[pin.net],
        pin.name,
        pin.electrical,
        pin.x_mm,
        pin.y_mm,
        pin.side,
        None if pin.land_mm is None else list(pin.land_mm),
    ]
    while made[-1] in (None, "") and len(made) > 2:
        made.pop()
    return made


def _part(part: Part, nets: dict[str, int]) -> dict[str, Any]:
    made: dict[str, Any] = {"ref": part.ref, "value": part.value}
    for key in ("library", "footprint", "description", "keywords", "side"):
        text = getattr(part, key)
        if text:
            made[key] = text
    if part.sheet != "/":
        made["sheet"] = part.sheet
    if not part.fitted:
        made["fitted"] = False
    if part.fields:
        made["fields"] = [list(field) for field in part.fields]
    if part.stated_kind:
        made["kind"] = part.stated_kind
    if part.x_mm is not None and part.y_mm is not None:
        made["at_mm"] = [part.x_mm, part.y_mm]
    made["pins"] = [_pin(pin, nets) for pin in part.pins]
    return made


def _board(board: Board) -> dict[str, Any]:
    nets = {net.name: number for number, net in enumerate(board.nets)}
    return {
        "name": _name(board.name),
        "source": source_of(board),
        "sheets": list(board.sheets),
        "nominal": [list(row) for row in board.stated_volts],
        "unused": [[one.what, one.where, one.count] for one in board.unused],
        "nets": [[net.name, *net.aliases] for net in board.nets],
        "outline_mm": [[list(point) for point in line] for line in board.outline_mm],
        "parts": [_part(part, nets) for part in board.parts],
    }


def case_bytes(case: SharedCase) -> bytes:
    """Return a shared case as the bytes of a file.

    Parameters
    ----------
    case : SharedCase
        Its ``digest`` is made anew.

    Returns
    -------
    bytes
        The same case gives the same bytes.

    Raises
    ------
    ImporterError
        If it is larger than what is read back.

    Notes
    -----
    O(size).
    """
    for what, text, most in (
        ("log", case.log, LOG_MAX),
        ("question", case.question, QUESTION_MAX),
    ):
        if len(text) > most:
            raise ImporterError(
                f"found a {what} of {len(text)} characters, expected {most} at most"
            )
    body = json.dumps(
        {
            "board": _board(case.board),
            "log_name": _name(case.log_name),
            "log": case.log,
            "question": case.question,
        },
        separators=(",", ":"),
        allow_nan=False,
    ).encode("ascii")
    digest = hashlib.sha256(body).hexdigest()
    head = MAGIC + f"{VERSION} {digest} {len(body)}\n".encode("ascii")
    packed = gzip.compress(head + body, mtime=0)
    if len(head) + len(body) > UNPACKED_MAX or len(packed) > PACKED_MAX:
        limit = UNPACKED_MAX // 1024 // 1024
        raise ImporterError(f"found a board of more than {limit} MB, expected less")
    return packed
