"""What a shared case holds, and how large it may be."""

import re
from dataclasses import dataclass

from ohmtrail.netanalysis.board import Board

__all__ = [
    "LOG_MAX",
    "NAME_MAX",
    "PACKED_MAX",
    "QUESTION_MAX",
    "TEXT_MAX",
    "UNPACKED_MAX",
    "VERSION",
    "SharedCase",
    "bare_name",
]

VERSION = 1
#: Bytes of the file, and of what is in it.  Real boards of 400 parts take 0.3 MB; as
#: objects of the parser the worst file takes some 20 times as much.
PACKED_MAX = 8 * 1024 * 1024
UNPACKED_MAX = 16 * 1024 * 1024
#: Characters of the log, the question, a name and any other text.
LOG_MAX = 4 * 1024 * 1024
QUESTION_MAX = 4000
NAME_MAX = 2000
TEXT_MAX = 100_000
#: What makes a name a path, or more than a name.
_NO_NAME = re.compile(r"[/\\:\x00-\x1f\x7f]")


@dataclass(frozen=True, slots=True)
class SharedCase:
    """A board with the log of its repair and a question."""

    board: Board
    #: The bench log as CSV, and what its file was called, without folders.
    log: str
    log_name: str
    question: str
    #: SHA-256 of the contents, in hexadecimal.
    digest: str = ""


def bare_name(text: str) -> bool:
    """Whether a text is a name alone: no folders, no drive, no control characters.

    Examples
    --------
    >>> bare_name("sk4"), bare_name("../sk4"), bare_name("C:sk4"), bare_name("..")
    (True, False, False, False)
    """
    return _NO_NAME.search(text) is None and text not in ("", ".", "..")
