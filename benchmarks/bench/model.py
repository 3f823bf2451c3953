"""What the bench knows of a board: parts, nets, and the truth about both."""

from dataclasses import dataclass, field

__all__ = ["Board", "Part", "Side", "Stage"]


@dataclass(slots=True)
class Part:
    """One part as drawn.  ``pins``: number, name, net."""

    ref: str
    kind: str
    value: str
    pins: tuple[tuple[str, str, str], ...]
    x_mm: float
    y_mm: float
    side: str = "top"
    #: Junction family for semiconductors, DC ohms for windings, else "".
    model: str = ""
    ohms: float | None = None
    #: Name of the footprint, for the file.
    body: str = ""
    #: Offsets of the pads from the middle of the part, by pin number.
    pads: dict[str, tuple[float, float]] = field(default_factory=dict)

    def net(self, pin: str) -> str:
        """Return the net of a pin number."""
        return next(net for number, _, net in self.pins if number == pin)

    def named(self, *names: str) -> str | None:
        """Return the number of the first pin with one of these names."""
        for number, name, _ in self.pins:
            if name in names:
                return number
        return None

    def on(self, net: str) -> str | None:
        """Return the number of the first pin on a net."""
        return next((number for number, _, n in self.pins if n == net), None)


@dataclass(slots=True)
class Side:
    """The switches of one side of a stage: they are in parallel."""

    switches: list[str]
    #: Gate resistor by switch; several switches may name the same one.
    resistors: dict[str, str]
    driver: str
    #: Driver output pin number, and the pin its current returns to.
    output: str
    back: str


@dataclass(slots=True)
class Stage:
    """A switching stage or a pass element, as it truly is."""

    kind: str
    rail: str
    source: str
    sides: list[Side]
    #: Chip that is the stage's own switch, for integrated kinds.
    chip: str | None = None


@dataclass(slots=True)
class Board:
    """A board with its truth."""

    name: str
    parts: dict[str, Part]
    ground: str
    #: Nominal volts by rail.
    rails: dict[str, float]
    stages: list[Stage]
    core: str
    #: Rail behind the input switches, and the connector's own net.
    main: str
    entry: str
    #: File the tool gets, and a layout when it is a second file.
    file: str = ""
    layout: str = ""

    def nets(self) -> dict[str, list[tuple[str, str]]]:
        """Return the pads of each net."""
        found: dict[str, list[tuple[str, str]]] = {}
        for part in self.parts.values():
            for number, _, net in part.pins:
                if net:
                    found.setdefault(net, []).append((part.ref, number))
        return found

    def place(self, ref: str, pin: str) -> tuple[float, float]:
        """Return where a pad is, in mm."""
        part = self.parts[ref]
        dx, dy = part.pads.get(pin, (0.0, 0.0))
        return part.x_mm + dx, part.y_mm + dy

    def sides_of(self, ref: str) -> list[Side]:
        """Return the sides a switch stands on."""
        return [
            side
            for stage in self.stages
            for side in stage.sides
            if ref in side.switches
        ]
