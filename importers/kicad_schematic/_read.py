"""Reads a KiCad schematic, with all its sheets, into a board."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._pause import no_collection
from ohmtrail.importers.kicad_schematic._board import board_of
from ohmtrail.importers.kicad_schematic._gather import Gathered, gather
from ohmtrail.importers.kicad_schematic._graph import Graph
from ohmtrail.importers.kicad_schematic._hierarchy import Design, read_design
from ohmtrail.importers.kicad_schematic._propagate import propagate
from ohmtrail.netanalysis.board import Board

__all__ = ["netlisted", "read"]


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
    with _calm(path):
        return board_of(*netlisted(path))


def netlisted(
    path: Path, *, keep_wires: bool = False
) -> tuple[Design, Gathered, Graph]:
    """Return a design, what is placed in it, and its nets with their final names.

    Raises
    ------
    ParseError
        As `read`.
    """
    with _calm(path):
        design = read_design(Path(path))
        gathered = gather(design, keep_wires=keep_wires)
        paths = [use.path for use in design.uses]
        graph = Graph(gathered.subgraphs, paths, design.aliases)
        graph.merge_on_sheets()
        propagate(graph, design.uses)
        graph.finish()
        return design, gathered, graph


@contextmanager
def _calm(path: Path) -> Iterator[None]:
    """Hold the garbage collector meanwhile, and name the one recursion there is."""
    try:
        with no_collection():
            yield
    except RecursionError:
        raise ParseError(
            "found bus aliases that contain one another, expected a design",
            path,
            1,
        ) from None
