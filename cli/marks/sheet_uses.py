"""Sheets that are used several times: what a mark calls each use."""

import re
from collections.abc import Iterator, Sequence
from itertools import takewhile

__all__ = ["use_names", "uses_note"]

_SHORT_MAX = 3


def use_names(uses: Sequence[str]) -> tuple[str, ...]:
    """Return a short name for each use of a sheet; "" where there is one use.

    What tells the ends of their paths apart, if that is short; else letters.

    Examples
    --------
    >>> use_names(["/Core/Phase A/", "/Core/Phase B/"]), use_names(["/"])
    (('A', 'B'), ('',))
    >>> use_names(["/vertical/", "/horizontal/"])
    ('a', 'b')
    """
    if len(uses) == 1:
        return ("",)
    ends = [path.strip("/").rpartition("/")[2] for path in uses]
    same = _same_start(ends)
    short = [end[same:] for end in ends]
    brief = all(one.isalnum() and len(one) <= _SHORT_MAX for one in short)
    if brief and len(set(short)) == len(short):
        return tuple(short)
    return tuple(_letters(number) for number in range(len(uses)))


def _same_start(texts: Sequence[str]) -> int:
    """Return how many characters all begin with, up to the end of a word."""
    columns = zip(*texts, strict=False)
    same = "".join(takewhile(bool, (_one(column) for column in columns)))
    return len(re.sub(r"[^\W_]*$", "", same))


def _one(letters: tuple[str, ...]) -> str:
    return letters[0] if len(set(letters)) == 1 else ""


def _letters(number: int) -> str:
    """Return "a" to "z", then "aa" and so on."""
    text = ""
    number += 1
    while number:
        number, place = divmod(number - 1, 26)
        text = chr(ord("a") + place) + text
    return text


def uses_note(uses: Sequence[str]) -> Iterator[str]:
    """Give the line of the note that says what the names of the uses stand for."""
    if len(uses) > 1:
        pairs = zip(use_names(uses), uses, strict=True)
        told = ", ".join(f"{name} = {path}" for name, path in pairs)
        yield f"This drawing is used {len(uses)} times, flags name the use: {told}"
