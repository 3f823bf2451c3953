"""PADS net lists."""

import re
from pathlib import Path

from ohmtrail.importers._importer import Importer
from ohmtrail.netanalysis.board import Board

__all__ = ["IMPORTER"]

_MAGIC = re.compile(rb"\s*(?:!PADS-|\*PADS)[^\n]*\n")
#: A whole layout begins alike; it is another format.
_LAYOUT = re.compile(rb"^\*PCB\*|DESIGN DATABASE", re.M | re.I)


def _sniff(head: bytes) -> bool:
    body = head.removeprefix(b"\xef\xbb\xbf")
    return bool(_MAGIC.match(body)) and _LAYOUT.search(body[:4096]) is None


def _read(path: Path) -> Board:
    from ohmtrail.importers._pause import no_collection
    from ohmtrail.importers.pads_netlist._read import read

    with no_collection():
        return read(path)


#: The importer, as the registry takes it.
IMPORTER = Importer(
    name="pads_netlist",
    title="PADS net list (ASCII)",
    suffixes=(".asc", ".net"),
    standard="PADS ASCII net list, as lepton-netlist writes it",
    cannot_tell=(
        "positions",
        "sides",
        "values",
        "pin names",
        "unconnected pins",
        "sheets",
    ),
    sniff=_sniff,
    read=_read,
)
