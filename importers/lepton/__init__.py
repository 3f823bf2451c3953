"""gEDA and Lepton schematics (``.sch`` that begins ``v 20201216 2``)."""

import re
from pathlib import Path

from ohmtrail.importers._importer import Importer
from ohmtrail.netanalysis.board import Board

__all__ = ["IMPORTER"]

_HEADER = re.compile(rb"(?:\xef\xbb\xbf)?\s*v [0-9]{8}(?: [0-9]+)?[ \t]*\r?\n")


def _sniff(head: bytes) -> bool:
    return _HEADER.match(head) is not None


def _read(path: Path) -> Board:
    from ohmtrail.importers.lepton._read import read

    return read(path)


IMPORTER = Importer(
    name="lepton",
    title="gEDA or Lepton schematic (.sch with its symbols)",
    suffixes=(".sch",),
    standard="gEDA file format document; nets as lepton-netlist 1.9 makes them",
    cannot_tell=("positions", "sides", "which parts are not fitted"),
    sniff=_sniff,
    read=_read,
)
