"""Reads the text of an xschem schematic or symbol."""

import re
from dataclasses import dataclass, field
from pathlib import Path

from ohmtrail.importers._bounds import OBJECTS_MAX
from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._text import read_text
from ohmtrail.importers._wires import Wire
from ohmtrail.importers.xschem._properties import properties, unescape

__all__ = ["Drawing", "Instance", "PinBox", "parse", "read_drawing"]

_BLOCK = r"\{((?:[^\\}]++|\\.)*+)\}"
_NUMBERS = r"([-+.0-9eE\s]*+)"
_ONE = re.compile(rf"[A-Za-z]\s*{_BLOCK}", re.DOTALL)
_SHAPE = re.compile(rf"[A-Za-z]\s{_NUMBERS}{_BLOCK}", re.DOTALL)
_TWO = re.compile(rf"[A-Za-z]\s*{_BLOCK}{_NUMBERS}{_BLOCK}", re.DOTALL)
_SPACE = re.compile(r"\s*+")
_LINE = re.compile(r"[^\n]*")
#: Layer of the boxes that are pins.
_PIN_LAYER = 5
_DEPTH_MAX = 20


@dataclass(slots=True, eq=False)
class PinBox:
    """A pin of a symbol; coordinates in thousandths, y down."""

    x: int
    y: int
    properties: dict[str, str]


@dataclass(slots=True, eq=False)
class Instance:
    """A placed symbol."""

    #: The symbol as the file names it, "devices/res.sym".
    symbol: str
    x: int
    y: int
    rotation: int
    flip: bool
    properties: dict[str, str]
    #: Where in the text it stands.
    offset: int
    embedded: "Drawing | None" = None


@dataclass(slots=True, eq=False)
class Drawing:
    """A schematic or symbol."""

    path: Path
    version: str = "1.0"
    #: Attributes of a symbol: type, format, template ...
    attributes: dict[str, str] = field(default_factory=dict)
    wires: list[Wire] = field(default_factory=list)
    pins: list[PinBox] = field(default_factory=list)
    instances: list[Instance] = field(default_factory=list)
    text: str = ""

    def error(self, message: str, offset: int | None) -> ParseError:
        """Make an error that names the file and the line of an offset."""
        line = None if offset is None else self.text.count("\n", 0, offset) + 1
        return ParseError(message, self.path, line)


class _Reader:
    def __init__(self, text: str, path: Path) -> None:
        self.text = text
        self.drawing = Drawing(path, text=text)
        self.around: list[Drawing] = []
        self.at = 0
        self.objects = 0

    def match(self, pattern: re.Pattern[str], what: str) -> re.Match[str]:
        found = pattern.match(self.text, self.at)
        if found is None:
            line = _LINE.match(self.text, self.at)
            shown = line[0].strip()[:40] if line else ""
            raise self.drawing.error(
                f"found {shown!r}, expected {what} with its braces closed", self.at
            )
        return found

    def another(self) -> None:
        """Count a wire, a component or an embedded symbol; refuse too many."""
        self.objects += 1
        if self.objects > OBJECTS_MAX:
            raise self.drawing.error(
                f"found more than {OBJECTS_MAX} wires and components, expected a "
                "drawing",
                self.at,
            )

    def numbers(self, text: str, count: int, what: str) -> list[int]:
        """Return coordinates in thousandths."""
        words = text.split()
        try:
            if len(words) < count:
                raise ValueError
            return [round(float(word) * 1000) for word in words[:count]]
        except (ValueError, OverflowError):
            raise self.drawing.error(
                f"found {' '.join(words)[:40]!r} in {what}, expected {count} numbers",
                self.at,
            ) from None

    def one(self) -> int:
        found = self.match(_ONE, "a block")
        letter, drawing = self.text[self.at], self.drawing
        if letter == "v":
            version = properties(unescape(found[1])).get("file_version", "")
            drawing.version = version or "1.0"
        elif letter in "GK" and found[1].strip():
            read = properties(unescape(found[1]))
            # Newer files describe a symbol in K, older ones in G.
            if letter == "K" or "type" in read or not drawing.attributes:
                drawing.attributes = read
        return found.end()

    def shape(self) -> int:
        found = self.match(_SHAPE, "a shape")
        letter = self.text[self.at]
        if letter == "N":
            ax, ay, bx, by = self.numbers(found[1], 4, "a wire")
            self.another()
            self.drawing.wires.append((ax, ay, bx, by))
        elif letter == "B" and found[1].split(None, 1)[:1] == [str(_PIN_LAYER)]:
            _, ax, ay, bx, by = self.numbers(found[1], 5, "a box")
            box = properties(unescape(found[2]))
            if "name" in box:
                pin = PinBox((ax + bx) // 2, (ay + by) // 2, box)
                self.drawing.pins.append(pin)
        return found.end()

    def two(self) -> int:
        found = self.match(_TWO, "a text or component")
        if self.text[self.at] == "C":
            x, y, rotation, flip = self.numbers(found[2], 4, "a component")
            if rotation not in (0, 1000, 2000, 3000) or flip not in (0, 1000):
                raise self.drawing.error(
                    f"found turn {found[2].strip()[:40]!r} of a component,"
                    " expected 0 to 3 and 0 or 1",
                    self.at,
                )
            self.another()
            self.drawing.instances.append(
                Instance(
                    unescape(found[1]).strip(),
                    x,
                    y,
                    rotation // 1000,
                    flip == 1000,
                    properties(unescape(found[3])),
                    self.at,
                )
            )
        return found.end()

    def open_symbol(self) -> None:
        drawing = self.drawing
        if not drawing.instances or len(self.around) >= _DEPTH_MAX:
            raise drawing.error("found '[' that follows no component", self.at)
        self.another()
        symbol = Drawing(drawing.path, text=self.text)
        drawing.instances[-1].embedded = symbol
        self.around.append(drawing)
        self.drawing = symbol

    def walk(self) -> None:
        text, total = self.text, len(self.text)
        while True:
            space = _SPACE.match(text, self.at)
            if space is not None:
                self.at = space.end()
            if self.at >= total:
                return
            letter = text[self.at]
            if letter in "NBLPA":
                self.at = self.shape()
            elif letter in "CT":
                self.at = self.two()
            elif letter in "vGKVSEF":
                self.at = self.one()
            elif letter == "[":
                self.open_symbol()
                self.at += 1
            elif letter == "]" and self.around:
                self.drawing = self.around.pop()
                self.at += 1
            elif letter == "#":
                end = text.find("\n", self.at)
                self.at = total if end < 0 else end
            else:
                self.match(_NOTHING, "an object of a schematic")


_NOTHING = re.compile(r"(?!)")


def parse(text: str, path: Path) -> Drawing:
    """Return the drawing that a text holds.

    Raises
    ------
    ParseError
        With file and line, for anything that is no xschem drawing.

    Notes
    -----
    O(length); no recursion.
    """
    reader = _Reader(text, path)
    reader.walk()
    if reader.around:
        raise reader.drawing.error(
            "found end of file, expected ']' after an embedded symbol",
            reader.around[-1].instances[-1].offset,
        )
    return reader.drawing


def read_drawing(path: Path) -> Drawing:
    """Read a schematic or symbol file.

    Raises
    ------
    ImporterError
        If the file cannot be read or is damaged; with file and line.
    """
    return parse(read_text(path), path)
