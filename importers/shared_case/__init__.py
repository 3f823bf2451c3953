"""The shared case: board, bench log and question in one file (docs/shared-case.md)."""

from pathlib import Path

from ohmtrail.importers._importer import Importer
from ohmtrail.netanalysis.board import Board

__all__ = ["IMPORTER", "MAGIC"]

#: How the file begins, once it is unpacked.
MAGIC = b"ohmtrail shared case "


def _sniff(head: bytes) -> bool:
    return head.startswith(MAGIC)


def _read(path: Path) -> Board:
    from ohmtrail.importers.shared_case._read import read_case

    return read_case(path).board


#: The importer, as the registry takes it.
IMPORTER = Importer(
    name="shared_case",
    title="shared case: board, bench log and question, from 'ohmtrail share'",
    suffixes=(".ohmcase",),
    standard="ohmtrail's own, docs/shared-case.md",
    cannot_tell=("what the file it was made from cannot tell",),
    sniff=_sniff,
    read=_read,
)
