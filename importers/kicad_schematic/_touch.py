"""Which items of a sheet touch: wires, labels, pins, bus entries."""

from bisect import bisect_left
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field

from ohmtrail.importers._union import KeyUnion
from ohmtrail.importers._wires import Slanted
from ohmtrail.importers.kicad_schematic._screen import (
    Label,
    Point,
    Screen,
    Sheet,
    SheetPin,
    Symbol,
)

__all__ = ["Cluster", "Skeleton", "pin_position", "skeleton_of"]

#: Rotation matrices (xx, xy, yx, yy) by angle; file y points down.
_ROTATE = {
    0: (1, 0, 0, 1),
    90: (0, 1, -1, 0),
    180: (-1, 0, 0, -1),
    270: (0, -1, 1, 0),
}
_MIRROR = {"": (1, 1), "x": (1, -1), "y": (-1, 1)}


def pin_position(symbol: Symbol, x: int, y: int) -> Point:
    """Return where a library pin (y up) of a placed symbol is on the sheet."""
    y = -y
    xx, xy, yx, yy = _ROTATE.get(symbol.angle, _ROTATE[0])
    x, y = xx * x + xy * y, yx * x + yy * y
    mx, my = _MIRROR.get(symbol.mirror, (1, 1))
    return symbol.x + mx * x, symbol.y + my * y


@dataclass(slots=True, eq=False)
class Cluster:
    """Labels, sheet pins and no-connect marks that touch one another."""

    labels: list[Label] = field(default_factory=list)
    sheet_pins: list[tuple[Sheet, SheetPin]] = field(default_factory=list)
    no_connect: bool = False


@dataclass(slots=True, eq=False)
class Skeleton:
    """Everything of a file that touches, but for the symbols' pins."""

    #: Cluster number by point, where a pin would connect.
    at: dict[Point, int]
    clusters: dict[int, Cluster]


class _Lines:
    """Finds the lines that pass through a point."""

    def __init__(self, lines: list[tuple[Point, Point]]) -> None:
        self.across: dict[int, list[tuple[int, int, int]]] = {}
        self.down: dict[int, list[tuple[int, int, int]]] = {}
        self.lines = [(*a, *b) for a, b in lines]
        slanted: list[int] = []
        for index, (ax, ay, bx, by) in enumerate(self.lines):
            if ay == by:
                span = (ax, bx, index) if ax < bx else (bx, ax, index)
                self.across.setdefault(ay, []).append(span)
            elif ax == bx:
                span = (ay, by, index) if ay < by else (by, ay, index)
                self.down.setdefault(ax, []).append(span)
            else:
                slanted.append(index)
        for group in (*self.across.values(), *self.down.values()):
            group.sort()
        self.slanted = Slanted(self.lines, slanted)

    def through(self, point: Point) -> list[int]:
        """Return the lines on which a point lies, ends included, in file order.

        A point one unit (100 nm) beside a line counts as on it.
        """
        x, y = point
        found = []
        for groups, row, along in ((self.across, y, x), (self.down, x, y)):
            for near in (row, row - 1, row + 1):
                group = groups.get(near)
                if group:
                    stop = bisect_left(group, (along + 1,))
                    found += [k for low, high, k in group[:stop] if along <= high]
        for index in self.slanted.near(x, y):
            ax, ay, bx, by = self.lines[index]
            if min(ax, bx) <= x <= max(ax, bx) and min(ay, by) <= y <= max(ay, by):
                dx, dy = bx - ax, by - ay
                if abs(dx * (y - ay) - dy * (x - ax)) <= max(abs(dx), abs(dy)):
                    found.append(index)
        found.sort()
        return found


def skeleton_of(screen: Screen, pins: set[Point]) -> Skeleton:
    """Work out what touches on one file.

    Parameters
    ----------
    pins : set of Point
        Where pins of symbols are.  A label in the middle of a wire belongs to
        the wire, but not if it sits on something else, such as a pin, there.

    Raises
    ------
    SlantedError
        If millions of points would be compared with long slanted lines.

    Notes
    -----
    Nearly O(items); a label is looked up among the lines of its row and column.
    """
    union: KeyUnion[object] = KeyUnion()
    node, join = union.node, union.join
    for a, b in screen.wires:
        join(node(a), node(b))
    for a, b in screen.buses:
        join(node((a, "bus")), node((b, "bus")))
    wires, buses = _Lines(screen.wires), _Lines(screen.buses)

    def passing(point: Point) -> list[int]:
        found = [node(screen.wires[index][0]) for index in wires.through(point)]
        for index in buses.through(point):
            found.append(node((screen.buses[index][0], "bus")))
        return found

    def attach(point: Point) -> int:
        here = node(point)
        bus = union.ids.get((point, "bus"))
        if bus is not None:
            join(here, bus)
        return here

    for a, b in screen.entries:
        free = [end for end in (a, b) if not buses.through(end)]
        if len(free) == 2:
            join(node(a), node(b))
        for end in free:
            for line in passing(end):
                join(node(end), line)
    for point in screen.junctions:
        here = attach(point)
        for line in passing(point):
            join(here, line)
    for point in pins:
        if (point, "bus") in union:
            attach(point)
    crowded = Counter(label.at for label in screen.labels)
    crowded.update(pin.at for sheet in screen.sheets for pin in sheet.pins)
    crowded.update(screen.no_connects)
    labels: list[tuple[int, Label]] = []
    for label in screen.labels:
        here = attach(label.at)
        lines = passing(label.at)
        if len(lines) > 1 or (crowded[label.at] == 1 and label.at not in pins):
            for line in lines:
                join(here, line)
        labels.append((here, label))
    for point in screen.directives:
        lines = passing(point)
        for line in lines[1:]:
            join(lines[0], line)
    edges: list[tuple[int, Sheet, SheetPin]] = []
    for sheet in screen.sheets:
        for pin in sheet.pins:
            here = attach(pin.at)
            if crowded[pin.at] == 1 and pin.at not in pins:
                for line in passing(pin.at)[:1]:
                    join(here, line)
            edges.append((here, sheet, pin))
    marks = [node(point) for point in screen.no_connects]
    return _collect(union, labels, edges, marks, union.find)


def _collect(
    union: KeyUnion[object],
    labels: list[tuple[int, Label]],
    pins: list[tuple[int, Sheet, SheetPin]],
    marks: list[int],
    find: Callable[[int], int],
) -> Skeleton:
    clusters: dict[int, Cluster] = {}
    for here, label in labels:
        clusters.setdefault(find(here), Cluster()).labels.append(label)
    for here, sheet, pin in pins:
        clusters.setdefault(find(here), Cluster()).sheet_pins.append((sheet, pin))
    for here in marks:
        clusters.setdefault(find(here), Cluster()).no_connect = True
    at = {
        (key[0], key[1]): find(number)
        for key, number in union.ids.items()
        if isinstance(key, tuple) and key[1] != "bus"
    }
    return Skeleton(at, clusters)
