"""A file to a shared case: everything in it is doubted before it is used."""

import hashlib
import json
import re
import zlib
from pathlib import Path
from typing import Any

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._text import first_bytes
from ohmtrail.importers._trace import note
from ohmtrail.importers.shared_case import MAGIC
from ohmtrail.importers.shared_case._board import read_board
from ohmtrail.importers.shared_case._case import (
    LOG_MAX,
    NAME_MAX,
    PACKED_MAX,
    QUESTION_MAX,
    UNPACKED_MAX,
    VERSION,
    SharedCase,
    bare_name,
)
from ohmtrail.importers.shared_case._fields import Fields

__all__ = ["is_case", "read_case"]

_GZIP = b"\x1f\x8b\x08"
_HEAD = re.compile(rb"([0-9]{1,9})(?: ([0-9a-f]{64}) ([0-9]{1,12}))?")
#: No first line is longer.
_HEAD_MAX = 200


def is_case(data: bytes) -> bool:
    """Say whether the first bytes of a file are those of a shared case."""
    if data.startswith(_GZIP):
        try:
            data = zlib.decompressobj(wbits=31).decompress(data[:4096], len(MAGIC))
        except zlib.error:
            return False
    return data.startswith(MAGIC)


def _unpacked(path: Path) -> bytes:
    data = first_bytes(path, PACKED_MAX + 1)
    note(path, data)
    if len(data) > PACKED_MAX:
        limit = PACKED_MAX // 1024 // 1024
        raise ParseError(f"found more than {limit} MB, expected a shared case", path)
    if not data.startswith(_GZIP):
        return data
    unpacker = zlib.decompressobj(wbits=31)
    try:
        out = unpacker.decompress(data, UNPACKED_MAX + 1)
    except zlib.error as error:
        raise ParseError(f"found damaged gzip data ({error})", path) from None
    if len(out) > UNPACKED_MAX:
        limit = UNPACKED_MAX // 1024 // 1024
        raise ParseError(
            f"found more than {limit} MB once unpacked, expected a shared case", path
        )
    if not unpacker.eof:
        raise ParseError("found end of file inside gzip data", path)
    if unpacker.unused_data:
        raise ParseError("found more data behind the shared case", path)
    return out


def _body(path: Path) -> tuple[bytes, str]:
    """Return what the first line promises, and its hash."""
    data = _unpacked(path)
    line, feed, body = data.partition(b"\n")
    found = _HEAD.fullmatch(line[len(MAGIC) : _HEAD_MAX])
    if not data.startswith(MAGIC) or not feed or found is None:
        raise ParseError("found no first line of a shared case", path, 1)
    version = int(found[1])
    if version != VERSION:
        raise ParseError(
            f"found version {version} of a shared case, expected {VERSION}: a newer "
            "ohmtrail reads it"
            if version > VERSION
            else f"found version {version} of a shared case, expected {VERSION}",
            path,
            1,
        )
    if found[2] is None:
        raise ParseError("found no hash of the shared case, expected one", path, 1)
    size = int(found[3])
    if size != len(body):
        raise ParseError(f"found {len(body)} bytes, expected {size}: damaged", path)
    digest = hashlib.sha256(body).hexdigest()
    if digest != found[2].decode("ascii"):
        raise ParseError(
            f"found contents whose hash is {digest[:12]}..., expected "
            f"{found[2][:12].decode('ascii')}...: damaged or changed",
            path,
        )
    return body, digest


def _no_constant(text: str) -> Any:
    raise ValueError(f"found {text}, expected a number")


def _no_twins(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        raise ValueError("found a key twice")
    return made


def read_case(path: Path) -> SharedCase:
    """Read a shared case.

    Parameters
    ----------
    path : Path
        The file, packed or not.

    Raises
    ------
    ImporterError
        One line: the file cannot be read; it is larger than any case, packed or
        unpacked; another version; a hash that does not fit; no JSON; a value of
        another kind than it should be, out of bounds, or a name with a path in it.

    Notes
    -----
    O(size), and never more memory than `UNPACKED_MAX` takes.  The hash tells damage;
    it does not tell who wrote the file.
    """
    body, digest = _body(path)
    try:
        told = json.loads(
            body, parse_constant=_no_constant, object_pairs_hook=_no_twins
        )
    except (ValueError, RecursionError) as error:
        what = re.sub(r": line \d+ column \d+ \(char \d+\)$", "", str(error))
        raise ParseError(f"found no usable JSON ({what})", path) from None
    top = Fields(told, "the case", path)
    log_name = top.text("log_name", NAME_MAX)
    if not bare_name(log_name):
        top.fail(f"log_name {log_name[:60]!r}", "a name without folders")
    case = SharedCase(
        board=read_board(top.inner("board")),
        log=top.text("log", LOG_MAX),
        log_name=log_name,
        question=top.text("question", QUESTION_MAX),
        digest=digest,
    )
    top.end()
    return case
