"""Reads a KiCad schematic, with all its sheets, into a board."""

import gc
from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers.kicad_schematic._board import board_of
from ohmtrail.importers.kicad_schematic._gather import gather
from ohmtrail.importers.kicad_schematic._graph import Graph
from ohmtrail.importers.kicad_schematic._hierarchy import read_design
from ohmtrail.importers.kicad_schematic._propagate import propagate
from ohmtrail.netanalysis.board import Board

__all__ = ["read"]


def read(path: Path) -> Board:
    """Return the board that a root schematic describes.

    Parameters
    ----------
    path : Path
        The root ``.kicad_sch``; files of its sheets are found from there.

    Raises
    ------
    ParseError
        For damaged, missing or self-containing sheets, with file and line.

    Notes
    -----
    Each file is read once.  Nets and their names are those of KiCad 9's
    netlister.
    """
    collecting = gc.isenabled()
    gc.disable()  # the trees hold no cycles; scanning them costs a third
    try:
        design = read_design(Path(path))
        gathered = gather(design)
        paths = [use.path for use in design.uses]
        graph = Graph(gathered.subgraphs, paths, design.aliases)
        graph.merge_on_sheets()
        propagate(graph, design.uses)
        graph.finish()
        return board_of(design, gathered, graph)
    except RecursionError:
        raise ParseError(
            "found bus aliases that contain one another, expected a design",
            path,
            1,
        ) from None
    finally:
        if collecting:
            gc.enable()
