"""IPC-D-356 and IPC-D-356A netlists for bare-board test."""

import re
from pathlib import Path

from ohmtrail.importers._importer import Importer
from ohmtrail.netanalysis.board import Board

__all__ = ["IMPORTER"]

_FIRST = re.compile(rb"[CP](?:[ \t\r\n]|$)|3[0126]7|999")
_PARAMETER = re.compile(
    rb"^P +(?:JOB|CODE|UNITS|DIM|arrayDim|TITLE|NUM|REV|VER|IMAGE|NNAME)", re.M | re.I
)
_RECORD = re.compile(rb"^3[0126]7.{20,60}A\d\dX[-+ \d]{1,7}Y", re.M)


def _sniff(head: bytes) -> bool:
    body = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    if _FIRST.match(body) is None:
        return False
    return bool(_PARAMETER.search(body) or _RECORD.search(body))


def _read(path: Path) -> Board:
    from ohmtrail.importers.ipc_d356._read import read

    return read(path)


#: The importer, as the registry takes it.
IMPORTER = Importer(
    name="ipc_d356",
    title="IPC-D-356 or 356A netlist",
    suffixes=(".d356", ".ipc", ".356", ".ipc356"),
    standard="IPC-D-356A (1998)",
    cannot_tell=(
        "values",
        "pin names",
        "footprints",
        "which parts are fitted",
        "net names beyond 14 characters and refs beyond 6, unless given as aliases",
    ),
    sniff=_sniff,
    read=_read,
)
