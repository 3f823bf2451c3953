"""Tell the three forms of a KiCad netlist apart and read each."""

from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._sexpr import Grammar
from ohmtrail.importers._text import read_bytes, read_text
from ohmtrail.importers.kicad_netlist._eeschema import read_eeschema
from ohmtrail.importers.kicad_netlist._export import board_of_export
from ohmtrail.importers.kicad_netlist._xml import parse_xml
from ohmtrail.netanalysis.board import Board

__all__ = ["read"]

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
    body = data.removeprefix(b"\xef\xbb\xbf").lstrip()
    if body.startswith(b"<"):
        tree, lines = parse_xml(data, path)
        return board_of_export(tree, path, lambda node: lines[id(node)])
    text = read_text(path)
    if body.startswith(b"#") or body.replace(b" ", b"")[:2] == b"({":
        return read_eeschema(text, path)
    grammar = Grammar(skip=_SKIP)
    tree = grammar.parse(text, path)
    if not tree or tree[0] != "export":
        found = tree[0] if tree and isinstance(tree[0], str) else ""
        raise ParseError(f"found '({found}', expected '(export'", path, 1)
    return board_of_export(tree, path, lambda node: grammar.line_of(text, tree, node))
