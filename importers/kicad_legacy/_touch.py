"""What touches on one sheet file: pins, labels and sheet pins in groups."""

import re
from dataclasses import dataclass, field

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._union import KeyUnion
from ohmtrail.importers.kicad_legacy._library import LibPin, LibSymbol
from ohmtrail.importers.kicad_legacy._lines_through import Through
from ohmtrail.importers.kicad_legacy._model import Label, Point, Screen, SheetPin

__all__ = ["MEMBER", "POWER", "Group", "Touching", "members", "touching"]

#: Kind of the name that a hidden power-input pin gives.
POWER = "power pin"
#: Put after a label's kind where the name is one member of a bus.
MEMBER = " of a bus"

_BUS = re.compile(r"(\S+)\[(\d+)\.+(\d+)\]")
_MEMBERS_MAX = 400_000
#: A drawing has few directions; with many, only so many look-ups are done.
_DIRECTIONS = 8
_LOOK_UPS_MAX = 20_000_000


@dataclass(slots=True, eq=False)
class Group:
    """Items of one sheet that are joined by wires, or by a bus."""

    #: Index of the symbol on the sheet, with its pin.
    pins: list[tuple[int, LibPin]] = field(default_factory=list)
    #: Kind and text of each name.
    names: list[tuple[str, str]] = field(default_factory=list)
    #: Index of the sheet symbol, with the pin's text.
    edges: list[tuple[int, str]] = field(default_factory=list)


@dataclass(slots=True, eq=False)
class Touching:
    """Groups of a sheet, and what stood alone."""

    groups: list[Group]
    #: Bus labels on a wire, which they do not name, as file lines.
    loose: list[int]


def members(text: str) -> tuple[str, range] | None:
    """Return name and numbers of a bus label, None for any other label.

    Examples
    --------
    >>> members("DQ[7..0]")
    ('DQ', range(0, 8))
    >>> members("DQ7") is None
    True
    """
    match = _BUS.fullmatch(text)
    if match is None:
        return None
    low, high = sorted((int(match[2][:10]), int(match[3][:10])))
    return match[1], range(low, high + 1)


def _position(
    at: Point, matrix: tuple[int, int, int, int], x: int, y: int
) -> tuple[int, int]:
    a, b, c, d = matrix
    return at[0] + a * x + b * y, at[1] + c * x + d * y


class _Sheet:
    """Builds the groups of one sheet."""

    def __init__(self, screen: Screen) -> None:
        self.screen = screen
        self.wires: KeyUnion[Point] = KeyUnion()
        self.buses: KeyUnion[Point] = KeyUnion()
        for union, lines in ((self.wires, screen.wires), (self.buses, screen.buses)):
            for a, b in lines:
                union.join_keys(a, b)
        self.on_wire = Through(screen.wires, self.wires.join_keys)
        self.on_bus = Through(screen.buses, self.buses.join_keys)
        points = len(screen.labels) + len(screen.junctions)
        directions = self.on_wire.directions + self.on_bus.directions
        if directions > _DIRECTIONS and points * directions > _LOOK_UPS_MAX:
            raise ParseError(
                f"found lines of {directions} directions and {points} labels and"
                " junctions, expected a drawing of straight wires",
                screen.path,
            )
        for point in screen.junctions:
            for there in self.on_wire(point):
                self.wires.join_keys(point, there)
            for there in self.on_bus(point):
                self.buses.join_keys(point, there)
        self.groups: dict[int | tuple[int, int], Group] = {}
        self.count = 0

    def group(self, point: Point) -> Group:
        return self._group(self.wires.find_key(point))

    def _group(self, key: int | tuple[int, int]) -> Group:
        found = self.groups.get(key)
        if found is None:
            found = self.groups[key] = Group()
        return found

    def bus(self, item: Label | SheetPin, numbers: range) -> list[Group]:
        """Return the groups of a bus label's members, in their order."""
        self.count += len(numbers)
        if self.count > _MEMBERS_MAX:
            raise ParseError(
                f"found {item.text[:40]!r} and more than {_MEMBERS_MAX} bus members"
                " on a sheet, expected a bus of some wires",
                self.screen.path,
                item.line,
            )
        bus = self.buses.find_key(item.at)
        return [self._group((bus, number)) for number in numbers]


def touching(
    screen: Screen, symbols: list[LibSymbol | None], units: tuple[int, ...]
) -> Touching:
    """Work out what touches on one sheet.

    Wires join at their ends, and where a junction lies on them; collinear wires
    that overlap are one wire.  A label joins any wire that it lies on.  Pins and
    sheet pins join what has an end, a label or a pin at the very same place.

    Parameters
    ----------
    screen : Screen
        The sheet.
    symbols : list
        The library's symbol of each part here, None where there is none.
    units : tuple of int
        Which unit of it each part here is.

    Raises
    ------
    ParseError
        For buses of absurd width.

    Notes
    -----
    O(n log n) for drawings, whose lines have few directions.
    """
    sheet = _Sheet(screen)
    loose: list[int] = []
    for label in screen.labels:
        if members(label.text) is None:
            for there in sheet.on_wire(label.at):
                sheet.wires.join_keys(label.at, there)
        else:
            for there in sheet.on_bus(label.at):
                sheet.buses.join_keys(label.at, there)
            if label.at not in sheet.buses and sheet.on_wire(label.at):
                loose.append(label.line)
    for index, symbol in enumerate(screen.symbols):
        library = symbols[index]
        for pin in library.pins if library is not None else ():
            if pin.unit not in (0, units[index]):
                continue
            if pin.convert not in (0, symbol.convert):
                continue
            group = sheet.group(_position(symbol.at, symbol.matrix, pin.x, pin.y))
            group.pins.append((index, pin))
            if pin.electrical == "power_in" and pin.hidden and pin.name:
                group.names.append((POWER, pin.name))
    for label in screen.labels:
        bus = members(label.text)
        if bus is None:
            sheet.group(label.at).names.append((label.kind, label.text))
            continue
        for number, group in zip(bus[1], sheet.bus(label, bus[1]), strict=True):
            group.names.append((label.kind + MEMBER, f"{bus[0]}{number}"))
    for index, symbol_ in enumerate(screen.sheets):
        for edge in symbol_.pins:
            bus = members(edge.text)
            if bus is None:
                sheet.group(edge.at).edges.append((index, edge.text))
                continue
            for number, group in zip(bus[1], sheet.bus(edge, bus[1]), strict=True):
                group.edges.append((index, f"{bus[0]}{number}"))
    return Touching(list(sheet.groups.values()), loose)
