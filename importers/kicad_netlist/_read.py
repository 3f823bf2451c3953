"""Tell the three forms of a KiCad netlist apart and read each."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeAlias

from ohmtrail.importers._bounds import TooManyError
from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._sexpr import Grammar
from ohmtrail.importers._text import read_bytes, read_text
from ohmtrail.importers.kicad_netlist._eeschema import read_eeschema
from ohmtrail.importers.kicad_netlist._export import board_of_export
from ohmtrail.importers.kicad_netlist._tree import Node, pack
from ohmtrail.importers.kicad_netlist._xml import parse_xml
from ohmtrail.netanalysis.board import Board

__all__ = ["read"]

#: Line of a list of the tree.
LineOf: TypeAlias = Callable[[Any], int]

_SKIP = ("title_block", "footprints", "tstamps", "tstamp", "ki_fp_filters")


def read(path: Path) -> Board:
    """Read a KiCad netlist of any form.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    ImporterError
        If it cannot be read or holds no netlist.

    Notes
    -----
    O(size of the file).
    """
    data = read_bytes(path)
    head = data[:64].removeprefix(b"\xef\xbb\xbf").lstrip()
    if head.startswith(b"<"):
        return _twice(path, lambda fold: parse_xml(data, path, fold))
    text = read_text(path)
    if head.startswith(b"#") or head.replace(b" ", b"")[:2] == b"({":
        return read_eeschema(text, path)
    return _twice(path, lambda fold: _parse(text, path, fold))


def _parse(text: str, path: Path, fold: bool) -> tuple[Node, LineOf]:
    """Return the tree of the s-expression form."""
    grammar = Grammar(skip=_SKIP)
    tree = grammar.parse(text, path, ("node", pack) if fold else None)
    if not tree or tree[0] != "export":
        found = tree[0] if tree and isinstance(tree[0], str) else ""
        raise ParseError(f"found '({found}', expected '(export'", path, 1)
    return tree, lambda node: grammar.line_of(text, tree, node)


def _twice(path: Path, parse: Callable[[bool], tuple[Node, LineOf]]) -> Board:
    """Make the board from the packed tree; from the whole one to name a fault.

    Packed nodes save most of the memory of a large netlist, but do not tell their
    line: a file that is wrong is parsed again.
    """
    packed = parse(True)[0]
    try:
        return board_of_export(packed, path, lambda node: 0)
    except TooManyError:
        raise
    except ParseError:
        tree, line_of = parse(False)
        return board_of_export(tree, path, line_of)
