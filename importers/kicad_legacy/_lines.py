"""Lines of a legacy file, with their numbers, and the text within quotes."""

import re
from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._text import read_text

__all__ = ["Lines", "quoted"]

_QUOTED = re.compile(r'"((?:[^"\\]|\\.)*)"')
_ESCAPE = re.compile(r"\\(.)")


def quoted(text: str) -> tuple[str, str] | None:
    r"""Return the first text within quotes, and what follows it.

    Examples
    --------
    >>> quoted(r'F 1 "3\"5" H 100')
    ('3"5', ' H 100')
    >>> quoted("F 1 none") is None
    True
    """
    start = text.find('"')
    match = _QUOTED.match(text, start) if start >= 0 else None
    if match is None:
        # Programs before KiCad 4 did not escape: "C:\" ends in a backslash.
        end = text.rfind('"')
        if start == end:
            return None
        return text[start + 1 : end], text[end + 1 :]
    found = match[1]
    if "\\" in found:
        found = _ESCAPE.sub(r"\1", found)
    return found, text[match.end() :]


class Lines:
    """The lines of a file, one after the other.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    ImporterError
        If it cannot be read.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        text = read_text(path)
        self._lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
        if self._lines[-1] == "":
            self._lines.pop()
        #: Number of the line that `next` gave last, from 1.
        self.number = 0

    def next(self) -> str | None:
        """Return the next line, None at the end of the file."""
        if self.number >= len(self._lines):
            return None
        self.number += 1
        return self._lines[self.number - 1]

    def need(self, wanted: str) -> str:
        """Return the next line; its absence is an error.

        Raises
        ------
        ParseError
            At the end of the file.
        """
        line = self.next()
        if line is None:
            raise self.error(f"found end of file, expected {wanted}")
        return line

    def error(self, message: str, line: int | None = None) -> ParseError:
        """Return an error about a line, by default the one given last."""
        return ParseError(message, self.path, line or max(self.number, 1))

    def integers(self, words: list[str], count: int, wanted: str) -> list[int]:
        """Return the first words as integers.

        Raises
        ------
        ParseError
            If there are fewer, or one is no integer.
        """
        try:
            if len(words) < count:
                raise ValueError
            return [int(word) for word in words[:count]]
        except ValueError:
            found = " ".join(words)[:60]
            raise self.error(f"found {found!r}, expected {wanted}") from None
