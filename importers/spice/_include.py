"""Files that a deck includes: found beside it, and nowhere else."""

import re
from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._text import read_text
from ohmtrail.importers._trace import note
from ohmtrail.importers.spice._lines import Line

__all__ = ["Folder", "deck_text"]

_BYTES_MAX = 64 * 1024 * 1024
_FILES_MAX = 1000


def deck_text(path: Path) -> str:
    """Return the text of a file with line feeds alone as line ends.

    Raises
    ------
    ImporterError
        As `read_text`.
    """
    text = read_text(path)
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    return text


#: Files looked for, there or not.
_NAMES_MAX = 20_000


class Folder:
    """The folder of the deck, out of which no include leads.

    Parameters
    ----------
    deck : Path
        The deck itself.
    """

    def __init__(self, deck: Path) -> None:
        self._home = deck.absolute().parent
        self._real = self._home.resolve()
        self._bytes = 0
        self._files = 0
        self._names = 0

    def find(self, name: str, line: Line) -> Path | None:
        """Return the file that a line names, None where there is none.

        Raises
        ------
        ParseError
            If the name is absolute, goes up, or leads out by a symbolic link; if
            there are more names than any deck has.
        """
        self._names += 1
        if self._names > _NAMES_MAX:
            raise ParseError(
                f"found more than {_NAMES_MAX} files to include, expected a deck",
                line.path,
                line.number,
            )
        name = name.strip().strip("\"'").replace("\\", "/")
        if not name or "\0" in name or len(name) > 1000:
            raise ParseError(
                f"found {line.text[:40]!r}, expected the name of a file",
                line.path,
                line.number,
            )
        if name.startswith(("/", "~")) or re.match(r"[A-Za-z]:|\w+://", name):
            raise self._outside(name, "an absolute path", line)
        if ".." in name.split("/"):
            raise self._outside(name, "a path that goes up", line)
        for folder in (line.path.absolute().parent, self._home):
            path = folder / name
            try:
                there = path.resolve().is_relative_to(self._real)
                exists = path.is_file()
            except (OSError, RuntimeError):  # a loop of links, a name too long
                continue
            if not there:
                raise self._outside(name, "a link that leads out", line)
            if exists:
                return path
            note(path, None)
        return None

    @staticmethod
    def _outside(name: str, what: str, line: Line) -> ParseError:
        return ParseError(
            f"found {what}, {name[:60]!r}, expected a file beside the deck: "
            "copy it there",
            line.path,
            line.number,
        )

    def read(self, path: Path, line: Line) -> str:
        """Return the text of an included file.

        Raises
        ------
        ImporterError
            If it cannot be read, or included files are too many or too large.
        """
        text = deck_text(path)
        self._bytes += len(text)
        self._files += 1
        if self._files > _FILES_MAX or self._bytes > _BYTES_MAX:
            raise ParseError(
                f"found more than {_FILES_MAX} files or {_BYTES_MAX >> 20} MB included",
                line.path,
                line.number,
            )
        return text
