"""Lines and texts as each version of KiCad writes them on a sheet.

Only what every version from 6 on reads: a line of two points and a text.  What
came later (colour of a text, its exclusion from simulation) is written where the
file's own version has it.

References
----------
KiCad, *Schematic file format*, dev-docs.kicad.org/en/file-formats/sexpr-schematic,
and the list of versions in ``eeschema/sch_file_versions.h``.
"""

import re
import uuid
from dataclasses import dataclass

__all__ = ["OURS", "TAG", "Colour", "Line", "Style", "Text", "dialect_of", "number"]

#: First twelve digits of the identifier of every mark: "ohmtra" in ASCII.  The
#: identifiers are of version 8 (RFC 9562, section 5.8), free for such use.
TAG = "6f686d747261"
#: An identifier of ours, in a file; layouts before version 8 call it a time stamp.
OURS = re.compile(
    rb'\((?:uuid|tstamp)\s+"?'
    + f"{TAG[:8]}-{TAG[8:]}-8".encode()
    + rb'[-0-9a-f]+"?\s*\)'
)
#: From this version on a text has a colour, and is left out of a simulation.
_TEXT_COLOURS, _NO_SIMULATION = 20220331, 20231120

#: Red, green, blue from 0 to 255, and how opaque from 0 to 1.
Colour = tuple[int, int, int, float]


@dataclass(frozen=True, slots=True)
class Style:
    """How a mark is drawn; lengths in millimetres."""

    colour: Colour
    width_mm: float = 0.0
    #: "solid" or "dash".
    stroke: str = "solid"


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line."""

    x1_mm: float
    y1_mm: float
    x2_mm: float
    y2_mm: float
    style: Style


@dataclass(frozen=True, slots=True)
class Text:
    """Lines of text; the place is the left end of the lowest line's foot."""

    text: str
    x_mm: float
    y_mm: float
    size_mm: float
    colour: Colour


@dataclass(frozen=True, slots=True)
class Dialect:
    """How one file writes."""

    version: int
    #: Whether identifiers stand in quotes.
    quoted: bool
    newline: str
    indent: str

    def write(self, mark: Line | Text, name: str) -> str:
        """Return a mark as the file's version writes it.

        Parameters
        ----------
        mark : Line or Text
        name : str
            Its identifier is made from this.
        """
        body = self._line(mark) if isinstance(mark, Line) else self._text(mark)
        return f"{body} {self._uuid(name)})"

    def _uuid(self, name: str) -> str:
        digits = uuid.uuid5(uuid.NAMESPACE_OID, name).hex
        number = f"{TAG}8{digits[13:16]}8{digits[17:]}"
        text = str(uuid.UUID(number))
        return f'(uuid "{text}")' if self.quoted else f"(uuid {text})"

    def _line(self, line: Line) -> str:
        style = line.style
        ends = " ".join(
            f"(xy {number(x)} {number(y)})"
            for x, y in ((line.x1_mm, line.y1_mm), (line.x2_mm, line.y2_mm))
        )
        return (
            f"(polyline (pts {ends}) (stroke (width {number(style.width_mm)}) "
            f"(type {style.stroke}) {_colour(style.colour)})"
        )

    def _text(self, text: Text) -> str:
        size = number(text.size_mm)
        font = f"(size {size} {size})"
        if self.version >= _TEXT_COLOURS:
            font += f" {_colour(text.colour)}"
        simulated = " (exclude_from_sim yes)" if self.version >= _NO_SIMULATION else ""
        return (
            f"(text {quoted(text.text)}{simulated} "
            f"(at {number(text.x_mm)} {number(text.y_mm)} 0) "
            f"(effects (font {font}) (justify left bottom))"
        )


def number(value: float, digits: int = 4) -> str:
    """Write a number with so many digits at most, and no minus nothing."""
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _colour(colour: Colour) -> str:
    red, green, blue, opaque = colour
    return f"(color {red} {green} {blue} {number(opaque)})"


def quoted(text: str) -> str:
    r"""Return a text in quotes, that shows as it is.

    Text variables (``${...}``, ``@{...}``) would be replaced by the viewer; a blank
    keeps them as they are.

    Examples
    --------
    >>> print(quoted('a "b" ${C}'))
    "a \"b\" $ {C}"
    """
    text = re.sub(r"([$@])(?=\{)", r"\1 ", text)
    text = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{text}"'


def dialect_of(data: bytes, version: int) -> Dialect:
    """Return how a file writes.

    Parameters
    ----------
    data : bytes
        The whole file.
    version : int
        Of its syntax.
    """
    found = re.search(rb'\(uuid\s+(")?', data)
    return Dialect(
        version,
        bool(found and found[1]) if found else version >= _NO_SIMULATION,
        "\r\n" if b"\r\n" in data else "\n",
        "\t" if b"\n\t(" in data else "  ",
    )
