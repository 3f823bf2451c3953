"""A set of touching items on one use of a sheet, and what gives it a name."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ohmtrail.importers.kicad_schematic._bus import Connection
from ohmtrail.importers.kicad_schematic._library import LibPin, LibSymbol
from ohmtrail.importers.kicad_schematic._screen import Symbol
from ohmtrail.importers.kicad_schematic._text import escape

__all__ = [
    "FALLBACK",
    "GLOBAL",
    "GLOBAL_POWER",
    "HIERARCHICAL",
    "LOCAL",
    "LOCAL_POWER",
    "NONE",
    "PIN",
    "SHEET_PIN",
    "Driver",
    "Placed",
    "PlacedPin",
    "Subgraph",
]

# What may name a net, the stronger the higher.
FALLBACK = -1  # pins of parts without final reference
NONE, PIN, SHEET_PIN, HIERARCHICAL, LOCAL, LOCAL_POWER, GLOBAL_POWER, GLOBAL = range(8)


@dataclass(slots=True, eq=False)
class Placed:
    """A symbol in one use of its sheet."""

    symbol: Symbol
    lib: LibSymbol
    ref: str
    #: Reference with the unit's letter where the symbol has several units.
    ref_unit: str
    unit: int
    use: int
    on_board: bool
    fitted: bool
    pins: list["PlacedPin"]
    #: Whether the reference is a final one, stated for this use of the sheet.
    annotated: bool


@dataclass(slots=True, eq=False)
class PlacedPin:
    """A pin of a placed symbol."""

    owner: Placed
    lib: LibPin
    number: str
    name: str
    electrical: str

    def default_name(self, unconnected: bool) -> str:
        """Return the name of a net that only this pin can name."""
        owner = self.owner
        unconnected = unconnected or self.electrical == "no_connect"
        head = "unconnected-(" if unconnected else "Net-("
        drawn = self.lib.name
        if not drawn or drawn == self.number:
            return f"{head}{owner.ref}-Pad{escape(self.number)})"
        text = f"{head}{owner.ref_unit}-{escape(drawn)}"
        if unconnected or any(
            pin.name == self.name
            and pin.number != self.number
            and pin.electrical != "no_connect"
            for pin in owner.pins
        ):
            text += f"-Pad{escape(self.number)}"
        return text + ")"


@dataclass(slots=True, eq=False)
class Driver:
    """An item that may name a subgraph."""

    priority: int
    #: The name it would give; for pins worked out when it is needed.
    name: str
    #: Set for pins.
    pin: PlacedPin | None = None
    #: Set for sheet pins: identifier of the sheet symbol.
    sheet: str = ""
    #: Whether a sheet pin is an output.
    output: bool = False

    @property
    def with_path(self) -> bool:
        """Whether the name is local to the sheet."""
        return (
            self.pin is None and self.priority != GLOBAL
        ) or self.priority == LOCAL_POWER


class Subgraph:
    """Items of one sheet use that touch, directly or by way of wires."""

    __slots__ = (
        "absorbed_by",
        "bus_neighbors",
        "bus_parents",
        "connection",
        "dirty",
        "driver",
        "drivers",
        "hier_pins",
        "hier_ports",
        "local_driver",
        "multiple",
        "no_connect",
        "pins",
        "serial",
        "strong",
        "use",
    )

    def __init__(self, use: int) -> None:
        self.use = use
        self.pins: list[PlacedPin] = []
        self.drivers: list[Driver] = []
        self.driver: Driver | None = None
        self.connection: Connection | None = None
        self.strong = False
        self.local_driver = True
        self.multiple = False
        self.no_connect = False
        self.hier_pins: list[Driver] = []
        self.hier_ports: list[Driver] = []
        self.absorbed_by: Subgraph | None = None
        self.bus_neighbors: list[tuple[Connection, list[Subgraph]]] = []
        self.bus_parents: list[tuple[Connection, list[Subgraph]]] = []
        self.dirty = True
        #: Place in the order in which subgraphs are looked at.
        self.serial = 0

    @property
    def priority(self) -> int:
        """Strength of the item that names it."""
        return FALLBACK if self.driver is None else self.driver.priority

    def final(self) -> "Subgraph":
        """Return the subgraph that this one ended up in."""
        here = self
        while here.absorbed_by is not None:
            here = here.absorbed_by
        return here

    def names(self) -> set[str]:
        """Return the names by which others on the sheet may join this one."""
        found = set() if self.connection is None else {self.connection.short()}
        if self.multiple:
            for driver in self.drivers:
                if driver is not self.driver and driver.priority > SHEET_PIN:
                    found.add(driver.name)
        return found

    def absorb(self, other: "Subgraph") -> None:
        """Take over everything of a subgraph that has the same name."""
        self.pins += other.pins
        self.drivers += other.drivers
        self.hier_pins += other.hier_pins
        self.hier_ports += other.hier_ports
        self.bus_neighbors += other.bus_neighbors
        self.bus_parents += other.bus_parents
        self.multiple |= other.multiple
        other.absorbed_by = self
        other.dirty = False

    def resolve(self, aliases: Mapping[str, Sequence[str]]) -> bool:
        """Choose the driver; return whether there is one."""
        strong = [item for item in self.drivers if item.priority >= HIERARCHICAL]
        if strong:
            highest = max(item.priority for item in strong)
            self.strong = True
            self.drivers = strong
        else:
            highest = max((item.priority for item in self.drivers), default=FALLBACK)
        self.local_driver = highest < GLOBAL_POWER
        self.multiple = False
        candidates = [item for item in self.drivers if item.priority == highest]
        if not candidates:
            self.driver = None
            return False
        if highest <= PIN:
            for item in candidates:
                if item.pin is not None and not item.name:
                    item.name = item.pin.default_name(self.no_connect)
        if len(candidates) == 1:
            best = candidates[0]
        elif highest == SHEET_PIN:
            outputs = [item for item in candidates if item.output]
            best = (outputs or candidates)[0]
        else:
            best = _best(candidates)
        self.driver = best
        if len(strong) > 1:
            self.multiple = any(item.name != best.name for item in strong)
        connection = self.connection
        if connection is None:
            connection = self.connection = Connection(self.use)
        connection.suffix = ""
        connection.configure(best.name, aliases)
        connection.set_path(best.with_path)
        return True


def _best(candidates: list[Driver]) -> Driver:
    """Return the one of several equally strong drivers that gives its name."""

    def order(item: Driver) -> tuple[bool, bool, str]:
        on_part = item.pin is not None and not item.pin.owner.lib.power
        power = item.priority in (GLOBAL_POWER, LOCAL_POWER)
        return power and on_part, "-Pad" in item.name, item.name

    return min(candidates, key=order)
