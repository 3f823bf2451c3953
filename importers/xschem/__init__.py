"""xschem schematics (``.sch`` that begins ``v {xschem`` or, older, ``G {``)."""

import re
from pathlib import Path

from ohmtrail.importers._importer import Importer
from ohmtrail.netanalysis.board import Board

__all__ = ["IMPORTER"]

_HEADER = re.compile(
    rb"(?:\xef\xbb\xbf)?\s*(?:v\s*\{xschem\b|G\s*\{(?:[^\\}]++|\\.)*+\}\s*V\s*\{)",
    re.DOTALL,
)


def _sniff(head: bytes) -> bool:
    return _HEADER.match(head) is not None


def _read(path: Path) -> Board:
    from ohmtrail.importers.xschem._read import read

    return read(path)


IMPORTER = Importer(
    name="xschem",
    title="xschem schematic (.sch with its symbols)",
    suffixes=(".sch",),
    standard="xschem manual, developer information; nets as xschem's netlister",
    cannot_tell=("positions", "sides", "which parts are not fitted"),
    sniff=_sniff,
    read=_read,
)
