"""Copper of a board: each net a resistive sheet or a trace, pads hanging on it.

Nets that carry power are planes: a coarse grid of squares over the box of their
pads, 0.5 milliohm a square (ground 0.1).  All others are traces: the shortest
tree over their pads, as wide as the net's job asks for.  Every pad hangs on its
place by 0.1 to 0.6 milliohm.  Sheet: half a milliohm a square is 1 oz copper,
35 um thick; the widths are common practice, no source.
"""

import math
import random
from dataclasses import dataclass, field

from bench.model import Board

__all__ = ["Copper", "lay"]

_SHEET, _GROUND_SHEET = 0.5e-3, 0.1e-3
_POWER_WIDTH_MM, _TRACE_WIDTH_MM = 4.0, 0.25
_PLANE_PADS = 14
_CELLS, _GROUND_CELLS = 4, 6
#: Insulation of a net to ground: a board that has seen flux and dust.
_LEAK_OHMS = 2e9


@dataclass(slots=True)
class Copper:
    """Node on the copper by pad, what the pad hangs by, and the cards of the copper."""

    node: dict[tuple[str, str], str] = field(default_factory=dict)
    hang: dict[tuple[str, str], float] = field(default_factory=dict)
    cards: list[str] = field(default_factory=list)
    #: All nodes by net.
    nodes: dict[str, list[str]] = field(default_factory=dict)


def _wide(board: Board) -> set[str]:
    """Nets that carry power: rails, ground, both ends of switches and windings."""
    wide = {board.ground, *board.rails}
    for part in board.parts.values():
        if part.kind in ("inductor", "fuse"):
            wide |= {net for _, _, net in part.pins}
        elif part.kind == "mosfet" and len(part.pins) > 4:
            wide |= {net for _, name, net in part.pins if name != "G"}
    return wide - {""}


def lay(board: Board, seed: int) -> Copper:
    """Return the copper of a board.

    Raises
    ------
    KeyError
        If a pad has no place.
    """
    rng = random.Random(f"copper/{board.name}/{seed}")
    copper = Copper()
    wide = _wide(board)
    for code, (net, pads) in enumerate(sorted(board.nets().items())):
        places = [board.place(*pad) for pad in pads]
        for pad in pads:
            copper.hang[pad] = rng.uniform(0.1e-3, 0.6e-3)
        ground = net == board.ground
        if net in wide and len(pads) >= _PLANE_PADS:
            _plane(copper, code, net, pads, places, ground)
        else:
            _trace(copper, code, net, pads, places, net in wide, ground)
    return copper


def _names(copper: Copper, code: int, net: str, ground: bool, count: int) -> list[str]:
    """Name the nodes of a net; the first of ground is the reference."""
    names = [f"n{code}_{n}" for n in range(count)]
    if ground:
        names[0] = "0"
    else:
        copper.cards.append(f"rleak_{code} {names[0]} 0 {_LEAK_OHMS:g}")
    copper.nodes[net] = names
    return names


def _plane(
    copper: Copper,
    code: int,
    net: str,
    pads: list[tuple[str, str]],
    places: list[tuple[float, float]],
    ground: bool,
) -> None:
    left, right = min(x for x, _ in places), max(x for x, _ in places)
    top, low = min(y for _, y in places), max(y for _, y in places)
    width, height = max(right - left, 4.0), max(low - top, 4.0)
    most = _GROUND_CELLS if ground else _CELLS
    across = max(1, min(most, round(most * min(1.0, width / height))))
    down = max(1, min(most, round(most * min(1.0, height / width))))
    names = _names(copper, code, net, ground, across * down)
    sheet = _GROUND_SHEET if ground else _SHEET
    cell_x, cell_y = width / across, height / down
    for i in range(across):
        for j in range(down):
            here = names[i * down + j]
            if i + 1 < across:
                ohms = sheet * cell_x / cell_y
                there = names[(i + 1) * down + j]
                copper.cards.append(f"rx{code}_{i}_{j} {here} {there} {ohms:.6g}")
            if j + 1 < down:
                ohms = sheet * cell_y / cell_x
                there = names[i * down + j + 1]
                copper.cards.append(f"ry{code}_{i}_{j} {here} {there} {ohms:.6g}")
    for pad, (x, y) in zip(pads, places, strict=True):
        i = min(across - 1, int((x - left) / cell_x))
        j = min(down - 1, int((y - top) / cell_y))
        # what is left of the way to the middle of the cell, spread over the sheet
        off = math.dist((x - left, y - top), ((i + 0.5) * cell_x, (j + 0.5) * cell_y))
        copper.node[pad] = names[i * down + j]
        copper.hang[pad] += sheet * 0.5 * off / max(cell_x, cell_y)


def _trace(
    copper: Copper,
    code: int,
    net: str,
    pads: list[tuple[str, str]],
    places: list[tuple[float, float]],
    wide: bool,
    ground: bool,
) -> None:
    names = _names(copper, code, net, ground, len(pads))
    for pad, name in zip(pads, names, strict=True):
        copper.node[pad] = name
    sheet = _GROUND_SHEET if ground else _SHEET
    ohms_mm = sheet / (_POWER_WIDTH_MM if wide else _TRACE_WIDTH_MM)
    joined, free = [0], set(range(1, len(pads)))
    while free:
        length, a, b = min(
            (math.dist(places[a], places[b]), a, b) for a in joined for b in free
        )
        joined.append(b)
        free.discard(b)
        ohms = ohms_mm * max(length, 0.3)
        copper.cards.append(f"rt{code}_{b} {names[a]} {names[b]} {ohms:.6g}")
