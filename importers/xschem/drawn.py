"""Where schematics show parts, pins and wires, for those who draw on a copy of them."""

import re
from collections.abc import Iterator
from itertools import groupby
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
from ohmtrail.importers.xschem._board import names_of, nets_of, packages_of
from ohmtrail.importers.xschem._design import Design, Use, read_design
from ohmtrail.importers.xschem._file import PinBox
from ohmtrail.importers.xschem._properties import ExpandError, expand
from ohmtrail.importers.xschem._sheet import Placed, Sheet
from ohmtrail.importers.xschem._symbol import pin_position

__all__ = ["drawn_schematics"]

#: What a thousandth of a unit counts as: pins stand 20 units apart, and then as far
#: from each other as on a sheet drawn on a grid of 2.54 mm.
_UNIT_MM = 0.000127
_MARGIN_MM = 30.0
#: A letter of size 1 is so high and so wide, in thousandths.
_HIGH, _WIDE = 40_000.0, 20_000.0
#: Half the width of a body of which nothing else is known.
_LEAST = 10_000
#: Texts of a symbol (its name and value) are taken to reach so far right of it.
_BESIDE = 50_000
_NUMBER = r"(-?[\d.]+(?:e[-+]?\d+)?)"
_SHAPE = re.compile(
    rf"^[LB] \d+ {_NUMBER} {_NUMBER} {_NUMBER} {_NUMBER} ", re.MULTILINE
)
_TEXT = re.compile(
    rf"^T \{{((?:[^\\{{}}]|\\.)*)\}} {_NUMBER} {_NUMBER} (\d) (\d) "
    rf"{_NUMBER} {_NUMBER} ",
    re.MULTILINE | re.DOTALL,
)


def drawn_schematics(path: Path) -> tuple[tuple[DrawnSheet, Frame], ...]:
    """Return what every schematic of a design shows, the root first.

    Parameters
    ----------
    path : Path
        The root.

    Returns
    -------
    tuple of (DrawnSheet, Frame)
        The frame turns the sheet's millimetres into thousandths of the file's units.

    Raises
    ------
    ImporterError
        As reading the board does.

    Notes
    -----
    As reading the board, and each schematic and symbol is looked over once more for
    its drawings.  Wires of several bits belong to no net.
    """
    design = read_design(Path(path))
    names, _ = names_of(design)
    nets = nets_of(design, packages_of(design), names)
    uses: dict[int, list[Use]] = {}
    for use in design.uses:
        uses.setdefault(id(use.sheet), []).append(use)
    bodies: dict[int, Box | None] = {}
    return tuple(_schematic(same, design, nets, bodies) for same in uses.values())


def _schematic(
    uses: list[Use],
    design: Design,
    nets: dict[int, str],
    bodies: dict[int, Box | None],
) -> tuple[DrawnSheet, Frame]:
    sheet = uses[0].sheet
    drawing = sheet.drawing
    closed = {(id(use), id(block)) for use, block in design.closed}
    soldered = {id(part) for part in sheet.parts}
    placed = [*sheet.parts, *sheet.blocks]
    # Parts of a vector share one drawing.
    drawn = [
        list(group) for _, group in groupby(placed, key=lambda one: id(one.instance))
    ]
    boxes = [_body(group[0], bodies) for group in drawn]
    texts = list(_texts(drawing.text))
    texts += [(right, top, right + _BESIDE, low) for _, top, right, low in boxes]
    texts += _labels(sheet)
    corners = [corner for box in (*boxes, *texts) for corner in (box[:2], box[2:])]
    for ax, ay, bx, by in drawing.wires:
        corners += [(ax, ay), (bx, by)]
    frame, size = frame_of(corners, unit_mm=_UNIT_MM, up=False, margin_mm=_MARGIN_MM)

    def net(use: Use, node: int | None) -> str | None:
        return None if node is None else nets.get(design.union.find(use.base + node))

    symbols = []
    for group, box in zip(drawn, boxes, strict=True):
        part = id(group[0]) in soldered
        refs = tuple(
            use.path[1:] + group[0].ref
            if part or (id(use), id(group[0])) in closed
            else ""
            for use in uses
        )
        pins = []
        for number, node, x, y in _pins(group[0]):
            here = frame.of_units(x, y)
            on = tuple(net(use, node) for use in uses)
            pins.append(DrawnPin(number, *here, *here, False, on))
        symbols.append(DrawnSymbol(refs, not any(refs), frame.box(box), tuple(pins)))
    found = DrawnSheet(
        drawing.path,
        0,
        size,
        tuple(use.path for use in uses),
        tuple(
            DrawnWire(
                *frame.of_units(ax, ay),
                *frame.of_units(bx, by),
                tuple(net(use, node) for use in uses),
            )
            for (ax, ay, bx, by), node in zip(drawing.wires, sheet.wires, strict=True)
        ),
        tuple(symbols),
        tuple(frame.box(box) for box in texts),
    )
    return found, frame


def _pins(item: Placed) -> Iterator[tuple[str, int, float, float]]:
    """Give number, node and place of each drawn pin; of a bus its first bit."""
    by_name: dict[str, tuple[float, float]] = {}
    for pin in item.symbol.pins:
        place = pin_position(item.instance, pin)
        name = pin.properties["name"]
        try:
            names = expand(name)
        except ExpandError:
            names = [name]
        for one in names:
            by_name.setdefault(one, place)
    for known in item.pins:
        if not known.hidden and known.name in by_name:
            yield known.number, known.node, *by_name[known.name]


def _body(item: Placed, known: dict[int, Box | None]) -> Box:
    """Return the box around a placed symbol's shapes and pins."""
    symbol = item.symbol
    if id(symbol) not in known:
        text = "" if symbol.path is None else read_text(symbol.path)
        known[id(symbol)] = around(_points(text))
    box = known[id(symbol)]
    spots = [pin_position(item.instance, pin) for pin in symbol.pins]
    spots = spots or [(item.instance.x, item.instance.y)]
    if box is not None:
        corners = (
            PinBox(round(box[0]), round(box[1]), {}),
            PinBox(round(box[2]), round(box[3]), {}),
        )
        spots += [pin_position(item.instance, corner) for corner in corners]
    left, right = min(x for x, _ in spots), max(x for x, _ in spots)
    top, low = min(y for _, y in spots), max(y for _, y in spots)
    if right - left < _LEAST:
        left, right = left - _LEAST, right + _LEAST
    if low - top < _LEAST:
        top, low = top - _LEAST, low + _LEAST
    return left, top, right, low


def _points(text: str) -> Iterator[tuple[float, float]]:
    for found in _SHAPE.finditer(text):
        ax, ay, bx, by = (float(word) * 1000 for word in found.groups())
        yield ax, ay
        yield bx, by


def _texts(text: str) -> Iterator[Box]:
    """Give a box around every text of a schematic."""
    for found in _TEXT.finditer(text):
        x, y = float(found[2]) * 1000, float(found[3]) * 1000
        lines = found[1].split("\n")
        wide = max(map(len, lines)) * _WIDE * float(found[6])
        high = len(lines) * _HIGH * float(found[7])
        if found[4] in "13":
            wide, high = high, wide
        yield x, y, x + wide, y + high


def _labels(sheet: Sheet) -> Iterator[Box]:
    """Give a box around every name of a net, on both sides of its place."""
    parts = {id(one.instance) for one in (*sheet.parts, *sheet.blocks)}
    for one in sheet.drawing.instances:
        if id(one) not in parts:
            reach = _WIDE * 0.25 * (len(one.properties.get("lab", "")) + 1)
            yield one.x - reach, one.y - _LEAST, one.x + reach, one.y + _LEAST
