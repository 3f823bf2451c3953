"""KiCad schematics before version 6: ``.sch`` with their symbol libraries."""

import re
from pathlib import Path

from ohmtrail.importers._importer import Importer
from ohmtrail.netanalysis.board import Board

__all__ = ["IMPORTER"]

_HEADER = re.compile(rb"(?:\xef\xbb\xbf)?\s*EESchema Schematic File Version")


def _sniff(head: bytes) -> bool:
    return _HEADER.match(head) is not None


def _read(path: Path) -> Board:
    from ohmtrail.importers.kicad_legacy._read import read

    return read(path)


IMPORTER = Importer(
    name="kicad_legacy",
    title="KiCad schematic before 6 (EESchema .sch with its libraries)",
    suffixes=(".sch",),
    standard="KiCad legacy file formats document; nets as KiCad 5's netlister",
    cannot_tell=("positions", "sides", "which parts are not fitted"),
    sniff=_sniff,
    read=_read,
)
