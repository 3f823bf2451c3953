"""tEDAx net lists."""

import re
from pathlib import Path

from ohmtrail.importers._importer import Importer
from ohmtrail.netanalysis.board import Board

__all__ = ["IMPORTER"]

_MAGIC = re.compile(rb"\s*tEDAx\s+v\d")


def _sniff(head: bytes) -> bool:
    return _MAGIC.match(head.removeprefix(b"\xef\xbb\xbf")) is not None


def _read(path: Path) -> Board:
    from ohmtrail.importers._pause import no_collection
    from ohmtrail.importers.tedax._read import read

    with no_collection():
        return read(path)


#: The importer, as the registry takes it.
IMPORTER = Importer(
    name="tedax",
    title="tEDAx net list",
    suffixes=(".tdx", ".tedax", ".net"),
    standard="tEDAx version 1, netlist block",
    cannot_tell=("positions", "sides", "unconnected pins", "sheets"),
    sniff=_sniff,
    read=_read,
)
