"""What one drawing says: the schematic itself, or one of its modules."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ohmtrail.importers._xml import ElementError, find, required

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

__all__ = ["Drawn", "ModuleInstance", "Scope", "Wiring", "read_scope", "variant_of"]

_NETS_MAX = 500_000


@dataclass(frozen=True, slots=True)
class Drawn:
    """One part as listed; where it stands and what it is, is found later."""

    name: str
    element: "Element"
    #: Numbers of the sheets, from 1, on which its gates stand.
    sheets: list[int] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class ModuleInstance:
    """One use of a module."""

    name: str
    module: str
    #: Added to the numbers of its parts; 0 puts the instance's name before them.
    offset: int
    variant: str
    element: "Element"


@dataclass(frozen=True, slots=True)
class Wiring:
    """One net or bus: pins and ports that it reaches."""

    #: (part, gate, pin)
    pins: list[tuple[str, str, str]] = field(default_factory=list)
    #: (module instance, port, element)
    ports: list[tuple[str, str, "Element"]] = field(default_factory=list)
    #: Where it is drawn, sheet by sheet.
    elements: list["Element"] = field(default_factory=list)

    def pin_element(self, part: str, gate: str, pin: str) -> "Element":
        """Return the first element that names a pin, for a message."""
        for element in self.elements:
            for leaf in element.iter("pinref"):
                if (leaf.get("part"), leaf.get("gate"), leaf.get("pin")) == (
                    part,
                    gate,
                    pin,
                ):
                    return leaf
        return self.elements[0]


@dataclass(frozen=True, slots=True)
class Scope:
    """One drawing: names are its own, as are its sheets."""

    #: "" for the schematic, else the module's name.
    name: str
    parts: dict[str, Drawn]
    nets: dict[str, Wiring]
    buses: dict[str, Wiring]
    instances: dict[str, ModuleInstance]
    ports: frozenset[str]
    #: Number of sheets.
    sheets: int
    #: Assembly variant that is chosen, "" for none.
    variant: str


def _integer(element: "Element", name: str) -> int:
    text = element.get(name, "0")
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise ElementError(
            f"found {name}={text[:40]!r}, expected a whole number", element
        )
    return int(text)


def _wire(wiring: Wiring, element: "Element") -> None:
    wiring.elements.append(element)
    pins = wiring.pins
    for leaf in element.iterchildren("segment"):
        for item in leaf.iterchildren("pinref", "portref"):
            get = item.get
            if item.tag == "portref":
                port = required(item, "moduleinst"), required(item, "port")
                wiring.ports.append((*port, item))
                continue
            part, gate, pin = get("part"), get("gate"), get("pin")
            if part is None or gate is None or pin is None:
                missing = next(n for n in ("part", "gate", "pin") if get(n) is None)
                required(item, missing)
            else:
                pins.append((part, gate, pin))


def variant_of(drawing: "Element") -> str:
    """Return the assembly variant that a drawing has chosen, "" for none."""
    variant = ""
    for one in find(drawing, "variantdefs", "variantdef"):
        if one.get("current") == "yes":
            variant = one.get("name", "")
    return variant


def read_scope(element: "Element") -> Scope:
    """Read ``<schematic>`` or ``<module>``.

    Parameters
    ----------
    element : Element
        The element; its ``<modules>`` are scopes of their own.

    Raises
    ------
    ElementError
        If a name is missing, used twice, or unknown.

    Notes
    -----
    O(size).  A net drawn on several sheets is one net by its name.
    """
    parts: dict[str, Drawn] = {}
    for one in find(element, "parts", "part"):
        name = required(one, "name")
        if name in parts:
            raise ElementError(f"found part {name} again", one)
        parts[name] = Drawn(name, one)
    nets: dict[str, Wiring] = {}
    buses: dict[str, Wiring] = {}
    instances: dict[str, ModuleInstance] = {}
    count = 0
    for count, sheet in enumerate(find(element, "sheets", "sheet"), 1):
        for one in find(sheet, "instances", "instance"):
            drawn = parts.get(required(one, "part"))
            if drawn is None:
                raise ElementError(f"found unknown part {one.get('part')!r}", one)
            required(one, "gate")
            drawn.sheets.append(count)
        for one in find(sheet, "moduleinsts", "moduleinst"):
            name = required(one, "name")
            if name in instances:
                raise ElementError(f"found module instance {name} again", one)
            instances[name] = ModuleInstance(
                name,
                required(one, "module"),
                _integer(one, "offset"),
                one.get("modulevariant", ""),
                one,
            )
        for one in find(sheet, "nets", "net"):
            _wire(nets.setdefault(required(one, "name"), Wiring()), one)
            if len(nets) > _NETS_MAX:
                raise ElementError(
                    f"found more than {_NETS_MAX} nets, expected a board", one
                )
        for one in find(sheet, "busses", "bus"):
            _wire(buses.setdefault(required(one, "name"), Wiring()), one)
    return Scope(
        name=element.get("name", "") if element.tag == "module" else "",
        parts=parts,
        nets=nets,
        buses=buses,
        instances=instances,
        ports=frozenset(
            required(port, "name") for port in find(element, "ports", "port")
        ),
        sheets=count,
        variant=variant_of(element),
    )
