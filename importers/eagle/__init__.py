"""EAGLE schematics (``.sch``) and boards (``.brd``) in XML, version 6 and later."""

from pathlib import Path

from ohmtrail.importers._importer import Importer
from ohmtrail.netanalysis.board import Board

__all__ = ["IMPORTER"]


def _sniff(head: bytes) -> bool:
    if b"<eagle" not in head:
        return False
    from ohmtrail.importers._xml import root_tag

    return root_tag(head) == "eagle"


def _read(path: Path) -> Board:
    from ohmtrail.importers.eagle._read import read

    return read(path)


#: The importer, as the registry takes it.
IMPORTER = Importer(
    name="eagle",
    title="EAGLE schematic or board 6 to 9 (XML)",
    suffixes=(".sch", ".brd"),
    standard="eagle.dtd, shipped with EAGLE",
    cannot_tell=(
        "positions (a .sch)",
        "pin names, symbols and descriptions (a .brd)",
        "which pads of a part are one pin (a .brd)",
    ),
    sniff=_sniff,
    read=_read,
)
