"""Wire lists: a net a line, an invented format that shows how one is added."""

import re
from pathlib import Path

from ohmtrail.importers import Importer
from ohmtrail.netanalysis.board import Board

__all__ = ["IMPORTER"]

_HEADER = re.compile(rb"(?:\xef\xbb\xbf)?wirelist [0-9]+[ \t]*\r?\n")


def _sniff(head: bytes) -> bool:
    return _HEADER.match(head) is not None


def _read(path: Path) -> Board:
    from ohmtrail_wirelist._read import read

    return read(path)


#: The importer, as the entry point names it.
IMPORTER = Importer(
    name="wirelist",
    title="wire list (example)",
    suffixes=(".wirelist",),
    standard="docs/add-a-format.md of ohmtrail",
    cannot_tell=("values", "pin names", "positions", "sides", "sheets"),
    sniff=_sniff,
    read=_read,
)
