"""KiCad board layouts (``.kicad_pcb``), version 4 to 10: pads, nets, positions."""

import re
from pathlib import Path

from ohmtrail.importers._importer import Importer
from ohmtrail.netanalysis.board import Board

__all__ = ["IMPORTER"]

_BOARD = re.compile(rb"\(\s*kicad_pcb[\s()]")


def _sniff(head: bytes) -> bool:
    body = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    return _BOARD.match(body) is not None


def _read(path: Path) -> Board:
    from ohmtrail.importers.kicad_layout._read import read

    return read(path)


#: The importer, as the registry takes it.
IMPORTER = Importer(
    name="kicad_layout",
    title="KiCad board layout 4 to 10",
    suffixes=(".kicad_pcb",),
    standard="KiCad documentation, board file format",
    cannot_tell=("symbol libraries", "sheet names before version 6"),
    sniff=_sniff,
    read=_read,
)
