"""The symbols drawn in a schematic's own ``lib_symbols``: pins and properties."""

import re
from dataclasses import dataclass, field

from ohmtrail.importers._sexpr import Node

__all__ = ["LibPin", "LibSymbol", "coordinate", "flag", "read_library", "word"]

_UNIT = re.compile(r"_(\d+)_(\d+)$")
_COORDINATES: dict[str, int] = {}


def coordinate(text: str) -> int:
    """Return a length of the file (millimetres) in units of 100 nm.

    Raises
    ------
    ValueError
        If it is not a number.
    """
    value = _COORDINATES.get(text)
    if value is None:
        value = _COORDINATES[text] = round(float(text) * 10000)
    return value


def word(node: Node, place: int = 1) -> str:
    """Return the word at a place of a list.

    Raises
    ------
    IndexError, TypeError
        If the list ends before, or has a list there.
    """
    found = node[place]
    if isinstance(found, str):
        return found
    raise TypeError


def flag(node: Node) -> bool:
    """Return what ``(dnp yes)``, ``(dnp)`` or ``(hide no)`` says."""
    return len(node) < 2 or node[1] in ("yes", "true", "1")


@dataclass(slots=True, eq=False)
class LibPin:
    """A pin as the library draws it; ``y`` points up there."""

    number: str
    name: str
    electrical: str
    hidden: bool
    #: 0 means every unit, every body style.
    unit: int
    style: int
    x: int
    y: int
    #: Electrical type by the name of the alternate function.
    alternates: dict[str, str]


@dataclass(slots=True, eq=False)
class LibSymbol:
    """A symbol of ``lib_symbols``, parents merged in."""

    name: str
    #: "", "global" or "local".
    power: str = ""
    units: int = 1
    pins: list[LibPin] = field(default_factory=list)
    properties: dict[str, str] = field(default_factory=dict)
    #: Sets of pin numbers that the part joins inside.
    jumpers: list[list[str]] = field(default_factory=list)
    same_number_joined: bool = False
    _chosen: dict[tuple[int, int], list[LibPin]] = field(default_factory=dict)

    def pins_of(self, unit: int, style: int) -> list[LibPin]:
        """Return the pins that one placed unit in one body style shows."""
        key = (unit, style)
        found = self._chosen.get(key)
        if found is None:
            found = self._chosen[key] = [
                pin
                for pin in self.pins
                if pin.unit in (0, unit) and pin.style in (0, style)
            ]
        return found


#: Names of electrical types in files of early development versions.
_TYPES = {"unconnected": "no_connect", "unspc": "unspecified", "3state": "tri_state"}


def _read_pin(node: Node, unit: int, style: int) -> LibPin:
    x = y = 0
    name = number = ""
    hidden = False
    alternates: dict[str, str] = {}
    for item in node:
        if isinstance(item, str):
            if item == "hide":
                hidden = True
            continue
        head = item[0]
        if head == "at":
            x, y = coordinate(item[1]), coordinate(item[2])
        elif head == "name":
            name = word(item)
        elif head == "number":
            number = word(item)
        elif head == "alternate":
            alternates[word(item)] = _TYPES.get(item[2], item[2])
        elif head == "hide":
            hidden = flag(item)
    electrical = str(node[1])
    return LibPin(
        "" if number == "~" else number,  # as KiCad reads old files
        "" if name == "~" else name,
        _TYPES.get(electrical, electrical),
        hidden,
        unit,
        style,
        x,
        y,
        alternates,
    )


def _read_symbol(node: Node) -> tuple[LibSymbol, str]:
    """Return the symbol and the name of the one that it extends ("" for none)."""
    symbol = LibSymbol(word(node))
    parent = ""
    for item in node:
        if isinstance(item, str) or not item:
            continue
        head = item[0]
        if head == "property":
            words = [word for word in item[1:] if isinstance(word, str)]
            if words and words[0] == "private":
                words = words[1:]
            if len(words) >= 2:
                symbol.properties[words[0]] = words[1]
        elif head == "symbol":
            match = _UNIT.search(item[1])
            unit, style = (int(match[1]), int(match[2])) if match else (0, 0)
            symbol.units = max(symbol.units, unit)
            for part in item:
                if isinstance(part, list) and part and part[0] == "pin":
                    symbol.pins.append(_read_pin(part, unit, style))
        elif head == "power":
            symbol.power = "local" if item[1:2] == ["local"] else "global"
        elif head == "extends":
            parent = word(item)
        elif head == "jumper_pin_groups":
            symbol.jumpers = [
                [word(group, place) for place in range(len(group))]
                for group in item[1:]
                if isinstance(group, list)
            ]
        elif head == "duplicate_pin_numbers_are_jumpers":
            symbol.same_number_joined = flag(item)
        elif head == "pin":
            symbol.pins.append(_read_pin(item, 0, 0))
    return symbol, parent


def read_library(node: Node) -> dict[str, LibSymbol]:
    """Read ``(lib_symbols ...)``, derived symbols completed from their parents.

    Raises
    ------
    IndexError, ValueError
        If a symbol is not shaped as the format says.
    """
    symbols: dict[str, LibSymbol] = {}
    parents: dict[str, str] = {}
    for item in node[1:]:
        if isinstance(item, list) and item and item[0] == "symbol":
            symbol, parent = _read_symbol(item)
            symbols[symbol.name] = symbol
            if parent:
                parents[symbol.name] = parent
    for name, parent in parents.items():
        symbol = symbols[name]
        seen = {name}
        while parent and parent not in seen:
            seen.add(parent)
            prefix = name.rpartition(":")[0]
            base = symbols.get(parent) or symbols.get(f"{prefix}:{parent}")
            if base is None:
                break
            if not symbol.pins:
                symbol.pins, symbol.units = base.pins, base.units
            symbol.power = symbol.power or base.power
            symbol.jumpers = symbol.jumpers or base.jumpers
            symbol.same_number_joined |= base.same_number_joined
            symbol.properties = {**base.properties, **symbol.properties}
            parent = parents.get(base.name, "")
    return symbols
