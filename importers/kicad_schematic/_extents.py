"""How much room what is drawn on a sheet takes: bodies, texts, labels, sheets.

Lengths are in units of 100 nm, y down, except in a library, where y points up.
"""

import itertools
from collections.abc import Callable, Iterable, Iterator

from ohmtrail.importers._sexpr import Grammar, Node
from ohmtrail.importers.kicad_schematic._library import coordinate, flag, word
from ohmtrail.importers.kicad_schematic._screen import Point, Screen, Symbol
from ohmtrail.importers.kicad_schematic._touch import pin_position

__all__ = ["Body", "Box", "Looks", "looks_of", "page_size", "text_box"]

#: Left, top, right, bottom.
Box = tuple[int, int, int, int]

_GRAMMAR = Grammar(
    skip=["embedded_files", "fill", "instances", "stroke", "symbol_instances", "uuid"],
    lists_max=3_000_000,
)
_MM = 10_000
#: Width and pitch of a letter's line, in text sizes; KiCad's stroke font as measured.
_WIDE, _PITCH = 0.95, 1.62
_LABELS = ("label", "global_label", "hierarchical_label", "directive_label")
#: Paper, landscape, in millimetres (ISO 216; ANSI/ASME Y14.1).
_PAPER = {
    "A5": (210, 148),
    "A4": (297, 210),
    "A3": (420, 297),
    "A2": (594, 420),
    "A1": (841, 594),
    "A0": (1189, 841),
    "A": (279.4, 215.9),
    "B": (431.8, 279.4),
    "C": (558.8, 431.8),
    "D": (863.6, 558.8),
    "E": (1117.6, 863.6),
    "USLetter": (279.4, 215.9),
    "USLegal": (355.6, 215.9),
    "USLedger": (431.8, 279.4),
}


class Body:
    """What the library draws of one unit in one style, y up."""

    def __init__(self) -> None:
        self.points: list[Point] = []
        #: Where a pin meets the body, by (number, where it connects).
        self.roots: dict[tuple[str, Point], Point] = {}


class Looks:
    """What a file draws beyond its connections."""

    def __init__(self) -> None:
        self.page = (0.0, 0.0)
        #: Bodies by symbol name, then (unit, style); 0 stands for all.
        self.library: dict[str, dict[tuple[int, int], Body]] = {}
        #: Room taken by texts, labels, sheets and pictures.
        self.taken: list[Box] = []
        #: Lines that are no wires.
        self.lines: list[tuple[Point, Point]] = []

    def body(self, names: Iterable[str], unit: int, style: int) -> Body:
        """Return all that is drawn of a unit of the first of these that is there."""
        made = Body()
        for name in names:
            if name in self.library:
                for (u, s), one in self.library[name].items():
                    if u in (0, unit) and s in (0, style):
                        made.points += one.points
                        made.roots |= one.roots
                break
        return made


def _lists(node: Node) -> Iterator[Node]:
    return (item for item in node if isinstance(item, list) and item)


def _find(node: Node, head: str) -> Node:
    return next((item for item in _lists(node) if item[0] == head), [])


def _point(node: Node) -> Point:
    return coordinate(node[1]), coordinate(node[2])


def _points(node: Node) -> list[Point]:
    """Return points that span one drawn shape."""
    if node[0] == "circle":
        (x, y), r = _point(_find(node, "center")), _find(node, "radius")
        reach = coordinate(r[1]) if r else 0
        return [(x - reach, y - reach), (x + reach, y + reach)]
    found = [_point(one) for one in _lists(_find(node, "pts")) if one[0] == "xy"]
    for head in ("start", "mid", "end"):
        one = _find(node, head)
        if one:
            found.append(_point(one))
    return found


_SHAPES = ("arc", "bezier", "circle", "polyline", "rectangle")


def _library(node: Node, looks: Looks) -> None:
    parents: dict[str, str] = {}
    for symbol in _lists(node):
        if symbol[0] != "symbol":
            continue
        name = word(symbol)
        bodies = looks.library.setdefault(name, {})
        extends = _find(symbol, "extends")
        if extends:
            parents[name] = word(extends)
        for part in _lists(symbol):
            if part[0] != "symbol":
                continue
            _, unit, style = word(part).rsplit("_", 2)
            body = bodies.setdefault((int(unit), int(style)), Body())
            for item in _lists(part):
                if item[0] in _SHAPES:
                    body.points += _points(item)
                elif item[0] == "pin":
                    _pin(item, body)
    for name, parent in parents.items():
        prefix = name.rpartition(":")[0]
        base = looks.library.get(parent) or looks.library.get(f"{prefix}:{parent}")
        if base and not looks.library[name]:
            looks.library[name] = base


def _pin(node: Node, body: Body) -> None:
    at, length, number = _find(node, "at"), _find(node, "length"), ""
    named = _find(node, "number")
    if named:
        number = word(named)
    x, y = _point(at)
    reach = coordinate(length[1]) if length else 0
    turn = round(float(at[3])) % 360 if len(at) > 3 else 0
    dx, dy = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}.get(turn, (0, 0))
    body.roots["" if number == "~" else number, (x, y)] = (
        x + dx * reach,
        y + dy * reach,
    )


def text_box(
    text: str,
    at: Point,
    size: int,
    *,
    across: float = 0.0,
    down: float = 0.0,
    along: Point = (1, 0),
    below: Point = (0, 1),
) -> Box:
    """Return about the room that a text takes.

    Parameters
    ----------
    text : str
        May have several lines.
    at : Point
        Where it is anchored.
    size : int
        Height of a letter.
    across, down : float
        Which part of its width lies before the anchor, and of its height above:
        0 none, 0.5 half, 1 all.
    along, below : Point
        Directions in which it is read, and in which the next line stands.
    """
    lines = text.split("\n")
    wide = max(map(len, lines)) * size * _WIDE
    high = ((len(lines) - 1) * _PITCH + 1.2) * size
    xs, ys = [], []
    for part, line in ((-across, -down), (1 - across, 1 - down)):
        xs.append(at[0] + round(part * wide * along[0] + line * high * below[0]))
        ys.append(at[1] + round(part * wide * along[1] + line * high * below[1]))
    return min(xs), min(ys), max(xs), max(ys)


def _effects(node: Node) -> tuple[int, list[str], bool]:
    """Return text size, justification and whether it is hidden."""
    effects = _find(node, "effects")
    size = _find(_find(effects, "font"), "size")
    hidden = _find(effects, "hide") or _find(node, "hide")
    return (
        coordinate(size[1]) if size else round(1.27 * _MM),
        [str(one) for one in _find(effects, "justify")[1:]],
        flag(hidden) if hidden else "hide" in effects or "hide" in node,
    )


def _share(words: list[str], low: str, high: str) -> float:
    return 0.0 if low in words else 1.0 if high in words else 0.5


#: Directions of reading by angle; KiCad never turns a text upside down.
_ALONG = {0: (1, 0), 90: (0, -1), 180: (1, 0), 270: (0, -1)}
Turn = Callable[[int, int], Point]


def _as_it_is(x: int, y: int) -> Point:
    return x, y


def _text(node: Node, text: str, turn: Turn = _as_it_is) -> Box | None:
    """Return the room of a text; ``turn`` is what its symbol does to directions."""
    at = _find(node, "at")
    size, words, hidden = _effects(node)
    if hidden or not at or not text.strip():
        return None
    angle = round(float(at[3])) % 360 if len(at) > 3 else 0
    across, down = _share(words, "left", "right"), _share(words, "top", "bottom")
    if angle in (180, 270):
        across, down = 1 - across, 1 - down
    x, y = _ALONG.get(angle, (1, 0))
    along, below = turn(x, y), turn(-y, x)
    return text_box(
        text, _point(at), size, across=across, down=down, along=along, below=below
    )


def _label(node: Node) -> Box:
    at = _find(node, "at")
    size, _, _ = _effects(node)
    angle = round(float(at[3])) % 360 if len(at) > 3 else 0
    # A global or hierarchical label has a flag around or before its text.
    text = word(node) if node[0] != "directive_label" else ""
    text += "" if node[0] == "label" else "mm"
    x, y = _ALONG.get(angle, (1, 0))
    return text_box(
        text,
        _point(at),
        size,
        across=1.0 if angle in (180, 270) else 0.0,
        down=1.0 if node[0] == "label" else 0.5,
        along=(x, y),
        below=(-y, x),
    )


def _turn(node: Node) -> Turn:
    """Return what a placed symbol does to directions."""
    at, mirror = _find(node, "at"), _find(node, "mirror")
    symbol = Symbol(
        angle=round(float(at[3])) % 360 if len(at) > 3 else 0,
        mirror=word(mirror) if mirror else "",
    )
    return lambda x, y: pin_position(symbol, x, -y)


def _properties(node: Node) -> Iterator[Box]:
    turn = _turn(node) if node[0] == "symbol" else _as_it_is
    for item in _lists(node):
        if item[0] == "property":
            words = [one for one in item[1:] if isinstance(one, str)]
            box = _text(item, words[-1] if len(words) > 1 else "", turn)
            if box is not None:
                yield box


def _area(node: Node) -> Box:
    x, y = _point(_find(node, "at"))
    size = _find(node, "size")
    wide, high = _point(size) if size else (0, 0)
    return x, y, x + wide, y + high


def page_size(node: Node) -> tuple[float, float]:
    """Return width and height in millimetres of what ``(paper ...)`` says; A4 else."""
    words = [str(one) for one in node[1:]]
    if words[:1] == ["User"] and len(words) >= 3:
        return float(words[1]), float(words[2])
    wide, high = _PAPER.get(words[0] if words else "A4", _PAPER["A4"])
    return (high, wide) if "portrait" in words else (wide, high)


def _take(node: Node, looks: Looks) -> None:
    head = node[0]
    box: Box | None = None
    if head == "paper":
        looks.page = page_size(node)
    elif head == "lib_symbols":
        _library(node, looks)
    elif head in _LABELS:
        box = _label(node)
    elif head == "text":
        box = _text(node, word(node))
    elif head in ("text_box", "sheet"):
        box = _area(node)
    elif head == "rectangle":
        # Its frame; what stands inside takes its own room.
        (ax, ay), (bx, by) = _points(node)[:2]
        ring = [(ax, ay), (bx, ay), (bx, by), (ax, by), (ax, ay)]
        looks.lines += itertools.pairwise(ring)
    elif head == "polyline":
        looks.lines += itertools.pairwise(_points(node))
    elif head in ("arc", "circle", "bezier"):
        points = _points(node)
        xs, ys = [x for x, _ in points], [y for _, y in points]
        box = (min(xs), min(ys), max(xs), max(ys))
    if head in ("symbol", "sheet", "global_label", "directive_label"):
        looks.taken += _properties(node)
    if box is not None:
        looks.taken.append(box)


def looks_of(screen: Screen) -> Looks:
    """Read once more what the netlister skips: all that is drawn.

    Notes
    -----
    O(length of the file).  A damaged drawing takes no room.
    """
    looks = Looks()
    looks.page = page_size([])
    for node in _lists(_GRAMMAR.parse(screen.text, screen.path)):
        try:
            _take(node, looks)
        except (ArithmeticError, IndexError, ValueError, TypeError, AttributeError):
            continue
    return looks
