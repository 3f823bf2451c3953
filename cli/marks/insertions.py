"""The one way files are altered: bytes put in, and the same bytes taken out."""

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

__all__ = ["Insertion", "digest", "insert", "spans_of", "take_out"]


@dataclass(frozen=True, slots=True)
class Insertion:
    """Bytes to put into a file."""

    #: Place in the original bytes; 0 is before all of them.
    offset: int
    data: bytes


def _ordered(insertions: Iterable[Insertion]) -> list[Insertion]:
    return sorted(insertions, key=lambda one: one.offset)


def insert(original: bytes, insertions: Iterable[Insertion]) -> bytes:
    r"""Return the bytes with the insertions in.

    Parameters
    ----------
    original : bytes
    insertions : iterable of Insertion
        In any order; those of one place keep theirs.

    Raises
    ------
    ValueError
        If a place is not within the file.

    Examples
    --------
    >>> insert(b"(a)\n", [Insertion(2, b" b")])
    b'(a b)\n'
    """
    pieces: list[bytes] = []
    at = 0
    for one in _ordered(insertions):
        if not 0 <= one.offset <= len(original):
            raise ValueError(f"found offset {one.offset}, expected one in the file")
        pieces += [original[at : one.offset], one.data]
        at = one.offset
    pieces.append(original[at:])
    return b"".join(pieces)


def spans_of(insertions: Iterable[Insertion]) -> tuple[tuple[int, int], ...]:
    """Return (start, length) of each insertion in the marked bytes, in order."""
    found = []
    grown = 0
    for one in _ordered(insertions):
        found.append((one.offset + grown, len(one.data)))
        grown += len(one.data)
    return tuple(found)


def take_out(marked: bytes, spans: Sequence[tuple[int, int]]) -> bytes:
    """Return marked bytes without the spans that `spans_of` gave.

    Raises
    ------
    ValueError
        If a span lies outside, or on another.
    """
    pieces: list[bytes] = []
    at = 0
    for start, length in spans:
        if not at <= start <= start + length <= len(marked):
            raise ValueError(f"found a span at {start}, expected one in the file")
        pieces.append(marked[at:start])
        at = start + length
    pieces.append(marked[at:])
    return b"".join(pieces)


def digest(data: bytes) -> str:
    """Return the SHA-256 of bytes in hexadecimal."""
    return hashlib.sha256(data).hexdigest()
