"""EDIF 2 0 0 netlists."""

import re
from pathlib import Path

from ohmtrail.importers._importer import Importer
from ohmtrail.netanalysis.board import Board

__all__ = ["IMPORTER"]

_START = re.compile(rb"\(\s*edif(?=[\s(])", re.I)


def _sniff(head: bytes) -> bool:
    return bool(_START.match(head.removeprefix(b"\xef\xbb\xbf").lstrip()))


def _read(path: Path) -> Board:
    from ohmtrail.importers.edif._read import read

    return read(path)


#: The importer, as the registry takes it.
IMPORTER = Importer(
    name="edif",
    title="EDIF 2 0 0 netlist, hierarchy flattened",
    suffixes=(".edf", ".edif", ".edn"),
    standard="EDIF 2 0 0 (ANSI/EIA-548), netlist view",
    cannot_tell=("positions", "sides"),
    sniff=_sniff,
    read=_read,
)
