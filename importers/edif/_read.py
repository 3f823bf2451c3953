"""A board from an EDIF file."""

from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._pause import no_collection
from ohmtrail.importers._text import read_text
from ohmtrail.importers.edif._cells import Cell, Library, View, libraries
from ohmtrail.importers.edif._contents import Reader
from ohmtrail.importers.edif._flatten import flatten
from ohmtrail.importers.edif._names import Table, name_of
from ohmtrail.importers.edif._parts import parts_of
from ohmtrail.importers.edif._tree import Node, Source, first, lists
from ohmtrail.netanalysis.board import Board, Unused, make_board

__all__ = ["read"]


def _version(source: Source) -> str:
    node = first(source.tree, "edifversion")
    found = " ".join(x for x in (node or [])[2:] if isinstance(x, str))
    if node is not None and found != "2 0 0":
        raise source.error(f"found EDIF version {found!r}, expected 2 0 0", node)
    return found


def _inside(node: Node | None) -> set[str]:
    """Return the identifiers of cells of which ``node`` has instances."""
    found: set[str] = set()
    pending = list(lists(node, "contents"))
    while pending:
        here = pending.pop()
        if here[0] == "cellref" and len(here) > 2 and isinstance(here[2], str):
            found.add(here[2].casefold())
        pending += [child for child in here[2:] if isinstance(child, list)]
    return found


def _top(reader: Reader, table: Table[Library], unused: list[Unused]) -> Cell:
    """Return the design's cell; without a design the one that nobody uses."""
    source = reader.source
    designs = lists(source.tree, "design")
    if len(designs) > 1:
        unused.append(Unused("further design", str(source.path), len(designs) - 1))
    if designs:
        reference = first(designs[0], "cellref")
        if reference is None:
            raise source.error("found a design without '(cellRef'", designs[0])
        return reader.cell(reference, None)
    cells = [cell for library in table.all() for cell in library.cells.all()]
    used: set[str] = set()
    for cell in cells:
        for view in cell.views.all():
            used |= _inside(view.node)
    tops = [
        cell
        for cell in cells
        if cell.name.identifier.casefold() not in used
        and any(view.contents is not None for view in cell.views.all())
    ]
    if len(tops) != 1:
        raise ParseError(
            f"found no '(design' and {len(tops)} cells that no other uses, "
            "expected one",
            source.path,
            1,
        )
    return tops[0]


def _ports(top: View, unused: list[Unused]) -> None:
    if top.bits:
        cell = top.cell.name.text
        unused.append(Unused("port of the whole design", f"cell {cell}", top.bits))


def read(path: Path) -> Board:
    """Read an EDIF 2 0 0 netlist.

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
    O(size of the file and of the flattened design).  Ports of the whole design
    are no parts: they are counted in ``Board.unused``.
    """
    with no_collection():
        return _board(path)


def _board(path: Path) -> Board:
    source = Source(read_text(path), path)
    if source.tree[0] != "edif":
        raise source.error(f"found '({source.tree[0]}', expected '(edif'", source.tree)
    version = _version(source)
    table = libraries(source)
    reader = Reader(source, table)
    unused: list[Unused] = []
    cell = _top(reader, table, unused)
    top = reader.view(cell, None, cell.node)
    if top.contents is None:
        raise source.error(
            f"found cell {cell.name.text} without contents, expected a netlist",
            top.node,
        )
    flat = flatten(reader, top)
    _ports(top, unused)
    parts, order, aliases = parts_of(source, flat, unused)
    unused += [
        Unused(f"'{what}' among the contents", str(path), count)
        for what, count in reader.unused.items()
    ]
    return make_board(
        name=name_of(source, source.tree).text or path.name.split(".", 1)[0],
        format="edif",
        version=version,
        parts=parts,
        net_order=order,
        aliases=aliases,
        sheets=flat.sheets,
        unused=unused,
    )
