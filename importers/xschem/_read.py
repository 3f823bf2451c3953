"""Reads an xschem schematic, with symbols and blocks, into a board."""

from pathlib import Path

from ohmtrail.importers._pause import no_collection
from ohmtrail.importers.xschem._board import board_of
from ohmtrail.importers.xschem._design import read_design
from ohmtrail.netanalysis.board import Board

__all__ = ["read"]


def read(path: Path) -> Board:
    """Return the board that a schematic and its blocks describe.

    Parameters
    ----------
    path : Path
        The root; symbols and schematics of blocks are found from its folder.

    Raises
    ------
    ImporterError
        For damaged files, with file and line; for a block that contains itself.

    Notes
    -----
    Each file is read once; O(n log n) in the number of wires and pins.
    """
    with no_collection():
        return board_of(read_design(Path(path)))
