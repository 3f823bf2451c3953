"""Where pages show parts, pins and nets, for those who draw on a copy of them."""

import math
import re
from collections.abc import Callable, Iterator
from pathlib import Path

from ohmtrail.importers._drawn import (
    Box,
    DrawnPin,
    DrawnSheet,
    DrawnSymbol,
    DrawnWire,
    Frame,
    around,
    frame_of,
)
from ohmtrail.importers._text import read_text
from ohmtrail.importers._wires import join_wires
from ohmtrail.importers.lepton._board import nets_of, packages_of
from ohmtrail.importers.lepton._design import Design, Use, read_design
from ohmtrail.importers.lepton._names import name_nets
from ohmtrail.importers.lepton._objects import Drawing, PinLine
from ohmtrail.importers.lepton._sheet import Placed
from ohmtrail.importers.lepton._symbol import place

__all__ = ["drawn_pages"]

#: What a mil counts as: pins stand 200 or 300 mils apart, and then as far from each
#: other as on a sheet drawn on a grid of 2.54 mm.
_UNIT_MM = 0.0127
_MARGIN_MM = 40.0
#: Height of a letter and its width in mils, for a size of one point.
_HIGH, _WIDE = 13.9, 8.0
#: Half the width of a body of which nothing else is known, in mils.
_LEAST = 100
#: A whole number; longer ones are no place on a page.
_N = r"(-?\d{1,9})"
_TEXT = re.compile(
    rf"^T {_N} {_N} \d+ {_N} 1 (\d) {_N} (\d)(?: {_N})?\r?\n(.*)", re.MULTILINE
)
_SHAPE = re.compile(
    rf"^(?:([LB]) {_N} {_N} {_N} {_N}|V {_N} {_N} {_N}|A {_N} {_N} {_N} {_N} {_N}) ",
    re.MULTILINE,
)
#: Points that stand for a whole circle.
_AROUND = 16


def drawn_pages(path: Path) -> tuple[tuple[DrawnSheet, Frame], ...]:
    """Return what every page of a design shows, the root first.

    Parameters
    ----------
    path : Path
        The root page.

    Returns
    -------
    tuple of (DrawnSheet, Frame)
        The frame turns the sheet's millimetres into the file's mils.

    Raises
    ------
    ImporterError
        As reading the board does.

    Notes
    -----
    As reading the board, and each page and symbol is looked over once more for its
    drawings.  Symbols that are ports, blocks or names of nets count as power symbols.
    """
    design = read_design(Path(path), [])
    names, _ = name_nets(design)
    nets = nets_of(design, packages_of(design), names)
    uses: dict[int, list[Use]] = {}
    for use in design.uses:
        uses.setdefault(id(use.sheet), []).append(use)
    looks = _Looks()
    return tuple(
        _page(page, same, design, nets, looks)
        for same in uses.values()
        for page in same[0].sheet.pages
    )


class _Looks:
    """Boxes around the drawings of symbols, each file looked over once."""

    def __init__(self) -> None:
        self._known: dict[Path, Box | None] = {}

    def body(self, symbol: Drawing) -> Box | None:
        """Return the box around a symbol's shapes, None without any."""
        if symbol.path not in self._known:
            self._known[symbol.path] = around(_points(read_text(symbol.path)))
        return self._known[symbol.path]


def _points(text: str) -> Iterator[tuple[float, float]]:
    for found in _SHAPE.finditer(text):
        if found[1]:
            a, b, c, d = (float(word) for word in found.groups()[1:5])
            yield a, b
            yield (c, d) if found[1] == "L" else (a + c, b + d)
            continue
        circle = found[6] is not None
        words = found.groups()[5:8] if circle else found.groups()[8:11]
        x, y, radius = map(float, words)
        start, sweep = (0.0, 360.0) if circle else (float(found[12]), float(found[13]))
        for step in range(_AROUND + 1):
            angle = math.radians(start + sweep * step / _AROUND)
            yield x + radius * math.cos(angle), y + radius * math.sin(angle)


def _texts(text: str) -> Iterator[Box]:
    """Give a box around every visible text of a page."""
    for found in _TEXT.finditer(text):
        x, y, size, show, turn, align = (int(word) for word in found.groups()[:6])
        shown = found[8].rstrip("\r")
        if show:
            name, _, value = shown.partition("=")
            shown = value if show == 1 else name
        wide, high = len(shown) * size * _WIDE, int(found[7] or 1) * size * _HIGH
        if align >= 6:
            x -= round(wide)
        elif align >= 3:
            x -= round(wide / 2)
        y -= round(high * (align % 3) / 2)
        if turn in (90, 270):
            wide, high = high, wide
        yield x, y, x + wide, y + high


def _page(
    page: Drawing,
    uses: list[Use],
    design: Design,
    nets: dict[int, str],
    looks: _Looks,
) -> tuple[DrawnSheet, Frame]:
    placed = [item for item in uses[0].sheet.placed if item.page is page]
    drawn = [
        (item, [pin for pin in item.symbol.pins if not pin.bus])
        for item in placed
        if item.symbol is not None
    ]
    text = read_text(page.path)
    texts = list(_texts(text))
    corners: list[tuple[float, float]] = [
        place(item.component, x, y)
        for item, pins in drawn
        for pin in pins
        for x, y in ((pin.x, pin.y), (pin.far_x, pin.far_y))
    ]
    corners += [corner for wire in page.nets for corner in (wire[:2], wire[2:])]
    corners += [corner for box in texts for corner in (box[:2], box[2:])]
    bodies = [_body(item, pins, looks) for item, pins in drawn]
    corners += [corner for box in bodies for corner in (box[:2], box[2:])]
    frame, size = frame_of(corners, unit_mm=_UNIT_MM, up=True, margin_mm=_MARGIN_MM)

    def net(use: Use, group: int) -> str | None:
        return nets.get(design.union.find(use.base + group))

    symbols = []
    for (item, pins), body in zip(drawn, bodies, strict=True):
        if not pins:
            continue  # a title block
        made = []
        for pin, known in zip(pins, item.pins, strict=False):
            here = frame.of_units(*place(item.component, pin.x, pin.y))
            root = frame.of_units(*place(item.component, pin.far_x, pin.far_y))
            on = tuple(net(use, known.group) for use in uses)
            made.append(DrawnPin(known.number, *here, *root, False, on))
        refs = tuple(_ref(use, item, design) for use in uses)
        symbols.append(DrawnSymbol(refs, not any(refs), frame.box(body), tuple(made)))
    sheet = DrawnSheet(
        page.path,
        0,
        size,
        tuple(use.path for use in uses),
        tuple(_wires(page, drawn, uses, frame, net)),
        tuple(symbols),
        tuple(frame.box(box) for box in texts),
    )
    return sheet, frame


def _body(item: Placed, pins: list[PinLine], looks: _Looks) -> Box:
    """Return the box around a placed symbol's shapes, pins not counted."""
    component, symbol = item.component, item.symbol
    assert symbol is not None, "only those with a symbol are drawn"
    roots = [place(component, pin.far_x, pin.far_y) for pin in pins]
    spots = [(float(x), float(y)) for x, y in roots or [(component.x, component.y)]]
    box = None if component.embedded is not None else looks.body(symbol)
    if box is not None:
        for x, y in (box[:2], box[2:]):
            a, b = place(component, round(x), round(y))
            spots.append((float(a), float(b)))
    left, right = min(x for x, _ in spots), max(x for x, _ in spots)
    low, high = min(y for _, y in spots), max(y for _, y in spots)
    if right - left < _LEAST:
        left, right = left - _LEAST, right + _LEAST
    if high - low < _LEAST:
        low, high = low - _LEAST, high + _LEAST
    return left, low, right, high


def _ref(use: Use, item: Placed, design: Design) -> str:
    """Return the part's name in a use, "" for what is no part."""
    if item.graphical or item.no_connect or not item.name:
        return ""
    if id(item) in use.opened or id(item) in use.ports:
        return ""
    return design.folder.config.refdes.join(item.name, use.blocks)


def _wires(
    page: Drawing,
    drawn: list[tuple[Placed, list[PinLine]]],
    uses: list[Use],
    frame: Frame,
    net: Callable[[Use, int], str | None],
) -> Iterator[DrawnWire]:
    points = []
    groups = []
    for item, pins in drawn:
        for pin, known in zip(pins, item.pins, strict=False):
            points.append(place(item.component, pin.x, pin.y))
            groups.append(known.group)
    touch, where = join_wires(page.nets, points)
    group_of = {
        touch.find(node): group for node, group in zip(where, groups, strict=True)
    }
    for number, (ax, ay, bx, by) in enumerate(page.nets):
        group = group_of.get(touch.find(number))
        on = tuple(None if group is None else net(use, group) for use in uses)
        yield DrawnWire(*frame.of_units(ax, ay), *frame.of_units(bx, by), on)
