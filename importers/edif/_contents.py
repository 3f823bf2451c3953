"""Instances and nets inside a view."""

from collections import Counter
from collections.abc import Iterable
from typing import Any

from ohmtrail.importers.edif._cells import (
    Cell,
    Instance,
    Library,
    View,
    interface,
    port_bits,
)
from ohmtrail.importers.edif._names import Table, member, name_of, words
from ohmtrail.importers.edif._tree import Node, Source, first, lists

__all__ = ["Reader"]

#: Properties that hold a reference designator (common practice of writers).
_REFERENCE = ("reference", "refdes", "designator")
#: What stands among the contents and joins nothing.
_SILENT = (
    "comment userdata property figure symbol boundingbox commentgraphics timing "
    "simulate logicmodel".split()
)
_NONE = (None,)
_BITS_MAX = 2_000_000
_NETS_MAX = 500_000
_INSTANCES_MAX = 250_000


class Reader:
    """Finds cells, and reads the contents of those that are used.

    Parameters
    ----------
    source : Source
        The file.
    table : Table
        Its libraries.
    """

    def __init__(self, source: Source, table: Table[Library]) -> None:
        self.source = source
        self.libraries = table
        #: What was met among contents and not used, by keyword.
        self.unused: Counter[str] = Counter()
        self._bits = 0
        self._nets = 0
        self._instances = 0
        #: Views by what `_plain_reference` says of the reference.
        self._targets: dict[tuple[str, str, str], View] = {}

    def cell(self, reference: Node, home: Library | None) -> Cell:
        """Return the cell that ``(cellRef c (libraryRef l))`` names."""
        source = self.source
        identifier, _ = member(source, reference)
        there = first(reference, "libraryref")
        library = home
        if there is not None:
            library = self.libraries.find(member(source, there)[0])
            if library is None:
                raise source.error(
                    f"found library {there[2]}, which the file does not have", there
                )
        found = library.cells.find(identifier) if library is not None else None
        if found is None:
            where = f"library {library.name.text}" if library else "no library"
            raise source.error(f"found cell {identifier}, which {where} has", reference)
        return found

    def view(self, cell: Cell, identifier: str | None, place: Node) -> View:
        """Return a view of a cell: the named one, else the netlist."""
        if identifier is not None:
            view = cell.views.find(identifier)
            if view is None:
                raise self.source.error(
                    f"found view {identifier}, which cell {cell.name.text} "
                    "does not have",
                    place,
                )
            return interface(self.source, view)
        views = [v for v in cell.views.all() if self._is_netlist(v)]
        views = [v for v in views if v.contents is not None] or views
        if not views:
            raise self.source.error(
                f"found cell {cell.name.text} without a netlist view, expected one",
                cell.node,
            )
        return interface(self.source, views[0])

    @staticmethod
    def _is_netlist(view: View) -> bool:
        return words(first(view.node, "viewtype")).lower() in ("netlist", "")

    def read_contents(self, view: View) -> None:
        """Read instances and nets of a view with contents.

        Raises
        ------
        ParseError
            If something that is named is not there, a port stands in two nets,
            or widths do not agree.
        """
        table: Table[tuple[int, int]] = Table()
        contents = view.contents
        if contents is None:
            return
        nets: list[Node] = []
        for node in contents[2:]:
            keyword = node[0] if isinstance(node, list) else "a word"
            if keyword == "instance":
                self._instance(view, node, table)
            elif keyword == "net":
                nets.append(node)
            elif keyword == "netbundle":
                nets += lists(first(node, "listofnets"), "net")
            elif keyword == "page":
                raise self.source.error(
                    "found a page of a drawing, expected a netlist view", node
                )
            elif keyword not in _SILENT:
                self.unused[keyword] += 1
        taken: dict[tuple[int, int], Node] = {}
        for node in nets:
            self._net(view, node, table, taken)

    def _target(self, view: View, node: Node, inside: dict[str, list[Node]]) -> View:
        """Return the view of which ``(instance ...)`` is one."""
        reference = inside.get("viewref", _NONE)[0]
        key = _plain_reference(reference)
        known = self._targets.get(key) if key else None
        if known is not None:
            return known
        source = self.source
        wanted = None
        if reference is not None:
            wanted = member(source, reference)[0]
            cell_reference = first(reference, "cellref")
        else:
            cell_reference = inside.get("cellref", _NONE)[0]
            if cell_reference is None and (other := inside.get("viewlist")):
                reference = first(other[0], "viewref")
                cell_reference = first(reference, "cellref")
        if cell_reference is None:
            cell = view.cell
            if reference is None:
                name = name_of(source, node).text
                raise source.error(
                    f"found instance {name} of no cell, expected '(viewRef'", node
                )
        else:
            cell = self.cell(cell_reference, view.cell.library)
        target = self.view(cell, wanted, node)
        if key:
            self._targets[key] = target
        return target

    def _instance(self, view: View, node: Node, table: Table[tuple[int, int]]) -> None:
        source = self.source
        name = name_of(source, node)
        inside: dict[str, list[Node]] = {}
        for child in node[3:]:
            if isinstance(child, list):
                inside.setdefault(child[0], []).append(child)
        target = self._target(view, node, inside)
        properties = _properties(inside.get("property", ()))
        designator = words(inside.get("designator", _NONE)[0])
        for key, text in properties:
            if not designator and key.casefold() in _REFERENCE:
                designator = text
        pins: dict[int, str] = {}
        for child in inside.get("portinstance", ()):
            label = words(first(child, "designator"))
            if label:
                for bit in port_bits(source, target, child):
                    pins[bit] = label
        self._instances += name.width
        if self._instances > _INSTANCES_MAX:
            raise source.error(f"found more than {_INSTANCES_MAX} instances", node)
        if not table.add(name.identifier, (len(view.instances), name.size)):
            raise source.error(f"found instance {name.text} again", node)
        for index in range(name.width):
            view.instances.append(
                Instance(
                    designator if designator and not name.size else name.of(index),
                    bool(designator) and not name.size,
                    target,
                    properties,
                    pins,
                    node,
                )
            )

    def _endpoints(
        self, view: View, node: Node, table: Table[tuple[int, int]]
    ) -> list[tuple[int, int]]:
        """Return (number of the instance or -1, bit) of ``(portRef ...)``."""
        source = self.source
        if len(node) == 4 and type(node[2]) is str and _names(node[3], "instanceref"):
            # (portRef p (instanceRef i)), as nearly all are
            place = table.find(node[3][2])
            if place is not None and not place[1]:
                port = view.instances[place[0]].view.ports.find(node[2])
                if port is not None and not port.name.size:
                    return [(place[0], port.base)]
        reference = first(node, "instanceref")
        if reference is None and (nested := first(node, "portref")) is not None:
            reference = first(nested, "instanceref")
        if reference is None:
            return [(-1, bit) for bit in port_bits(source, view, node)]
        identifier, index = member(source, reference)
        found = table.find(identifier)
        if found is None:
            raise source.error(
                f"found instance {identifier}, which cell {view.cell.name.text} "
                "does not have",
                reference,
            )
        if first(reference, "instanceref") is not None:
            raise source.error("found a reference into an instance's cell", reference)
        begin, size = found
        if index is not None and index >= (size or 1):
            raise source.error(
                f"found member {index} of instance {identifier}, which has "
                f"{size or 1}, counted from 0",
                reference,
            )
        chosen = range(size or 1) if index is None else range(index, index + 1)
        bits = port_bits(source, view.instances[begin].view, node)
        return [(begin + k, bit) for k in chosen for bit in bits]

    def _net(
        self,
        view: View,
        node: Node,
        table: Table[tuple[int, int]],
        taken: dict[tuple[int, int], Node],
    ) -> None:
        source = self.source
        name = name_of(source, node)
        base = len(view.nets)
        view.nets += [(name.of(index), []) for index in range(name.width)]
        self._nets += name.width
        if self._nets > _NETS_MAX:
            raise source.error(f"found more than {_NETS_MAX} nets", node)
        joined: list[Any] = []
        pending = [node]
        while pending:  # a net may be written in pieces, each a net inside it
            piece = pending.pop()
            for child in piece[2:]:
                if not isinstance(child, list):
                    continue
                if child[0] == "joined":
                    joined += [c for c in child[2:] if isinstance(c, list)]
                elif child[0] == "net":
                    pending.append(child)
        for reference in joined:
            keyword = reference[0]
            if keyword == "globalportref":
                for index in range(name.width):
                    view.globals.append((base + index, member(source, reference)[0]))
                continue
            if keyword == "portref":
                ends = self._endpoints(view, reference, table)
            elif keyword == "portlist":
                ends = []
                for child in lists(reference, "portref"):
                    ends += self._endpoints(view, child, table)
            else:
                self.unused[f"{keyword} in a net"] += 1
                continue
            self._bits += len(ends)
            if self._bits > _BITS_MAX:
                raise source.error(
                    f"found more than {_BITS_MAX} joined port bits", reference
                )
            if len(ends) != name.width:
                raise source.error(
                    f"found {len(ends)} port bits joined to net {name.text} of "
                    f"{name.width}",
                    reference,
                )
            for index, (number, bit) in enumerate(ends):
                earlier = taken.setdefault((number, bit), node)
                if earlier is not node:
                    other = name_of(source, earlier).text
                    raise source.error(
                        f"found a port in net {name.text}, but it is in net {other}",
                        reference,
                    )
                if number < 0:
                    view.nets[base + index][1].append(bit)
                else:
                    view.instances[number].joined.append((bit, base + index))


def _names(node: Node | str, keyword: str) -> bool:
    """Whether a list is a keyword and a word."""
    return len(node) == 3 and node[0] == keyword and type(node[2]) is str


def _plain_reference(reference: Node | None) -> tuple[str, str, str] | None:
    """Return the words of ``(viewRef v (cellRef c (libraryRef l)))``, else None."""
    if reference is None or len(reference) != 4 or type(reference[2]) is not str:
        return None
    cell = reference[3]
    if len(cell) != 4 or cell[0] != "cellref" or type(cell[2]) is not str:
        return None
    library = cell[3]
    if not _names(library, "libraryref"):
        return None
    return reference[2], cell[2], library[2]


def _properties(nodes: Iterable[Node]) -> tuple[tuple[str, str], ...]:
    found = []
    for child in nodes:
        if len(child) > 3:
            key = child[2]
            if isinstance(key, list):
                key = (
                    words(key[3]) if key[0] == "rename" and len(key) > 3 else words(key)
                )
            found.append((key, words(child[3])))
    return tuple(found)
