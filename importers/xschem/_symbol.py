"""What a symbol is: a name for nets, a part, a block, or a remark."""

from dataclasses import dataclass, field
from pathlib import Path

from ohmtrail.importers.xschem._file import Drawing, Instance, PinBox
from ohmtrail.importers.xschem._properties import properties

__all__ = ["Symbol", "pin_position", "stand_in", "symbol_of"]

_LABELS = frozenset(("label", "ipin", "opin", "iopin"))
#: Types that are no device, whatever pins they have.
_REMARKS = frozenset(
    "noconn probe logo launcher netlist_commands show_label scope bus_tap title use"
    " package architecture graph".split()
)
#: Symbols of the standard library that are one pin at their origin.
_STANDARD = {
    "lab_pin": ("label", False),
    "lab_wire": ("label", False),
    "ipin": ("ipin", False),
    "opin": ("opin", False),
    "iopin": ("iopin", False),
    "vdd": ("label", True),
    "gnd": ("label", True),
}


@dataclass(slots=True, eq=False)
class Symbol:
    """A symbol with its template and its further pins read."""

    name: str
    path: Path | None
    attributes: dict[str, str]
    template: dict[str, str]
    pins: list[PinBox]
    #: Pins that nobody draws: name (a property that holds the net), number.
    extra: list[tuple[str, str]]
    #: The symbol's type, "resistor" or "subcircuit".
    kind: str = field(init=False)
    #: Whether it names the net that it touches.
    is_label: bool = field(init=False)

    def __post_init__(self) -> None:
        """Read the type once: it is asked for at every instance."""
        self.kind = self.attributes.get("type", "")
        self.is_label = self.kind in _LABELS

    @property
    def is_global(self) -> bool:
        """Whether the name holds in the whole design."""
        return self.is_label and _yes(self.attributes.get("global", ""))

    @property
    def is_block(self) -> bool:
        """Whether a schematic may stand behind it."""
        return self.kind == "subcircuit"

    def is_left_out(self, instance: Instance) -> bool:
        """Tell whether an instance is a part that is marked to be ignored."""
        if not self.pins or self.is_label or self.kind in _REMARKS:
            return False
        if _yes(instance.properties.get("spice_ignore", "")):
            return True
        on_boards = bool(self.attributes.get("tedax_format"))
        return not on_boards and _yes(self.attributes.get("spice_ignore", ""))

    def is_part(self, instance: Instance) -> bool:
        """Tell whether an instance is a part that somebody solders."""
        if not self.pins or self.kind in _REMARKS or self.is_left_out(instance):
            return False
        if self.attributes.get("tedax_format"):
            return True
        simulated = self.attributes.get("format", " ")[:1] not in ("*", ".")
        return simulated and not self.is_label

    def value(self, instance: Instance, name: str) -> str:
        """Return a property of an instance, the template's where it has none."""
        found = instance.properties.get(name)
        return self.template.get(name, "") if found is None else found


def _yes(text: str) -> bool:
    return text.strip().lower() in ("true", "1", "yes", "open", "short")


def symbol_of(name: str, drawing: Drawing, path: Path | None) -> Symbol:
    """Make the symbol that a drawing shows."""
    attributes = drawing.attributes
    names = attributes.get("extra", "").split()
    numbers = attributes.get("extra_pinnumber", "").split()
    numbers += [""] * (len(names) - len(numbers))
    return Symbol(
        name.rpartition("/")[2].removesuffix(".sym"),
        path,
        attributes,
        properties(attributes.get("template", "")),
        drawing.pins,
        list(zip(names, numbers, strict=False)),
    )


def stand_in(name: str) -> Symbol | None:
    """Return a symbol of the standard library that names nets, None for others.

    For machines on which xschem's library is not installed.
    """
    stem = name.rpartition("/")[2].removesuffix(".sym")
    if stem not in _STANDARD:
        return None
    kind, everywhere = _STANDARD[stem]
    attributes = {"type": kind, "global": "1" if everywhere else ""}
    template = {"lab": {"vdd": "VDD", "gnd": "GND"}.get(stem, "")}
    return Symbol(stem, None, attributes, template, [PinBox(0, 0, {"name": "p"})], [])


def pin_position(instance: Instance, pin: PinBox) -> tuple[int, int]:
    """Return where a pin of a placed symbol is."""
    x, y = (-pin.x if instance.flip else pin.x), pin.y
    if instance.rotation == 1:
        x, y = -y, x
    elif instance.rotation == 2:
        x, y = -x, -y
    elif instance.rotation == 3:
        x, y = y, -x
    return instance.x + x, instance.y + y
