"""One footprint of a layout: texts, position, pads."""

import math
from dataclasses import dataclass

from ohmtrail.importers._sexpr import Node
from ohmtrail.importers.kicad_layout._layers import Sides

__all__ = ["Footprint", "NodeError", "Pad", "child", "number", "read_footprint"]


class NodeError(ValueError):
    """A list of the tree does not hold what it should; the line is found later."""

    def __init__(self, message: str, node: Node) -> None:
        super().__init__(message)
        self.message = message
        self.node = node


@dataclass(frozen=True, slots=True)
class Pad:
    """One pad: a land of one pin, placed on the board."""

    #: Number of its pin, "" for bare copper, holes and paste apertures.
    number: str
    #: Name of its net, None for none.
    net: str | None
    name: str
    electrical: str
    x_mm: float
    y_mm: float
    #: "top", "bottom", "both", or "" for a pad without outer copper.
    side: str
    #: Extent along x and y.
    land_mm: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Footprint:
    """One footprint as the file has it."""

    ref: str
    value: str
    #: Library identifier of the footprint ("Package_SO:SOIC-8").
    library: str
    x_mm: float
    y_mm: float
    side: str
    #: Words of ``(attr ...)``.
    attributes: frozenset[str]
    #: Identifiers of sheets and symbol ("/uuid/uuid"), "" if not from a schematic.
    path: str
    #: Sheet name or path as stored; None where the version stores none.
    sheet: str | None
    fields: tuple[tuple[str, str], ...]
    pads: tuple[Pad, ...]


def child(node: Node, word: str) -> Node | None:
    """Return the first list inside ``node`` that begins with ``word``."""
    for item in node:
        if isinstance(item, list) and item and item[0] == word:
            return item
    return None


def number(node: Node, index: int) -> float:
    """Return an item of a list as a finite number.

    Raises
    ------
    NodeError
        If it is absent or no finite number.
    """
    text = node[index] if index < len(node) else None
    if isinstance(text, str):
        try:
            value = float(text)
        except ValueError:
            pass
        else:
            if math.isfinite(value):
                return value
    what = f"({node[0]} ...)" if node and isinstance(node[0], str) else "a list"
    found = "nothing" if text is None else "a list"
    if isinstance(text, str):
        found = repr(text[:40])
    raise NodeError(f"found {found} in {what}, expected a number", node)


def _word(node: Node | None, index: int = 1) -> str:
    """Return an item of a list as text, "" where there is none."""
    if node is None or index >= len(node):
        return ""
    item = node[index]
    return item if isinstance(item, str) else ""


def _net(node: Node | None, nets: dict[str, str]) -> str | None:
    """Name of the net in ``(net 5 "GND")``, ``(net 5)`` or ``(net "GND")``."""
    if node is None:
        return None
    if len(node) > 2:
        return _word(node, 2) or None
    text = _word(node)
    return nets.get(text, text) or None


def _pad(
    node: Node,
    at: tuple[float, float, float, float],
    sides: Sides,
    nets: dict[str, str],
) -> Pad:
    place = layers = net = function = kind = size = None
    for item in node[3:]:
        if item.__class__ is list and item:
            word = item[0]
            if word == "at":
                place = item
            elif word == "layers":
                layers = item
            elif word == "size":
                size = item
            elif word == "net":
                net = item
            elif word == "pinfunction":
                function = item
            elif word == "pintype":
                kind = item
    if len(node) < 2 or not isinstance(node[1], str):
        raise NodeError("found a pad without a number, expected (pad NUMBER ...)", node)
    if place is None:
        raise NodeError(f"found pad {node[1][:40]!r}, expected (at X Y) in it", node)
    x, y = number(place, 1), number(place, 2)
    left, top, cos, sin = at
    name = _word(function)
    net_name = _net(net, nets)
    # KiCad 6 and later take the number from a hole without copper; so do we,
    # unless an older file ties it to a net.
    bare = net_name is None and _word(node, 2) == "np_thru_hole"
    return Pad(
        "" if bare else node[1],
        net_name,
        "" if name == "~" else name,
        # KiCad marks a no-connect flag here too: "output+no_connect".
        _word(kind).removesuffix("+no_connect"),
        # Positive angles turn left on the screen, where y points down.
        round(left + x * cos + y * sin, 6),
        round(top - x * sin + y * cos, 6),
        sides.of_pad([x for x in layers or () if isinstance(x, str)]),
        _extent(size, place) if size is not None else None,
    )


def _extent(size: Node, place: Node) -> tuple[float, float]:
    """Return how far a pad reaches along x and y; its angle is that on the board."""
    width, height = number(size, 1), number(size, 2)
    turn = math.radians(number(place, 3)) if len(place) > 3 else 0.0
    cos, sin = abs(math.cos(turn)), abs(math.sin(turn))
    return (
        round(width * cos + height * sin, 6),
        round(width * sin + height * cos, 6),
    )


def read_footprint(node: Node, sides: Sides, nets: dict[str, str]) -> Footprint:
    """Read ``(footprint ...)`` or, before version 6, ``(module ...)``.

    Parameters
    ----------
    node : Node
        The list.
    sides : Sides
        Layers of the board.
    nets : dict
        Net name by number, for pads that give the number alone.

    Raises
    ------
    NodeError
        If it has no position, or a pad or a position cannot be read.

    Notes
    -----
    O(length).  In the file of a flipped footprint offsets are already mirrored.
    """
    place = child(node, "at")
    if place is None:
        raise NodeError(
            f"found {node[0]} {_word(node)[:40]!r}, expected (at X Y) in it", node
        )
    x, y = number(place, 1), number(place, 2)
    angle = number(place, 3) if len(place) > 3 and place[3] != "unlocked" else 0.0
    turn = math.radians(angle)
    at = (x, y, math.cos(turn), math.sin(turn))
    texts: dict[str, str] = {}
    fields: list[tuple[str, str]] = []
    attributes: set[str] = set()
    path, sheet = "", None
    pads = []
    for item in node:
        if item.__class__ is not list or not item:
            continue
        word = item[0]
        if word == "pad":
            pads.append(_pad(item, at, sides, nets))
        elif word == "fp_text":
            texts.setdefault(_word(item), _word(item, 2))
        elif word == "property":
            name, text = _word(item), _word(item, 2)
            if name in ("Reference", "Value"):
                texts.setdefault(name.lower(), text)
            elif name == "Sheetname":
                sheet = text
            elif name == "dnp":
                attributes.add("dnp")
            elif name not in ("Footprint", "Sheetfile"):
                fields.append((name, text))
        elif word == "attr":
            attributes.update(x for x in item[1:] if isinstance(x, str))
        elif word == "path":
            path = _word(item)
        elif word == "sheetname":
            sheet = _word(item)
    return Footprint(
        ref=texts.get("reference", ""),
        value=texts.get("value", ""),
        library=_word(node),
        x_mm=x,
        y_mm=y,
        side=sides.of_layer(_word(child(node, "layer"))),
        attributes=frozenset(attributes),
        path=path,
        sheet=sheet,
        fields=tuple(fields),
        pads=tuple(pads),
    )
