"""What the part models look at, and how they write down a path.

A model is given a `Scene` and a part and yields elements between the nodes of the
part's pins.  On the board a pin's node is its net; in the hand every pin is a node
of its own, so the same models serve both.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from ohmtrail.netanalysis.board import Part, Pin
from ohmtrail.netanalysis.circuit import Link, Stage
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.network.elements import Junction, Resistance

__all__ = ["INSIDE", "Element", "Range", "Scene", "joined", "junction", "path"]

Element = Resistance | Junction


class Range(NamedTuple):
    """Lowest, usual and highest honest value."""

    low: float
    typical: float
    high: float


#: Between pads that one piece of metal joins inside a part, in ohms (CP).
INSIDE = Range(1e-4, 5e-4, 5e-3)


@dataclass(frozen=True, slots=True)
class Scene:
    """A circuit as the models see it."""

    view: CircuitView
    #: Links by ref, those of parts that are not fitted included.
    links: Mapping[str, tuple[Link, ...]] = field(default_factory=dict)
    #: Range in ohms that a chip's supply pins load a net with, by (ref, net), and
    #: the reason.  Only for the board: `load_classes.rail_loads` makes it.
    loads: Mapping[tuple[str, str], tuple[Range, str]] = field(default_factory=dict)
    #: Stages by the chips that they are built on.
    stages: Mapping[str, tuple[Stage, ...]] = field(default_factory=dict)
    #: By pad that drives the gate of a discrete switch, "REF.PIN": the net of the
    #: switch's source.
    drivers: Mapping[str, str | None] = field(default_factory=dict)
    #: Those of the pads whose gate has a pull-down beside it.
    bled: frozenset[str] = frozenset()
    #: True for a part off the board.
    in_hand: bool = False

    def node(self, pin: Pin) -> str:
        """Return the node that a pin is on."""
        if self.in_hand:
            return pin.key
        return pin.net if pin.net is not None else f"{pin.ref}#{pin.number}"

    def nodes(self, pins: Iterable[Pin]) -> tuple[str, ...]:
        """Return the nodes of pins, each once, in order."""
        return tuple(dict.fromkeys(self.node(pin) for pin in pins))


def path(
    part: Part,
    a: str,
    b: str,
    ohms: Range,
    because: str,
    *,
    assumed: bool = False,
    likely: tuple[float, float] | None = None,
) -> Iterator[Resistance]:
    """Yield a resistive path, unless both ends are one node."""
    if a != b:
        low, typical, high = ohms
        yield Resistance(part.ref, a, b, typical, low, high, because, assumed, likely)


def junction(
    part: Part,
    anode: str,
    cathode: str,
    volts: Range,
    sort: str,
    because: str,
    *,
    emission: float = 1.0,
    ohms_series: float = 0.0,
    assumed: bool = False,
) -> Iterator[Junction]:
    """Yield a junction, unless both ends are one node."""
    if anode != cathode:
        yield Junction(
            part.ref,
            anode,
            cathode,
            volts.typical,
            volts.low,
            volts.high,
            emission,
            ohms_series,
            sort,
            because,
            assumed,
        )


def joined(scene: Scene, part: Part, pins: Iterable[Pin]) -> Iterator[Resistance]:
    """Yield what joins pads of one terminal inside the part (source clips, tabs)."""
    nodes = scene.nodes(pins)
    for node in nodes[1:]:
        yield from path(part, nodes[0], node, INSIDE, "one terminal of the part")
