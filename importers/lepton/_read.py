"""Reads a gEDA or Lepton schematic, with symbols and blocks, into a board."""

from pathlib import Path

from ohmtrail.importers._pause import no_collection
from ohmtrail.importers.lepton._board import board_of
from ohmtrail.importers.lepton._design import read_design
from ohmtrail.netanalysis.board import Board

__all__ = ["read"]


def read(path: Path) -> Board:
    """Return the board that a schematic page and its blocks describe.

    Parameters
    ----------
    path : Path
        The root page; symbols and pages of blocks are found from its folder.

    Raises
    ------
    ImporterError
        For damaged files, with file and line; for a block that contains itself.

    Notes
    -----
    Each file is read once; O(n log n) in the number of nets and pins.
    """
    with no_collection():
        return board_of(read_design(Path(path), []))
