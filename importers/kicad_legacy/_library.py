"""Reads legacy symbol libraries: pins of symbols by name."""

import re
from dataclasses import dataclass, field
from pathlib import Path

from ohmtrail.importers.kicad_legacy._lines import Lines

__all__ = ["LibPin", "LibSymbol", "Library", "read_library"]

_HEADER = re.compile(r"\s*EESchema-(LIB|LIBRARY)\b\s*(?:Version\s+(\S+))?")
_TYPES = {
    "I": "input",
    "O": "output",
    "B": "bidirectional",
    "T": "tri_state",
    "P": "passive",
    "U": "unspecified",
    "W": "power_in",
    "w": "power_out",
    "C": "open_collector",
    "E": "open_emitter",
    "N": "no_connect",
}


@dataclass(frozen=True, slots=True)
class LibPin:
    """A pin of a symbol; ``x`` and ``y`` (up) in thousandths of an inch."""

    name: str
    number: str
    x: int
    y: int
    #: Unit and drawing it belongs to; 0 for all of them.
    unit: int
    convert: int
    electrical: str
    hidden: bool


@dataclass(slots=True, eq=False)
class LibSymbol:
    """A symbol with all its units."""

    name: str
    units: int
    #: True for power symbols, which are no parts.
    power: bool
    aliases: list[str] = field(default_factory=list)
    pins: list[LibPin] = field(default_factory=list)


@dataclass(slots=True, eq=False)
class Library:
    """Symbols of one file, by name and by alias."""

    path: Path
    version: str
    symbols: dict[str, LibSymbol] = field(default_factory=dict)
    aliases: dict[str, list[LibSymbol]] = field(default_factory=dict)


def _pin(lines: Lines, words: list[str]) -> LibPin:
    # X name number x y length orientation snum snom unit convert type [shape]
    if len(words) < 12:
        raise lines.error("found a pin of too few words, expected 12 ('X name ...')")
    wanted = "numbers for place, unit and drawing of a pin"
    x, y = lines.integers(words[3:5], 2, wanted)
    unit, convert = lines.integers(words[9:11], 2, wanted)
    shape = words[12] if len(words) > 12 else ""
    return LibPin(
        "" if words[1] == "~" else words[1],
        "" if words[2] == "~" else words[2],
        x,
        y,
        unit,
        convert,
        _TYPES.get(words[11], ""),
        shape.startswith("N"),
    )


def _define(lines: Lines, words: list[str]) -> LibSymbol:
    """Read from ``DEF`` to ``ENDDEF``."""
    start = lines.number
    # DEF name reference unused text_offset numbers names units locked [power]
    if len(words) < 8:
        raise lines.error("found DEF of too few words, expected 'DEF name reference'")
    units = lines.integers(words[7:8], 1, "the number of units")[0]
    power = len(words) > 9 and words[9] == "P"
    # A leading ~ hides the name on the sheet and is no part of it.
    symbol = LibSymbol(words[1].removeprefix("~") or "~", units, power)
    while True:
        line = lines.next()
        if line is None:
            raise lines.error("found no ENDDEF for this symbol, expected one", start)
        if line.startswith("X "):
            symbol.pins.append(_pin(lines, line.split()))
        elif line.startswith("ALIAS"):
            symbol.aliases += [n.removeprefix("~") for n in line.split()[1:]]
        elif line.startswith("ENDDEF"):
            return symbol
        elif line.startswith("DEF "):
            raise lines.error(f"found {line[:40]!r}, expected ENDDEF")


def read_library(path: Path) -> Library | None:
    """Read a library; None if the file is something else (a model, say).

    Raises
    ------
    ImporterError
        If it cannot be read, or is damaged; with the line.

    Notes
    -----
    O(size of the file).
    """
    lines = Lines(path)
    header = _HEADER.match(lines.next() or "")
    if header is None:
        return None
    library = Library(path, header[2] or "")
    while True:
        line = lines.next()
        if line is None:
            return library
        if line.startswith("DEF "):
            symbol = _define(lines, line.split())
            library.symbols.setdefault(symbol.name, symbol)
            for alias in symbol.aliases:
                library.aliases.setdefault(alias, []).append(symbol)
