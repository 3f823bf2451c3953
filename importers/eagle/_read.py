"""An EAGLE file to a board: what kind of drawing it holds, and errors."""

from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._text import read_bytes
from ohmtrail.importers._xml import ElementError, find, line_of, parse_xml
from ohmtrail.importers.eagle._board import read_board
from ohmtrail.importers.eagle._schematic import read_schematic
from ohmtrail.netanalysis.board import Board

__all__ = ["read"]


def read(path: Path) -> Board:
    """Read an EAGLE ``.sch`` or ``.brd`` of version 6 or later.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Board
        Pads as pins, named by the pins of the symbol in a schematic.

    Raises
    ------
    ImporterError
        If the file cannot be read or does not hold a schematic or a board.

    Notes
    -----
    O(size).  The other view of the design, beside the file, is not looked at.
    """
    data = read_bytes(path)
    root = parse_xml(data, path, "eagle", dtd="eagle.dtd")
    version = root.get("version", "")
    try:
        for drawing in find(root, "drawing"):
            for one in find(drawing, "schematic"):
                return read_schematic(one, path, version)
            for one in find(drawing, "board"):
                return read_board(one, path, version)
            if next(find(drawing, "library"), None) is not None:
                raise ElementError(
                    "found a library, expected a schematic or a board", drawing
                )
        raise ElementError("found neither <schematic> nor <board>", root)
    except ElementError as error:
        raise ParseError(error.message, path, line_of(error.element, data)) from None
