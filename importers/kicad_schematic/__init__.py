"""KiCad schematics, version 6 to 10."""

from pathlib import Path

from ohmtrail.importers._importer import Importer
from ohmtrail.netanalysis.board import Board

__all__ = ["IMPORTER"]


def _sniff(head: bytes) -> bool:
    return head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"(kicad_sch")


def _read(path: Path) -> Board:
    from ohmtrail.importers.kicad_schematic._read import read

    return read(path)


IMPORTER = Importer(
    name="kicad_schematic",
    title="KiCad schematic 6 to 10",
    suffixes=(".kicad_sch",),
    standard="KiCad developer documentation, schematic file format",
    cannot_tell=("positions", "sides"),
    sniff=_sniff,
    read=_read,
)
