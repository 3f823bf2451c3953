"""What has been recognised on a board: opinions, each with its reason.

The values here are made by the recognisers in `ohmtrail.netanalysis.recognise`
and read by everything to the right of them (checklist, short, diagnosis).
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from ohmtrail.netanalysis.board import Board

__all__ = [
    "KINDS",
    "STAGE_KINDS",
    "Circuit",
    "GateChain",
    "Kind",
    "Link",
    "ParallelSet",
    "Rail",
    "Role",
    "Stage",
]

#: Part kinds, as CONTRACT names them.
KINDS = (
    "resistor capacitor inductor bead fuse diode zener tvs led mosfet bipolar igbt "
    "chip connector switch jumper crystal transformer relay testpoint battery other"
).split()

#: Stage kinds of the stable surface.
STAGE_KINDS = (
    "synchronous buck",
    "buck",
    "boost",
    "synchronous boost",
    "buck-boost",
    "half bridge",
    "full bridge leg",
    "flyback",
    "integrated buck",
    "integrated boost",
    "integrated buck-boost",
    "load switch",
    "back-to-back pass",
    "ideal diode",
    "linear regulator",
    "charge pump",
)


@dataclass(frozen=True, slots=True)
class Kind:
    """What a part is."""

    #: One of `KINDS`.
    kind: str
    because: str
    #: Finer sort within the kind: "n-channel", "p-channel", "npn", "pnp",
    #: "schottky", "bidirectional", "electrolytic", "network", "dual" ...
    #: or empty.
    sort: str = ""


@dataclass(frozen=True, slots=True)
class Role:
    """What one pin does on its part."""

    #: "drain" "source" "gate" "collector" "base" "emitter" "anode" "cathode"
    #: "supply" "ground" "output" "input" "enable" "switch" "boot" "feedback"
    #: "high gate" "low gate" "gate drive" (a chip's gate output of unknown side)
    #: "sense" or "".
    role: str
    because: str
    #: True when no pin name says so (worked out from topology or package).
    inferred: bool = False
    #: Which transistor of a multi-transistor package, or which channel; 0-based.
    unit: int = 0


@dataclass(frozen=True, slots=True)
class Link:
    """A part through which direct current flows with little resistance."""

    ref: str
    #: The two nets joined, and the pins by which the part joins them.
    net_a: str
    net_b: str
    pin_a: str
    pin_b: str
    kind: str
    because: str
    #: Marked resistance where known ("0R", a shunt's value), else None.
    ohms: float | None = None
    #: False for what may be open: a removable jumper, a switch, a connector.
    always: bool = True


@dataclass(frozen=True, slots=True)
class Rail:
    """A supply rail."""

    net: str
    #: Nominal volts, None where neither name nor regulator tells.
    volts: float | None
    #: Ref of the part that makes the rail, None where unknown.
    source: str | None
    #: Rails (or switch nodes' outputs) that are made from this one.
    feeds: tuple[str, ...]
    #: Parts that live on the rail: chips, connectors, modules.
    loads: tuple[str, ...]
    because: str
    #: Why ``volts`` is believed ("name", "USB, J3", "stated").
    volts_because: str = ""


@dataclass(frozen=True, slots=True)
class ParallelSet:
    """Devices that a meter cannot tell apart in circuit."""

    kind: str
    parts: tuple[str, ...]
    #: "shared", "own resistors", or None for anything but switches.
    gates: str | None = None
    because: str = ""


@dataclass(frozen=True, slots=True)
class GateChain:
    """The way from a driver pin to the gate of one switch."""

    switch: str
    #: Probe point of the gate, "REF.PIN".
    gate: str
    #: Probe point of the driver output, "REF.PIN", or None if not found.
    driver_pin: str | None
    #: Refs from driver to gate.
    series: tuple[str, ...] = ()
    #: Refs of the separate turn-off path, gate to driver.
    turn_off: tuple[str, ...] = ()
    #: Refs of the bleed from gate to the switch's own source.
    pull_down: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Stage:
    """One phase or channel of a converter, switch or regulator."""

    #: Stable name, unique on the board ("synchronous buck at /SW1").
    id: str
    #: One of `STAGE_KINDS`.
    kind: str
    switch_nodes: tuple[str, ...]
    #: Nets at the stage itself.
    input: str | None
    output: str | None
    #: Nets beyond a shunt or 0 ohm part.
    input_rail: str | None
    output_rail: str | None
    controller: str | None = None
    driver: str | None = None
    high_side: tuple[str, ...] = ()
    low_side: tuple[str, ...] = ()
    inductors: tuple[str, ...] = ()
    bootstrap: tuple[str, ...] = ()
    current_sense: tuple[str, ...] = ()
    snubber: tuple[str, ...] = ()
    input_caps: tuple[str, ...] = ()
    output_caps: tuple[str, ...] = ()
    gate_chains: tuple[GateChain, ...] = ()
    #: What a stage of this kind has and this one seems not to have, in words.
    missing: tuple[str, ...] = ()
    #: Why it is thought to be this stage.
    because: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Circuit:
    """A board with everything recognised on it."""

    board: Board
    #: Ground nets, the main one first.
    ground: tuple[str, ...] = ()
    #: Kind of every part, by ref.
    kinds: Mapping[str, Kind] = field(default_factory=dict)
    #: Role of pins, by (ref, pin number); pins without an opinion are absent.
    roles: Mapping[tuple[str, str], Role] = field(default_factory=dict)
    links: tuple[Link, ...] = ()
    rails: tuple[Rail, ...] = ()
    parallel_sets: tuple[ParallelSet, ...] = ()
    stages: tuple[Stage, ...] = ()
    #: Nominal volts stated by the user, by net.
    stated_volts: Mapping[str, float] = field(default_factory=dict)
    #: Parts not populated: marked so, or by their value or a field ("DNP").
    unfitted: frozenset[str] = frozenset()
