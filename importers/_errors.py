"""Errors of the importers: one line, file and line number, found and expected."""

from pathlib import Path

__all__ = ["ImporterError", "ParseError", "UnknownFormatError"]


def _one_line(text: str) -> str:
    """Return a text with whatever a file smuggled in shown as escapes."""
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else ascii(c)[1:-1] for c in text)


class ImporterError(Exception):
    """A file could not be made into a board.  ``str()`` is one line for people."""

    def __str__(self) -> str:
        """Return one printable line."""
        return _one_line(super().__str__())


class UnknownFormatError(ImporterError):
    """No importer, or more than one, takes the file."""


class ParseError(ImporterError):
    """A file does not hold what its format promises.

    Parameters
    ----------
    message : str
        Lower case, says what was found and what was expected.
    path : str or Path
        The file.
    line : int or None
        Line number, from 1; None where no line is to blame.

    Examples
    --------
    >>> str(ParseError("found end of file, expected ')'", "a.kicad_sch", 7))
    "a.kicad_sch:7: found end of file, expected ')'"
    """

    def __init__(self, message: str, path: str | Path, line: int | None = None) -> None:
        super().__init__(message, path, line)
        self.message = message
        self.path = str(path)
        self.line = line

    def __str__(self) -> str:
        """Return ``path:line: message``."""
        where = self.path if self.line is None else f"{self.path}:{self.line}"
        return _one_line(f"{where}: {self.message}")
