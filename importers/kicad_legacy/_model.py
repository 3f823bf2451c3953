"""What a legacy sheet file holds, as plain records."""

from dataclasses import dataclass, field
from pathlib import Path

__all__ = [
    "GLOBAL",
    "HIERARCHICAL",
    "LOCAL",
    "Label",
    "Point",
    "Screen",
    "Sheet",
    "SheetPin",
    "Symbol",
]

#: A place on the sheet, in thousandths of an inch, y down.
Point = tuple[int, int]

LOCAL, HIERARCHICAL, GLOBAL = "label", "hierarchical label", "global label"


@dataclass(frozen=True, slots=True)
class Label:
    """A label: ``kind`` is `LOCAL`, `HIERARCHICAL` or `GLOBAL`."""

    kind: str
    at: Point
    text: str
    line: int


@dataclass(frozen=True, slots=True)
class SheetPin:
    """A pin on the edge of a sheet symbol."""

    text: str
    at: Point
    line: int


@dataclass(slots=True, eq=False)
class Sheet:
    """A sheet symbol: another file, used here."""

    line: int
    name: str = ""
    file: str = ""
    #: Time stamp, the sheet's part of a path.
    stamp: str = ""
    pins: list[SheetPin] = field(default_factory=list)


@dataclass(slots=True, eq=False)
class Symbol:
    """A placed unit of a part."""

    line: int
    #: Name of its symbol, "Device:R" or (before KiCad 5) "R".
    library: str
    reference: str
    unit: int = 1
    #: 2 for the De Morgan drawing.
    convert: int = 1
    stamp: str = ""
    at: Point = (0, 0)
    #: Matrix that takes library coordinates (y up) to the sheet.
    matrix: tuple[int, int, int, int] = (1, 0, 0, -1)
    #: Fields 0 to 3 are reference, value, footprint, data sheet.
    fields: dict[int, str] = field(default_factory=dict)
    #: Names of the fields from 4 on.
    names: dict[int, str] = field(default_factory=dict)
    #: Reference and unit by path, for sheets that are used several times.
    uses: dict[str, tuple[str, int]] = field(default_factory=dict)


@dataclass(slots=True, eq=False)
class Screen:
    """One sheet file."""

    path: Path
    version: int
    #: Names on the ``LIBS:`` lines.
    libraries: list[str] = field(default_factory=list)
    wires: list[tuple[Point, Point]] = field(default_factory=list)
    buses: list[tuple[Point, Point]] = field(default_factory=list)
    junctions: list[Point] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    sheets: list[Sheet] = field(default_factory=list)
    symbols: list[Symbol] = field(default_factory=list)
    #: First words of lines that mean nothing here, with their number.
    unknown: dict[str, int] = field(default_factory=dict)
