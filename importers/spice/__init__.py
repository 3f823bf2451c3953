"""SPICE decks: ngspice and SPICE3."""

from pathlib import Path

from ohmtrail.importers._importer import Importer
from ohmtrail.importers.spice._sniff import sniff
from ohmtrail.netanalysis.board import Board

__all__ = ["IMPORTER"]


def _read(path: Path) -> Board:
    from ohmtrail.importers.spice._read import read

    return read(path)


#: The importer, as the registry takes it.
IMPORTER = Importer(
    name="spice",
    title="SPICE netlist (ngspice, SPICE3), subcircuits flattened",
    suffixes=(".cir", ".sp", ".spice", ".ckt", ".net"),
    standard="SPICE3f5 and ngspice user's manuals",
    cannot_tell=("positions", "sides", "footprints", "pins of packages"),
    sniff=sniff,
    read=_read,
)
