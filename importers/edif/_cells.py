"""Cells of an EDIF file: ports, instances and nets of the views that are used."""

from dataclasses import dataclass, field

from ohmtrail.importers.edif._names import Name, Table, member, name_of, words
from ohmtrail.importers.edif._tree import Node, Source, first, lists

__all__ = ["Cell", "Instance", "Library", "Port", "View", "interface", "libraries"]

_ELECTRICAL = {"input": "input", "output": "output", "inout": "bidirectional"}


@dataclass(frozen=True, slots=True)
class Port:
    """A port; its bits have the numbers ``base`` to ``base + name.width - 1``."""

    name: Name
    base: int
    electrical: str
    #: The package's pin, where the file has one, else "".
    designator: str


@dataclass(slots=True)
class Instance:
    """An instance, or one member of an array of them."""

    #: Reference designator, else the name.
    text: str
    designated: bool
    view: "View"
    properties: tuple[tuple[str, str], ...]
    #: Pin designators of this instance, by number of the port's bit.
    pins: dict[int, str]
    node: Node
    #: (bit of the view's ports, number of the net in the parent).
    joined: list[tuple[int, int]] = field(default_factory=list)


@dataclass(slots=True)
class View:
    """One view of a cell."""

    cell: "Cell"
    node: Node
    contents: Node | None
    ports: Table[Port] = field(default_factory=Table)
    #: Bundles: the ports' bits by the bundle's identifier.
    bundles: Table[list[int]] = field(default_factory=Table)
    bits: int = 0
    ready: bool = False
    #: Below: only of views with contents, once `read_contents` has read them.
    instances: list[Instance] = field(default_factory=list)
    #: Name of each net, and the own port bits that it joins.
    nets: list[tuple[str, list[int]]] = field(default_factory=list)
    globals: list[tuple[int, str]] = field(default_factory=list)


@dataclass(slots=True)
class Cell:
    """A cell and its views."""

    library: "Library"
    name: Name
    node: Node
    views: Table[View] = field(default_factory=Table)
    #: Library and name, as people call them.
    title: str = ""

    def __post_init__(self) -> None:
        self.title = f"{self.library.name.text}:{self.name.text}"


@dataclass(slots=True)
class Library:
    """A library and its cells."""

    name: Name
    cells: Table[Cell] = field(default_factory=Table)


def libraries(source: Source) -> Table[Library]:
    """Return the libraries of a file, their cells and views not yet read.

    Raises
    ------
    ParseError
        If a library, a cell of one, or a view of one occurs twice.
    """
    table: Table[Library] = Table()
    for node in lists(source.tree, "library", "external"):
        library = Library(name_of(source, node))
        if not table.add(library.name.identifier, library):
            raise source.error(f"found library {library.name.text} again", node)
        for child in lists(node, "cell"):
            cell = Cell(library, name_of(source, child), child)
            if not library.cells.add(cell.name.identifier, cell):
                raise source.error(f"found cell {cell.name.text} again", child)
            for view_node in lists(child, "view"):
                view = View(cell, view_node, first(view_node, "contents"))
                if not cell.views.add(name_of(source, view_node).identifier, view):
                    raise source.error(
                        f"found a view of cell {cell.name.text} again", view_node
                    )
    return table


def _port(source: Source, view: View, node: Node) -> Port:
    name = name_of(source, node)
    direction = first(node, "direction")
    word = words(direction).lower()
    port = Port(
        name, view.bits, _ELECTRICAL.get(word, ""), words(first(node, "designator"))
    )
    if not view.ports.add(name.identifier, port):
        raise source.error(f"found port {name.text} again", node)
    view.bits += name.width
    return port


def interface(source: Source, view: View) -> View:
    """Read a view's ports, once.

    Raises
    ------
    ParseError
        If a port has no name or occurs twice.
    """
    if view.ready:
        return view
    view.ready = True
    for node in lists(first(view.node, "interface"), "port", "portbundle"):
        if node[0] == "port":
            _port(source, view, node)
            continue
        bits: list[int] = []
        for child in lists(first(node, "listofports"), "port", "portbundle"):
            if child[0] != "port":
                raise source.error("found a bundle in a bundle, expected ports", child)
            port = _port(source, view, child)
            bits += range(port.base, port.base + port.name.width)
        if not view.bundles.add(name_of(source, node).identifier, bits):
            raise source.error("found a port bundle again", node)
    return view


def port_bits(source: Source, view: View, reference: Node) -> list[int]:
    """Return the bits that ``(portRef ...)`` names.

    Raises
    ------
    ParseError
        If there is no such port or member.
    """
    identifier, index = member(source, reference)
    port = view.ports.find(identifier)
    cell = view.cell.name.text
    if port is None:
        bits = view.bundles.find(identifier)
        if bits is None:
            raise source.error(
                f"found port {identifier}, which cell {cell} does not have", reference
            )
        base, width = 0, len(bits)
    else:
        base, width = port.base, port.name.width
        if index is None and width == 1:
            return [base]
        bits = None
    if index is None:
        return bits if bits is not None else list(range(base, base + width))
    if index >= width:
        raise source.error(
            f"found member {index} of port {identifier} of cell {cell}, "
            f"which has {width}, counted from 0",
            reference,
        )
    return [bits[index] if bits is not None else base + index]
