"""Tango and Protel net lists."""

import re
from pathlib import Path

from ohmtrail.importers._importer import Importer
from ohmtrail.netanalysis.board import Board

__all__ = ["IMPORTER"]

_PART = re.compile(
    rb"\[[ \t]*\n[ \t]*[^\s\[\](){}\"':,]+[ \t]*\n[^\n{}\"]*\n[^\n{}\"]*\n"
)
_NET = re.compile(rb"\([ \t]*\n[ \t]*[^\n()\[\]]+\n(?:[ \t]*\S+-\S+[^\n]*\n)+[ \t]*\)")


def _sniff(head: bytes) -> bool:
    body = head.removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n").lstrip()
    return bool(_PART.match(body) or _NET.match(body))


def _read(path: Path) -> Board:
    from ohmtrail.importers._pause import no_collection
    from ohmtrail.importers.tango._read import read

    with no_collection():
        return read(path)


#: The importer, as the registry takes it.
IMPORTER = Importer(
    name="tango",
    title="Tango or Protel net list (ASCII)",
    suffixes=(".net", ".tng"),
    standard="Tango net list, as lepton-netlist and Protel write it",
    cannot_tell=("positions", "sides", "pin names", "unconnected pins", "sheets"),
    sniff=_sniff,
    read=_read,
)
