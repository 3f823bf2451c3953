"""Parallel sets: devices that a meter cannot tell apart in circuit.

Transistors: drain, source and polarity the same, and the gates follow one
drive: one gate net, or each gate through its own small resistor or bead from
the same node.  Two-terminal parts: both nets the same, diodes the same way
round.  Chips: the same type with every connected pin on the same nets, and
linear regulators with input, output and ground in common.  Capacitors are not
listed: nearly every rail has dozens, see `capacitor_banks` for those.
"""

from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass, replace

from ohmtrail.netanalysis.circuit import ParallelSet
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.recognise._natural import natural
from ohmtrail.netanalysis.recognise.links import across_network
from ohmtrail.netanalysis.recognise.stage_elements import main_net

__all__ = ["GATE_RESISTOR_MAX_OHMS", "capacitor_banks", "find_parallel_sets"]

#: Above this a resistor in a gate is no gate resistor (0..10 ohm are usual, the
#: limit is common practice, no source).
GATE_RESISTOR_MAX_OHMS = 100.0

_SWITCHES = {
    "mosfet": ("gate", "drain", "source"),
    "igbt": ("gate", "collector", "emitter"),
    "bipolar": ("base", "collector", "emitter"),
}
_TWO_TERMINAL = ("resistor", "inductor", "bead", "fuse")
_DIODES = ("diode", "zener", "tvs", "led")


@dataclass(frozen=True, slots=True)
class _Switch:
    ref: str
    kind: str
    sort: str
    gate: str
    high: str
    low: str


def find_parallel_sets(view: CircuitView) -> tuple[ParallelSet, ...]:
    """Return the parallel sets of a board, by refdes.

    Parameters
    ----------
    view : CircuitView
        With kinds, ground, links and roles.

    Notes
    -----
    O(pins) plus, for each group of transistors on one drain and one source, the
    parts on their gates.  Parts not fitted never belong to a set.
    """
    sets = [
        *_switch_sets(view),
        *_two_terminal_sets(view),
        *_diode_sets(view),
        *_chip_sets(view),
    ]
    unique: dict[tuple[str, ...], ParallelSet] = {}
    for found in sets:
        parts = tuple(sorted(found.parts, key=natural))
        unique.setdefault(parts, replace(found, parts=parts))
    return tuple(sorted(unique.values(), key=lambda found: natural(found.parts[0])))


def capacitor_banks(view: CircuitView) -> dict[tuple[str, str], tuple[str, ...]]:
    """Return the capacitors between each pair of nets, two or more.

    They are in parallel like any other set (a leaky one hides in its bank), but
    a board has one such bank on each rail.
    """
    banks: dict[tuple[str, str], list[str]] = {}
    for ref in _fitted(view, ("capacitor",)):
        nets = view.nets(ref)
        if len(nets) == 2:
            low, high = sorted(nets)
            banks.setdefault((low, high), []).append(ref)
    return {nets: tuple(refs) for nets, refs in banks.items() if len(refs) > 1}


def _fitted(view: CircuitView, kinds: Iterable[str]) -> list[str]:
    wanted = frozenset(kinds)
    return [
        part.ref
        for part in view.board.parts
        if view.kind(part.ref) in wanted and view.fitted(part.ref)
    ]


def _grouped(
    refs: Iterable[str], key: Callable[[str], Hashable | None]
) -> Mapping[Hashable, list[str]]:
    groups: dict[Hashable, list[str]] = {}
    for ref in refs:
        name = key(ref)
        if name is not None:
            groups.setdefault(name, []).append(ref)
    return {name: found for name, found in groups.items() if len(found) > 1}


# -- transistors -----------------------------------------------------------


def _switch_sets(view: CircuitView) -> Iterable[ParallelSet]:
    groups: dict[tuple[str, str, str], list[_Switch]] = {}
    for ref in _fitted(view, _SWITCHES):
        kind = view.kind(ref)
        control, high, low = _SWITCHES[kind]
        for unit in view.units(ref):
            gate = view.net_with_role(ref, control, unit)
            drain = main_net(view, ref, high, unit)
            source = main_net(view, ref, low, unit)
            if gate is None or drain is None or source is None or drain == source:
                continue
            switch = _Switch(ref, kind, view.sort(ref), gate, drain, source)
            groups.setdefault((kind, drain, source), []).append(switch)
    for group in groups.values():
        if len({switch.ref for switch in group}) > 1:
            yield from _same_drive(view, group)


def _same_drive(view: CircuitView, group: list[_Switch]) -> Iterable[ParallelSet]:
    """Split transistors on one drain and source by the drive of their gates."""
    drives = [_drive_nodes(view, switch) for switch in group]
    clusters: list[tuple[set[str], list[_Switch]]] = []
    for switch, nodes in zip(group, drives, strict=True):
        reach = {switch.gate, *nodes}
        touching = [
            cluster
            for cluster in clusters
            if cluster[0] & reach and _polarity_fits(cluster[1][0], switch)
        ]
        members = [switch]
        for cluster in touching:
            reach |= cluster[0]
            members = [*cluster[1], *members]
            clusters.remove(cluster)
        clusters.append((reach, members))
    for _, members in clusters:
        refs = tuple(dict.fromkeys(switch.ref for switch in members))
        if len(refs) < 2:
            continue
        shared = len({switch.gate for switch in members}) == 1
        first = members[0]
        yield ParallelSet(
            kind=first.kind,
            parts=refs,
            gates="shared" if shared else "own resistors",
            because=(
                f"same nets {first.high} and {first.low}; "
                + (f"gates on {first.gate}" if shared else "gates from one node")
            ),
        )


def _polarity_fits(a: _Switch, b: _Switch) -> bool:
    return not a.sort or not b.sort or a.sort == b.sort


def _drive_nodes(view: CircuitView, switch: _Switch) -> set[str]:
    """Nodes that a gate follows through one small resistor or bead."""
    nodes: set[str] = set()
    for ref, other in view.neighbours(switch.gate, "resistor", "bead"):
        if other in (switch.low, switch.high) or view.is_ground(other):
            continue
        if view.kind(ref) == "resistor":
            ohms = view.ohms(ref)
            # Where the file has no values any resistor there may be a gate's own.
            if ohms is None and view.part(ref).value:
                continue
            if ohms is not None and ohms > GATE_RESISTOR_MAX_OHMS:
                continue
        nodes.add(other)
    for ref in view.refs(switch.gate):
        if view.sort(ref) == "network":
            nodes.update(_network_nodes(view, ref, switch.gate))
    return nodes - {switch.low, switch.high}


def _network_nodes(view: CircuitView, ref: str, net: str) -> set[str]:
    """Nodes beyond a resistor array of small value."""
    ohms = view.ohms(ref)
    if ohms is None or ohms > GATE_RESISTOR_MAX_OHMS:
        return set()
    nets = across_network(view.part(ref), net)
    return {other for other in nets if not view.is_ground(other)}


# -- two-terminal parts ----------------------------------------------------


def _two_terminal_sets(view: CircuitView) -> Iterable[ParallelSet]:
    def ends(ref: str) -> Hashable | None:
        kind, sort = view.kind(ref), view.sort(ref)
        if kind == "resistor" and sort in ("network", "potentiometer", "thermistor"):
            return None
        nets = view.nets(ref)
        if len(nets) > 2:
            # A four-terminal shunt: the nets of its force pins.
            force = view.links_of(ref)[:1]
            if kind != "resistor" or not force:
                return None
            nets = (force[0].net_a, force[0].net_b)
        return (kind, frozenset(nets)) if len(nets) == 2 else None

    for refs in _grouped(_fitted(view, _TWO_TERMINAL), ends).values():
        yield ParallelSet(
            kind=view.kind(refs[0]),
            parts=tuple(refs),
            because="both ends on the same nets",
        )


def _diode_sets(view: CircuitView) -> Iterable[ParallelSet]:
    def ends(ref: str) -> Hashable | None:
        nets = view.nets(ref)
        kind = view.kind(ref)
        if len(nets) != 2:
            return None
        if view.sort(ref) == "bidirectional":
            return (kind, "both ways", frozenset(nets))
        anode = view.net_with_role(ref, "anode")
        cathode = view.net_with_role(ref, "cathode")
        if anode is None or cathode is None or anode == cathode:
            return None
        return (kind, anode, cathode)

    for refs in _grouped(_fitted(view, _DIODES), ends).values():
        yield ParallelSet(
            kind=view.kind(refs[0]),
            parts=tuple(refs),
            because="anode and cathode on the same nets",
        )


# -- chips -----------------------------------------------------------------


def _chip_sets(view: CircuitView) -> Iterable[ParallelSet]:
    def every_pin(ref: str) -> Hashable | None:
        part = view.part(ref)
        nets = tuple(
            (pin.number, pin.net)
            for pin in part.pins
            if pin.net is not None and view.degree(pin.net) > 1
        )
        if len({net for _, net in nets}) < 3 or not part.value:
            return None
        return (part.value, nets)

    def regulator(ref: str) -> Hashable | None:
        part = view.part(ref)
        if len(part.pins) > 8 or view.pins_with_role(ref, "switch", "boot"):
            return None
        source = view.net_with_role(ref, "input")
        result = view.net_with_role(ref, "output")
        ground = view.net_with_role(ref, "ground")
        if source is None or result is None or source == result or ground is None:
            return None
        if view.is_ground(source) or view.is_ground(result):
            return None
        return (part.value, source, result)

    chips = _fitted(view, ("chip",))
    for key in (every_pin, regulator):
        for refs in _grouped(chips, key).values():
            yield ParallelSet(
                kind="chip",
                parts=tuple(refs),
                because="same type, input and output on the same nets"
                if key is regulator
                else "same type, every pin on the same nets",
            )
