"""KiCad netlists: XML, s-expressions, and the text form before them."""

import re
from pathlib import Path

from ohmtrail.importers._importer import Importer
from ohmtrail.netanalysis.board import Board

__all__ = ["IMPORTER"]

_BRACKETS = re.compile(rb"\(\s*export\s*\(\s*version\b")
_XML = re.compile(rb"<export(\s[^<>]*)?\sversion\s*=")
_OLD = re.compile(rb"(#|\(\s*\{)\s*EESchema Netlist Version")


def _sniff(head: bytes) -> bool:
    body = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    if body.startswith(b"<"):
        return _XML.search(body) is not None
    return bool(_BRACKETS.match(body) or _OLD.match(body))


def _read(path: Path) -> Board:
    from ohmtrail.importers.kicad_netlist._read import read

    return read(path)


#: The importer, as the registry takes it.
IMPORTER = Importer(
    name="kicad_netlist",
    title="KiCad netlist, all versions (XML, s-expression, EESchema 1.1)",
    suffixes=(".net", ".xml"),
    standard="KiCad documentation, Schematic Editor, intermediate netlist",
    cannot_tell=("positions", "sides"),
    sniff=_sniff,
    read=_read,
)
