"""What an importer is: the object that a format registers."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from ohmtrail.netanalysis.board import Board

__all__ = ["Importer"]


@dataclass(frozen=True, slots=True)
class Importer:
    """A format that ohmtrail reads.

    An installed package adds one through the entry-point group
    ``ohmtrail.importers``; the object it names is an instance of this class.
    """

    #: Name for ``--format``: lower case, underscores ("kicad_schematic").
    name: str
    #: What people call it ("KiCad schematic 6 to 10").
    title: str
    #: Usual suffixes with the dot; they break ties, content decides.
    suffixes: tuple[str, ...]
    #: Who defines the format (standard or program's documentation).
    standard: str
    #: What such a file cannot tell ("positions", "values", "pin names").
    cannot_tell: tuple[str, ...]
    #: ``sniff(head)``: do these first bytes (up to 64 KiB) look like this format?
    #: Must be cheap and import nothing heavy.
    sniff: Callable[[bytes], bool]
    #: ``read(path)``: the board; raises `ImporterError`, never anything else,
    #: for bad input.  Should import its machinery inside.
    read: Callable[[Path], Board]
