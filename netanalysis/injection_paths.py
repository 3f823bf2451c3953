"""Every part through which an injected current may get from one net to others.

A wrong "not joined" gives too high a voltage, so doubt joins.  Four sorts of way,
told apart because the nearest explanation is the one to print:

* links: direct current flows anyway;
* switches: transistors, diodes and the switches inside chips, which may be shorted,
  contacts and bridges, which may be closed;
* made: from a rail to what is made from it, where no switch was told;
* wide: what only a worse fault joins: a transistor shorted to its gate, a chip shorted
  from any of its pins to its own supplies, a part about which nothing is known.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ohmtrail.netanalysis.board import Pin
from ohmtrail.netanalysis.circuit import Circuit
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.ground_like import ground_like
from ohmtrail.netanalysis.recognise.rail_names import is_supply_name
from ohmtrail.netanalysis.recognise.smoothing import smoothed
from ohmtrail.netanalysis.switch_paths import switch_paths

__all__ = [
    "LINK",
    "MADE",
    "SWITCH",
    "WIDE",
    "Way",
    "injection_ways",
    "is_small",
    "supply_nets",
]

LINK, SWITCH, MADE, WIDE = 0, 1, 2, 3

#: A resistor up to this carries a supply on (filters of supplies, inrush and gate
#: resistors; common practice, no source).
SMALL_OHMS = 100.0

#: A pin so named measures a supply and lives on another.
_SENSES = re.compile(r"SENSE|SNS|SEN$|MON$|DET")

#: Pins of a connector that may carry a jumper (CP).
_SMALL_CONNECTOR = 4

_DIODES = ("diode", "zener", "tvs", "led")
_TRANSISTORS = {
    "mosfet": ("drain", "source", "gate"),
    "igbt": ("collector", "emitter", "gate"),
    "bipolar": ("collector", "emitter", "base"),
}
#: Contacts and bridges that may be closed, windings that may touch.
_JOINERS = ("relay", "transformer", "jumper", "switch", "fuse", "bead", "inductor")


@dataclass(frozen=True, slots=True)
class Way:
    """One part (or one opinion) that leads from any of some nets to others."""

    ref: str
    #: `LINK`, `SWITCH`, `MADE` or `WIDE`.
    level: int
    entries: tuple[str, ...]
    exits: tuple[str, ...]
    #: Coils of a converter that all its current goes through: gone when all are off.
    coils: frozenset[str] = frozenset()

    def cut_by(self, off: frozenset[str]) -> bool:
        """Whether nothing leads this way while some parts are off the board."""
        return self.ref in off or (bool(self.coils) and self.coils <= off)


def is_small(view: CircuitView, ref: str) -> bool:
    """Whether a resistor is small enough to carry a supply, or of unknown value."""
    if view.sort(ref) == "thermistor":
        return True
    ohms = view.ohms(ref)
    return ohms is None or ohms <= SMALL_OHMS


def supply_nets(circuit: Circuit, view: CircuitView) -> frozenset[str]:
    """Return the nets on which something lives.

    Rails; chips' supply pins; what a name calls a supply; what a capacitor smooths at a
    chip's pin of which nothing is told.  A chip's ground pin on a net that is not
    ground is a negative or a floating supply.
    """
    found = {rail.net for rail in circuit.rails} | set(circuit.stated_volts)
    grounds = ground_like(view)
    for (ref, number), role in circuit.roles.items():
        net = view.net_of(ref, number)
        if net is None or net in grounds or not view.fitted(ref):
            continue
        pin = view.part(ref).pin(number)
        if pin is not None and _SENSES.search(pin.name.upper()):
            continue
        if role.role == "supply" or (
            role.role == "ground" and view.kind(ref) in ("chip", "other")
        ):
            found.add(net)
    for part in circuit.board.parts:
        if view.kind(part.ref) in ("chip", "other") and view.fitted(part.ref):
            for pin in part.pins:
                if pin.net is not None and (
                    is_supply_name(pin.net)
                    or (not _told(view, pin) and smoothed(view, pin.net))
                ):
                    found.add(pin.net)
    return frozenset(net for net in found if net not in view.ground)


def injection_ways(
    circuit: Circuit, view: CircuitView, supplies: frozenset[str]
) -> tuple[Way, ...]:
    """Return every way between nets; ground is no way, nothing lies beyond it.

    Parameters
    ----------
    circuit, view
        The board with what is recognised on it, and its view.
    supplies : frozenset of str
        As `supply_nets` gives them.

    Notes
    -----
    O(pins + links + stages).
    """
    found: dict[Way, None] = {}

    def add(
        ref: str,
        level: int,
        nets: Iterable[str | None],
        coils: frozenset[str] = frozenset(),
    ) -> None:
        ends = _ends(view, nets)
        if len(ends) > 1:
            found[Way(ref, level, ends, ends, coils)] = None

    for link in circuit.links:
        level = LINK if link.always else SWITCH
        add(link.ref, level, (link.net_a, link.net_b))
    for path in switch_paths(circuit, view):
        add(path.ref, SWITCH, (path.net_a, path.net_b))
    made_by = {rail.net: rail.source for rail in circuit.rails}
    coils = _coils_to(circuit)
    for rail in circuit.rails:
        for fed in rail.feeds:
            maker = made_by.get(fed) or ""
            add(maker, MADE, (rail.net, fed), coils.get(fed, frozenset()))
    for stage in circuit.stages:
        # From a converter's input to what it makes, whatever its switches are.
        maker = stage.controller or next(iter((*stage.high_side, *stage.low_side)), "")
        both = (stage.input, stage.input_rail, stage.output, stage.output_rail)
        add(maker, MADE, both, frozenset(stage.inductors))
    for part in circuit.board.parts:
        if not view.fitted(part.ref):
            continue
        kind, nets = view.kind(part.ref), view.nets(part.ref)
        if kind in _TRANSISTORS:
            for level, ends in _transistor(view, part.ref, _TRANSISTORS[kind]):
                add(part.ref, level, ends)
        elif kind in _DIODES or kind in _JOINERS:
            add(part.ref, SWITCH, nets)
        elif kind == "resistor" and is_small(view, part.ref):
            add(part.ref, SWITCH, nets)
        elif kind == "capacitor" and sum(net in supplies for net in nets) > 1:
            add(part.ref, WIDE, nets)
        elif kind == "connector" and len(part.pins) <= _SMALL_CONNECTOR:
            # A jumper, a wire link, a switch on a cable; with ground it is a port.
            if not any(view.is_ground(net) for net in nets):
                add(part.ref, SWITCH, (net for net in nets if net in supplies))
        elif kind in ("chip", "other") and len(nets) == 2:
            add(part.ref, WIDE, nets)
        if kind in ("chip", "other") and len(nets) > 2:
            way = _chip(view, part.ref, supplies)
            if way is not None:
                found[way] = None
    return tuple(found)


def _coils_to(circuit: Circuit) -> dict[str, frozenset[str]]:
    """Return the coils of all stages that make a rail; none where one has no coil."""
    found: dict[str, frozenset[str]] = {}
    bare: set[str] = set()
    for stage in circuit.stages:
        for net in {stage.output, stage.output_rail} - {None}:
            assert net is not None
            found[net] = found.get(net, frozenset()) | set(stage.inductors)
            if not stage.inductors:
                bare.add(net)
    return {net: coils for net, coils in found.items() if net not in bare}


def _ends(view: CircuitView, nets: Iterable[str | None]) -> tuple[str, ...]:
    return tuple(
        dict.fromkeys(
            net for net in nets if net is not None and not view.is_ground(net)
        )
    )


def _transistor(
    view: CircuitView, ref: str, roles: tuple[str, str, str]
) -> Iterator[tuple[int, tuple[str | None, ...]]]:
    """Yield gate shorts unit by unit; all of the part where its pins are not told."""
    known = True
    for unit in view.units(ref):
        ends = [view.pins_with_role(ref, role, unit=unit) for role in roles]
        known = known and bool(ends[0]) and bool(ends[1])
        yield WIDE, tuple(pin.net for pins in ends for pin in pins)
    if not known:
        yield SWITCH, view.nets(ref)


def _chip(view: CircuitView, ref: str, supplies: frozenset[str]) -> Way | None:
    """Return the way from any pin of a chip to its own supplies and power pins."""
    pins = [pin for pin in view.part(ref).pins if pin.net is not None]
    exits = _ends(
        view,
        (pin.net for pin in pins if pin.net in supplies or _power(view, pin)),
    )
    entries = _ends(view, (pin.net for pin in pins))
    if not exits or len(entries) < 2:
        return None
    return Way(ref, WIDE, entries, exits)


def _told(view: CircuitView, pin: Pin) -> bool:
    """Whether anything says what a pin is for."""
    named = pin.name.strip("0123456789")
    return bool(named or view.role(pin.ref, pin.number))


def _power(view: CircuitView, pin: Pin) -> bool:
    """Whether a chip's pin carries power though its net is called no supply."""
    net = pin.net or ""
    role = view.role(pin.ref, pin.number)
    if role == "switch":
        return True
    told = _told(view, pin)
    if role in ("input", "output") or not told:
        coil = any(link.kind in ("inductor", "bead") for link in view.links_at(net))
        return coil or (not told and smoothed(view, net))
    return False
