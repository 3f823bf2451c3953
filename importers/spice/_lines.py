"""Logical lines of a deck: comments cut off, continuations joined."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from ohmtrail.importers._errors import ParseError

__all__ = ["Line", "logical_lines"]

#: ";" and "//" begin a comment anywhere, "$" after a blank or comma (ngspice).
_COMMENT = re.compile(r";|//|(?:^|(?<=[ \t,]))\$")


_LENGTH_MAX = 1_000_000


class Line(NamedTuple):
    """A logical line and where it begins."""

    text: str
    number: int
    path: Path


def logical_lines(text: str, path: Path, title: bool) -> Iterator[Line]:
    """Give the lines of a deck that say something.

    Parameters
    ----------
    text : str
        The whole file.
    path : Path
        The file.
    title : bool
        The first line is a title, whatever it looks like: it is passed over.

    Raises
    ------
    ParseError
        If a line with its continuations is longer than a megabyte.

    Notes
    -----
    Comment lines and blank lines between a line and its continuation do not part
    them.  A ``.control`` block is given as its first line only.  O(length).
    """
    pieces: list[str] = []
    begun = length = 0
    control = False
    for number, line in enumerate(text.split("\n"), 1):
        if number == 1 and title:
            continue
        line = line.strip()
        if not line or line[0] in "*#":
            continue
        if control:
            control = not line.lower().startswith(".endc")
            continue
        if ";" in line or "$" in line or "//" in line:
            match = _COMMENT.search(line)
            if match is not None and not _names_file(line, match[0]):
                line = line[: match.start()].rstrip()
                if not line:
                    continue
        if line[0] == "+":
            if pieces:
                pieces.append(line[1:])
                length += len(line)
                if length > _LENGTH_MAX:
                    raise _too_long(path, begun)
            continue
        if pieces:
            yield Line(" ".join(pieces), begun, path)
        pieces = [line]
        begun, length = number, len(line)
        if length > _LENGTH_MAX:
            raise _too_long(path, begun)
        control = line[0] == "." and line[:8].lower() == ".control"
    if pieces:
        yield Line(" ".join(pieces), begun, path)


def _too_long(path: Path, number: int) -> ParseError:
    return ParseError(
        f"found a line of more than {_LENGTH_MAX} characters", path, number
    )


def _names_file(line: str, comment: str) -> bool:
    """Whether "//" stands in the name of a file."""
    return comment == "//" and line[:4].lower() in (".inc", ".lib")
