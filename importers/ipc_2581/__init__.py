"""IPC-2581 (revisions A to C): the XML in which a board goes to its maker."""

import re
from pathlib import Path

from ohmtrail.importers._importer import Importer
from ohmtrail.netanalysis.board import Board

__all__ = ["IMPORTER"]

_ROOT = re.compile(rb"<(?:[\w.-]{1,40}:)?IPC-2581[\s>]")


def _sniff(head: bytes) -> bool:
    if _ROOT.search(head) is None:
        return False
    from ohmtrail.importers._xml import root_tag

    return root_tag(head).rpartition(":")[2] == "IPC-2581"


def _read(path: Path) -> Board:
    from ohmtrail.importers.ipc_2581._read import read

    return read(path)


#: The importer, as the registry takes it.
IMPORTER = Importer(
    name="ipc_2581",
    title="IPC-2581 A to C",
    suffixes=(".xml", ".cvg", ".ipc2581", ".2581"),
    standard="IPC-2581 revisions B and C",
    cannot_tell=(
        "pin names, unless the packages have them",
        "symbol libraries",
        "net names as drawn (some programs replace letters)",
        "parts that are only left out of the list (some mark them not populated)",
    ),
    sniff=_sniff,
    read=_read,
)
