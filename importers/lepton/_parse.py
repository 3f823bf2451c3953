"""Reads the text of a gEDA page or symbol."""

from pathlib import Path

from ohmtrail.importers._bounds import OBJECTS_MAX
from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._text import read_text
from ohmtrail.importers.lepton._objects import (
    Attributes,
    Component,
    Drawing,
    PinLine,
    attribute_of,
)

__all__ = ["parse", "read_drawing"]

#: Versions up to this one write pins without the fields type and whichend.
_PINS_WITHOUT_END = 20020825
_GRAPHICS = frozenset("LBVAFp")
#: Programs of the format keep numbers in 32 bits.
_WHOLE_MAX = 2**31
#: Embedded symbols inside embedded symbols, at most.
_DEPTH_MAX = 20


def read_drawing(path: Path) -> Drawing:
    """Read a page or symbol file.

    Raises
    ------
    ImporterError
        If the file cannot be read or is damaged; with file and line.
    """
    return parse(read_text(path), path)


class _Reader:
    """Walks over the lines of a file."""

    def __init__(self, text: str, path: Path) -> None:
        self.path = path
        self.lines = text.split("\n")
        self.at = 0
        self.release = 0
        self.format = 0
        self.drawing = Drawing(path, "")
        #: What a following ``{`` attaches to.
        self.last: Attributes | None = None
        self.last_net = -1
        #: Drawings around the present one, with the component that holds it.
        self.around: list[tuple[Drawing, Component]] = []
        self.component: Component | None = None
        #: Nets, components and embedded symbols so far.
        self.objects = 0

    def error(self, message: str, line: int | None = None) -> ParseError:
        return ParseError(message, self.path, self.at if line is None else line)

    def another(self) -> None:
        """Count a wire, a component or an embedded symbol; refuse too many."""
        self.objects += 1
        if self.objects > OBJECTS_MAX:
            raise self.error(
                f"found more than {OBJECTS_MAX} nets and components, expected a drawing"
            )

    def numbers(self, words: list[str], count: int, what: str) -> list[int]:
        """Return whole numbers after the letter."""
        if len(words) <= count:
            raise self.error(
                f"found {len(words) - 1} fields of {what}, expected {count}"
            )
        try:
            found = [int(word) for word in words[1 : count + 1]]
            if max(found) > _WHOLE_MAX or min(found) < -_WHOLE_MAX:
                raise ValueError
            return found
        except ValueError:
            bad = next(w for w in words[1 : count + 1] if not _whole(w))
            raise self.error(
                f"found {bad[:40]!r} in {what}, expected a whole number"
            ) from None

    def header(self, words: list[str]) -> None:
        release, self.format = 0, 0
        release = self.numbers(words, 1, "the version")[0]
        if len(words) > 2:
            self.format = self.numbers(words, 2, "the version")[1]
        self.release = release
        self.drawing.version = " ".join(words[1:3])

    def text(self, words: list[str]) -> str:
        """Return the text of a T object and step over its lines."""
        count = 1
        if self.format >= 1:
            count = self.numbers(words, 9, "a text")[8]
        start = self.at
        if count < 0 or start + count > len(self.lines):
            raise self.error(
                f"found end of file, expected {count} lines of the text here"
            )
        self.at += count
        if count == 1:
            return self.lines[start].rstrip("\r")
        return "\n".join(line.rstrip("\r") for line in self.lines[start : self.at])

    def pin(self, words: list[str]) -> PinLine:
        if self.release <= _PINS_WITHOUT_END:
            ax, ay, bx, by = self.numbers(words, 4, "a pin")
            pin = PinLine(ax, ay, bx, by, False, False, self.at)
        else:
            ax, ay, bx, by, _, kind, end = self.numbers(words, 7, "a pin")
            if end == 1:
                ax, ay, bx, by = bx, by, ax, ay
            pin = PinLine(ax, ay, bx, by, True, kind == 1, self.at)
        self.drawing.pins.append(pin)
        return pin

    def place(self, words: list[str]) -> Component:
        fields = self.numbers(words, 5, "a component")
        if len(words) < 7:
            raise self.error("found a component without a symbol name")
        x, y, _, angle, mirror = fields
        if angle not in (0, 90, 180, 270):
            raise self.error(
                f"found angle {angle} of a component, expected 0, 90, 180 or 270"
            )
        component = Component(x, y, angle, mirror == 1, words[6].strip(), self.at)
        self.another()
        self.drawing.components.append(component)
        return component

    def open_symbol(self) -> None:
        if self.component is None:
            raise self.error("found '[' that follows no component")
        if len(self.around) >= _DEPTH_MAX:
            raise self.error(f"found symbols embedded more than {_DEPTH_MAX} deep")
        self.another()
        symbol = Drawing(self.path, self.drawing.version)
        self.component.embedded = symbol
        self.component.name = self.component.name.removeprefix("EMBEDDED")
        self.around.append((self.drawing, self.component))
        self.drawing = symbol
        self.component = self.last = None

    def close_symbol(self) -> None:
        if not self.around:
            raise self.error("found ']' without its '['")
        self.drawing, self.component = self.around.pop()
        self.last, self.last_net = self.component.attributes, -1

    def picture(self, words: list[str]) -> None:
        """Step over a picture, embedded or not."""
        start = self.at
        self.at += 1
        if words[-1] != "1":
            return
        while self.at < len(self.lines):
            self.at += 1
            if self.lines[self.at - 1].rstrip("\r") == ".":
                return
        raise self.error(
            "found end of file, expected '.' after this embedded picture", start
        )

    def path_lines(self, words: list[str]) -> None:
        """Step over the lines of a path."""
        try:
            count = int(words[-1])
        except ValueError:
            count = -1
        if not 0 <= count <= len(self.lines) - self.at:
            raise self.error(
                f"found {words[-1][:40]!r}, expected the number of lines of a path"
            )
        self.at += count

    def attach(self) -> None:
        """Read ``{ ... }``: attributes of the object before it."""
        start, lines = self.at, self.lines
        target: Attributes = {} if self.last is None else self.last
        while self.at < len(lines):
            line = lines[self.at]
            self.at += 1
            letter = line[:1]
            if letter == "T":
                found = attribute_of(self.text(line.split()))
                if found is not None:
                    target.setdefault(found[0], []).append(found[1])
            elif letter == "}":
                break
            elif line.strip():
                raise self.error(
                    f"found {line.strip()[:40]!r} among attributes, expected a text"
                )
        else:
            raise self.error("found end of file, expected '}' for this '{'", start)
        if self.last is None:
            self.count("attributes attached to a graphic")
        elif self.last_net >= 0 and "netname" in target:
            self.drawing.netnames.setdefault(self.last_net, []).extend(
                target["netname"]
            )

    def count(self, what: str) -> None:
        unused = self.drawing.unused
        unused[what] = unused.get(what, 0) + 1

    def walk(self) -> None:
        """Read every object."""
        lines, total = self.lines, len(self.lines)
        while self.at < total:
            line = lines[self.at]
            self.at += 1
            letter = line[:1]
            if not letter:
                continue
            if letter == "T":
                found = attribute_of(self.text(line.split()))
                if found is not None:
                    floating = self.drawing.floating
                    floating.setdefault(found[0], []).append(found[1])
                self.last = None
            elif letter == "N":
                ax, ay, bx, by = self.numbers(line.split(), 4, "a net")
                self.last, self.last_net = {}, len(self.drawing.nets)
                self.another()
                self.drawing.nets.append((ax, ay, bx, by))
            elif letter == "{":
                self.attach()
                self.last = None
            elif letter == "C":
                self.component = self.place(line.split(None, 6))
                self.last, self.last_net = self.component.attributes, -1
            elif letter == "P":
                self.last, self.last_net = self.pin(line.split()).attributes, -1
            elif letter in _GRAPHICS:
                self.last = None
            elif letter == "U":
                self.numbers(line.split(), 4, "a bus")
                self.last, self.last_net = {}, -1
                self.count("bus (only the nets that leave it connect)")
            elif letter == "H":
                self.path_lines(line.split())
                self.last = None
            elif letter == "G":
                self.picture(line.split())
                self.last = None
            elif letter == "[":
                self.open_symbol()
            elif letter == "]":
                self.close_symbol()
            elif letter == "v":
                self.header(line.split())
            elif line.strip():
                raise self.error(
                    f"found {line.strip()[:40]!r}, expected an object of a schematic"
                )


def _whole(word: str) -> bool:
    try:
        return -_WHOLE_MAX <= int(word) <= _WHOLE_MAX
    except ValueError:
        return False


def parse(text: str, path: Path) -> Drawing:
    """Return the drawing that a text holds.

    Raises
    ------
    ParseError
        With file and line, for anything that is no gEDA drawing.

    Notes
    -----
    O(length); no recursion.
    """
    reader = _Reader(text, path)
    first = reader.lines[0].split()
    if first[:1] != ["v"]:
        raise ParseError(
            f"found {reader.lines[0].strip()[:40]!r}, expected a version line"
            " such as 'v 20201216 2'",
            path,
            1,
        )
    reader.walk()
    if reader.around:
        line = reader.around[-1][1].line
        raise reader.error("found end of file, expected ']' of this component", line)
    return reader.drawing
