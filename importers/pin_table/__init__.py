"""The typed table: ref, pin, net, traced by eye or exported from anywhere."""

from pathlib import Path

from ohmtrail.importers._importer import Importer
from ohmtrail.netanalysis.board import Board

__all__ = ["IMPORTER"]


def _sniff(head: bytes) -> bool:
    """Say whether the first line that is no comment names the columns."""
    for line in head.removeprefix(b"\xef\xbb\xbf").splitlines():
        line = line.strip()
        if not line or line.lstrip(b'"').startswith(b"#"):
            continue
        for delimiter in b"\t", b";", b",":
            cells = {cell.strip(b'" \t').lower() for cell in line.split(delimiter)}
            if b"ref" in cells and (b"pin" in cells or b"net" in cells):
                return True
        return False
    return False


def _read(path: Path) -> Board:
    from ohmtrail.importers.pin_table._read import read

    return read(path)


#: The importer, as the registry takes it.
IMPORTER = Importer(
    name="pin_table",
    title="typed table: ref, pin, net (CSV or TSV)",
    suffixes=(".csv", ".tsv", ".txt"),
    standard="CSV as in RFC 4180; the columns are ohmtrail's own",
    cannot_tell=("positions", "sides", "sheets"),
    sniff=_sniff,
    read=_read,
)
