"""What a gEDA file holds that carries connections: nets, pins, components."""

from dataclasses import dataclass, field
from pathlib import Path

from ohmtrail.importers._errors import ParseError
from ohmtrail.importers._wires import Wire

__all__ = ["Attributes", "Component", "Drawing", "PinLine", "attribute_of"]

#: Values by name, in the file's order.
Attributes = dict[str, list[str]]


def attribute_of(text: str) -> tuple[str, str] | None:
    """Return name and value of a text, None where it is no attribute.

    Examples
    --------
    >>> attribute_of("refdes=R1"), attribute_of("a = b")
    (('refdes', 'R1'), None)
    """
    name, equals, value = text.partition("=")
    if not equals or not name or name[-1] == " " or not value or value[0] == " ":
        return None
    return name, value


@dataclass(slots=True, eq=False)
class PinLine:
    """A pin of a symbol; the first point is the end that connects."""

    x: int
    y: int
    far_x: int
    far_y: int
    #: False where an old file leaves open which end connects.
    settled: bool
    bus: bool
    line: int
    attributes: Attributes = field(default_factory=dict)

    def text(self, name: str) -> str:
        """Return the first value of an attribute, "" without one."""
        values = self.attributes.get(name)
        return values[0] if values else ""


@dataclass(slots=True, eq=False)
class Component:
    """A placed symbol."""

    x: int
    y: int
    angle: int
    mirror: bool
    #: File name of the symbol, "resistor-1.sym".
    name: str
    line: int
    attributes: Attributes = field(default_factory=dict)
    #: The symbol itself where the file holds it, in the page's coordinates.
    embedded: "Drawing | None" = None


@dataclass(slots=True, eq=False)
class Drawing:
    """A page or a symbol."""

    path: Path
    version: str
    nets: list[Wire] = field(default_factory=list)
    #: Names that ``netname=`` gives, by index of the net.
    netnames: dict[int, list[str]] = field(default_factory=dict)
    pins: list[PinLine] = field(default_factory=list)
    components: list[Component] = field(default_factory=list)
    #: Attributes attached to nothing: in a symbol, what its users inherit.
    floating: Attributes = field(default_factory=dict)
    #: Pins by slot, once somebody asked.
    slotdefs: dict[str, str] | None = None
    #: What else was met: words -> count.
    unused: dict[str, int] = field(default_factory=dict)

    def error(self, message: str, line: int | None) -> ParseError:
        """Make an error that names the file and a line."""
        return ParseError(message, self.path, line)
