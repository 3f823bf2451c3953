"""One schematic file: what is drawn on it, before any sheet uses it."""

from dataclasses import dataclass, field
from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._sexpr import Grammar, Node
from ohmtrail.importers._text import read_text
from ohmtrail.importers.kicad_schematic._library import (
    LibSymbol,
    coordinate,
    flag,
    read_library,
    word,
)

__all__ = ["Label", "Point", "Screen", "Sheet", "SheetPin", "Symbol", "read_screen"]

#: A place on a sheet, in units of 100 nm, y down.
Point = tuple[int, int]

_GRAMMAR = Grammar(
    skip=[
        "arc",
        "bezier",
        "circle",
        "effects",
        "embedded_files",
        "fill",
        "image",
        "length",
        "polyline",
        "rectangle",
        "stroke",
        "table",
        "text",
        "text_box",
    ],
    # A placed pin for which no function was chosen.
    skip_patterns=[r'\(pin "[^"\\]*+"\s*+\(uuid [^()]*+\)\s*+\)'],
    lists_max=1_500_000,  # some 30 MB as KiCad writes it
)

#: Groups of a file that carry nothing electrical.
_QUIET = frozenset(
    [
        "arc",
        "bezier",
        "circle",
        "embedded_files",
        "embedded_fonts",
        "generator",
        "generator_version",
        "group",
        "image",
        "page",
        "paper",
        "polyline",
        "rectangle",
        "rule_area",
        "table",
        "text",
        "text_box",
        "uuid",
        "version",
        "sheet_instances",
        "bus_alias",
        "symbol_instances",
        "title_block",
        "lib_symbols",
        "wire",
        "bus",
        "bus_entry",
        "no_connect",
        "label",
        "global_label",
        "hierarchical_label",
        "symbol",
        "sheet",
    ]
)


@dataclass(slots=True, eq=False)
class Label:
    """A net label; ``kind`` is "label", "global_label" or "hierarchical_label"."""

    kind: str
    text: str
    at: Point
    node: Node


@dataclass(slots=True, eq=False)
class SheetPin:
    """A pin on the edge of a sheet symbol."""

    name: str
    shape: str
    at: Point


@dataclass(slots=True, eq=False)
class Sheet:
    """A sheet symbol: another file, used once here."""

    uuid: str
    name: str
    file: str
    pins: list[SheetPin]
    fields: dict[str, str]
    fitted: bool
    on_board: bool
    line: int = 0
    node: Node = field(default_factory=list)


@dataclass(slots=True, eq=False)
class Symbol:
    """A placed symbol; reference and unit may differ from use to use."""

    uuid: str = ""
    lib_id: str = ""
    lib_name: str = ""
    unit: int = 1
    style: int = 1
    x: int = 0
    y: int = 0
    angle: int = 0
    mirror: str = ""
    on_board: bool = True
    fitted: bool = True
    reference: str = ""
    value: str = ""
    footprint: str = ""
    fields: list[tuple[str, str]] = field(default_factory=list)
    #: Reference and unit by sheet path (identifiers joined with "/").
    instances: dict[str, tuple[str, int]] = field(default_factory=dict)
    #: Name of the chosen function, by pin number.
    alternates: dict[str, str] = field(default_factory=dict)


@dataclass(slots=True, eq=False)
class Screen:
    """One file, read once."""

    path: Path
    text: str
    tree: Node
    version: int = 0
    generator: str = ""
    uuid: str = ""
    library: dict[str, LibSymbol] = field(default_factory=dict)
    symbols: list[Symbol] = field(default_factory=list)
    sheets: list[Sheet] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    wires: list[tuple[Point, Point]] = field(default_factory=list)
    buses: list[tuple[Point, Point]] = field(default_factory=list)
    entries: list[tuple[Point, Point]] = field(default_factory=list)
    no_connects: list[Point] = field(default_factory=list)
    #: Where lines that pass are joined.
    junctions: list[Point] = field(default_factory=list)
    #: Net class directives; they name nothing but join crossing lines.
    directives: list[Point] = field(default_factory=list)
    aliases: dict[str, list[str]] = field(default_factory=dict)
    #: Reference, unit, value, footprint by path ("/sheet/symbol"), KiCad 6.
    instances: dict[str, tuple[str, int, str, str]] = field(default_factory=dict)
    title: dict[str, str] = field(default_factory=dict)
    #: How often each kind of group occurred that the importer does not know.
    unknown: dict[str, int] = field(default_factory=dict)

    def error(self, message: str, node: Node) -> ParseError:
        """Return an error that names the line on which ``node`` begins."""
        line = _GRAMMAR.line_of(self.text, self.tree, node)
        return ParseError(message, self.path, line)


def _point(node: Node) -> Point:
    return coordinate(node[1]), coordinate(node[2])


def _ends(node: Node) -> tuple[Point, Point]:
    for item in node:
        if item[0] == "pts":
            return _point(item[1]), _point(item[2])
    raise IndexError


def _label(node: Node) -> Label:
    at = (0, 0)
    for item in node[2:]:
        if item[0] == "at":
            at = _point(item)
            break
    return Label(node[0], word(node), at, node)


def _entry(node: Node) -> tuple[Point, Point]:
    x = y = dx = dy = 0
    for item in node[1:]:
        if item[0] == "at":
            x, y = _point(item)
        elif item[0] == "size":
            dx, dy = _point(item)
    return (x, y), (x + dx, y + dy)


def _property(node: Node) -> tuple[str, str]:
    if node[1] == "private":
        return word(node, 2), word(node, 3)
    return word(node), word(node, 2)


def _sheet(node: Node) -> Sheet:
    sheet = Sheet("", "", "", [], {}, True, True, node=node)
    for item in node:
        if isinstance(item, str):
            continue
        head = item[0]
        if head == "pin":
            at = next((_point(x) for x in item[3:] if x[0] == "at"), (0, 0))
            sheet.pins.append(SheetPin(word(item), word(item, 2), at))
        elif head == "property":
            key, text = _property(item)
            sheet.fields[key] = text
            if key in ("Sheetname", "Sheet name"):
                sheet.name = text
            elif key in ("Sheetfile", "Sheet file"):
                sheet.file = text
                sheet.node = item
        elif head == "uuid":
            sheet.uuid = word(item)
        elif head == "dnp":
            sheet.fitted = not flag(item)
        elif head == "on_board":
            sheet.on_board = flag(item)
    return sheet


def _instances(symbol: Symbol, node: Node) -> None:
    for project in node[1:]:
        for path in project[2:]:
            if path[0] != "path":
                continue
            reference, unit = "", 1
            for item in path[2:]:
                if item[0] == "reference":
                    reference = word(item)
                elif item[0] == "unit":
                    unit = int(item[1])
            symbol.instances[word(path)] = (reference, unit)


def _symbol(node: Node) -> Symbol:
    symbol = Symbol()
    for item in node:
        if isinstance(item, str):
            continue
        head = item[0]
        if head == "property":
            key, text = _property(item)
            if key == "Reference":
                symbol.reference = text
            elif key == "Value":
                symbol.value = text
            elif key == "Footprint":
                symbol.footprint = text
            else:
                symbol.fields.append((key, text))
        elif head == "pin":
            for part in item[2:]:
                if part[0] == "alternate":
                    symbol.alternates[item[1]] = word(part)
        elif head == "lib_id":
            symbol.lib_id = word(item)
        elif head == "lib_name":
            symbol.lib_name = word(item)
        elif head == "at":
            symbol.x, symbol.y = _point(item)
            symbol.angle = round(float(item[3])) % 360 if len(item) > 3 else 0
        elif head == "mirror":
            symbol.mirror = word(item)
        elif head == "unit":
            symbol.unit = int(item[1])
        elif head in ("convert", "body_style"):
            symbol.style = int(item[1])
        elif head == "on_board":
            symbol.on_board = flag(item)
        elif head == "dnp":
            symbol.fitted = not flag(item)
        elif head == "uuid":
            symbol.uuid = word(item)
        elif head == "instances":
            _instances(symbol, item)
    return symbol


def _old_instances(screen: Screen, node: Node) -> None:
    for path in node[1:]:
        reference, unit, value, footprint = "", 1, "", ""
        for item in path[2:]:
            if item[0] == "reference":
                reference = word(item)
            elif item[0] == "unit":
                unit = int(item[1])
            elif item[0] == "value":
                value = word(item)
            elif item[0] == "footprint":
                footprint = word(item)
        screen.instances[word(path)] = (reference, unit, value, footprint)


def _take(screen: Screen, node: Node) -> None:
    """Put one group of the file where it belongs."""
    head = node[0]
    if head == "wire":
        screen.wires.append(_ends(node))
    elif head == "symbol":
        screen.symbols.append(_symbol(node))
    elif head in ("label", "global_label", "hierarchical_label"):
        screen.labels.append(_label(node))
    elif head == "no_connect":
        screen.no_connects.append(_point(node[1]))
    elif head == "junction":
        screen.junctions.append(_point(node[1]))
    elif head in ("netclass_flag", "directive_label"):
        screen.directives.append(_label(node).at)
    elif head == "bus":
        screen.buses.append(_ends(node))
    elif head == "bus_entry":
        screen.entries.append(_entry(node))
    elif head == "sheet":
        screen.sheets.append(_sheet(node))
    elif head == "lib_symbols":
        screen.library = read_library(node)
    elif head == "bus_alias":
        screen.aliases[word(node)] = [word(node[2], n) for n in range(1, len(node[2]))]
    elif head == "symbol_instances":
        _old_instances(screen, node)
    elif head == "title_block":
        for item in node[1:]:
            key = item[0] + item[1] if item[0] == "comment" else item[0]
            screen.title[key] = word(item, -1)
    elif head == "uuid":
        screen.uuid = word(node)
    elif head == "version":
        screen.version = int(node[1])
    elif head in ("generator", "generator_version", "host"):
        screen.generator = " ".join([screen.generator, *node[1:]]).strip()
    elif head not in _QUIET:
        screen.unknown[head] = screen.unknown.get(head, 0) + 1


def read_screen(path: Path) -> Screen:
    """Read one ``.kicad_sch`` file.

    Raises
    ------
    ParseError
        If the file cannot be read, is not a KiCad schematic or is damaged.

    Notes
    -----
    O(length of the file).
    """
    text = read_text(path)
    if not text.lstrip().startswith("(kicad_sch"):
        first = text.lstrip()[:20].split("\n")[0]
        raise ParseError(f"found {first!r}, expected '(kicad_sch'", path, 1)
    tree = _GRAMMAR.parse(text, path)
    screen = Screen(path, text, tree)
    for node in tree[1:]:
        if isinstance(node, str) or not node:
            continue
        try:
            _take(screen, node)
        except (ArithmeticError, IndexError, ValueError, TypeError, AttributeError):
            head = node[0] if isinstance(node[0], str) else "("
            message = f"found a damaged group ({head} ...), expected KiCad's form"
            raise screen.error(message, node) from None
    if not screen.version:
        raise ParseError("found no (version ...), expected one", path, 1)
    return screen
