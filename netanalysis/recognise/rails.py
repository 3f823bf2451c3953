"""Supply rails: which nets they are and their nominal volts."""

from collections.abc import Iterable

from ohmtrail.netanalysis.board import Pin
from ohmtrail.netanalysis.circuit import Rail, Stage
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.recognise.rail_names import (
    is_supply_name,
    last_component,
    volts_from_name,
)
from ohmtrail.netanalysis.recognise.rail_volts import Found, by_usb, conduct_volts
from ohmtrail.netanalysis.recognise.regulators import linear_regulators
from ohmtrail.netanalysis.recognise.smoothing import smoothed
from ohmtrail.netanalysis.recognise.supply import Source, build_tree, conduct
from ohmtrail.netanalysis.values import parse_value

__all__ = ["name_rails", "supply_tree"]

#: Series resistance through which a chip's supply may still come (RC filters of
#: supplies, common practice).
_FILTER_MAX_OHMS = 100.0
#: Stages of which either end may be a signal.
_SWITCHED = ("load switch", "back-to-back pass", "ideal diode", "half bridge")
#: Signals are filtered with less than this, supplies with more (CP).
_BULK_FARADS = 1.9e-6


def name_rails(view: CircuitView) -> tuple[Rail, ...]:
    """Return the rails that names and power pins show, before stages are known.

    Parameters
    ----------
    view : CircuitView
        With kinds, ground, links and roles.
    """
    return supply_tree(view, ())


def supply_tree(view: CircuitView, stages: tuple[Stage, ...]) -> tuple[Rail, ...]:
    """Return the rails with nominal volts, source, feeds and loads.

    Parameters
    ----------
    view : CircuitView
        With kinds, ground, links and roles.
    stages : tuple of Stage
        What was recognised of converters; their inputs and outputs are rails.

    Notes
    -----
    O(pins).  Volts come, best first, from what the user states, a fixed
    regulator's part number where the name agrees to its digits or says nothing,
    the name, USB, and through links that carry no switching current.  Where
    none tells they are None.
    """
    found = Found({}, {})
    switch_nodes = _switch_nodes(view, stages)
    for net, volts in view.stated_volts.items():
        if net in view.index.pins_by_net:
            found.add(net, "stated")
            found.tell(net, volts, "stated")
    _by_name(view, found, switch_nodes)
    _by_regulator(view, found)
    _by_stage(view, found, stages)
    _by_power_pins(view, found, switch_nodes)
    _by_capacitors(view, found, switch_nodes)
    by_usb(view, found)
    _along_links(view, found, switch_nodes)
    for net in switch_nodes:
        found.because.pop(net, None)
    sources = build_tree(view, stages, tuple(found.because), switch_nodes)
    conduct_volts(view, found, stages, sources, switch_nodes)
    order = [net.name for net in view.board.nets if net.name in found.because]
    return tuple(_rail(view, net, found, sources[net]) for net in order)


def _rail(view: CircuitView, net: str, found: Found, source: Source) -> Rail:
    volts, why = found.volts.get(net, (None, ""))
    return Rail(
        net=net,
        volts=volts,
        source=source.ref,
        feeds=source.feeds,
        loads=_loads(view, net, source.ref),
        because=found.because[net],
        volts_because=why,
    )


def _switch_nodes(view: CircuitView, stages: Iterable[Stage]) -> set[str]:
    """Nets that swing: stages' switch nodes, and what looks like one.

    Without a stage a net swings if it has a switch pin of a chip and a coil, or
    a coil, a transistor or diode and no capacitor to ground.
    """
    nodes = {node for stage in stages for node in stage.switch_nodes}
    for (ref, number), role in view.roles.items():
        if role.role not in ("switch", "boot") or view.kind(ref) == "other":
            continue
        net = view.net_of(ref, number)
        if net is not None and not view.is_ground(net):
            if role.role == "boot" or view.parts_on(net, "inductor", "transformer"):
                nodes.add(net)
    for part in view.board.parts:
        if view.kind(part.ref) not in ("inductor", "transformer"):
            continue
        for net in view.nets(part.ref):
            if net in nodes or view.is_ground(net) or len(view.nets(part.ref)) == 4:
                continue
            if view.parts_on(net, "mosfet", "diode") and not smoothed(view, net):
                if not view.parts_on(net, "connector", "battery"):
                    nodes.add(net)
    return nodes


def _by_name(view: CircuitView, found: Found, avoid: set[str]) -> None:
    for net in view.board.nets:
        name = net.name
        if name in avoid or view.is_ground(name) or view.degree(name) < 2:
            continue
        for text in (name, *net.aliases):
            if is_supply_name(text) and _has_power_part(view, name):
                found.add(name, f"named {text}")
                found.tell(name, volts_from_name(text), "name")


def _has_power_part(view: CircuitView, net: str) -> bool:
    """Whether a named net carries something that a supply has.

    That is a capacitor to ground, a chip's supply pin, a link, a regulator, a
    transistor's power pin; and it is not the bias pin of one chip alone.
    """
    users = {ref for ref in view.refs(net) if len(view.nets(ref)) > 2}
    if len(users) <= 1 and not _way_in(view, net):
        return False
    for pin in view.pins(net):
        kind, role = view.kind(pin.ref), view.role(pin.ref, pin.number)
        if role in ("supply", "input", "output", "drain", "source", "emitter"):
            return True
        if kind == "capacitor" and view.is_ground(view.other_net(pin.ref, net)):
            return True
        if kind in ("inductor", "bead", "fuse", "battery"):
            return True
    return False


def _by_regulator(view: CircuitView, found: Found) -> None:
    for regulator in linear_regulators(view):
        found.add(regulator.output, f"output of {regulator.ref}")
        found.add(regulator.input, f"input of {regulator.ref}")
        if regulator.volts is None:
            continue
        known = found.volts.get(regulator.output)
        if known is None:
            found.tell(regulator.output, regulator.volts, regulator.because)
        elif known[1] == "name" and _rounds_to(regulator.volts, known[0]):
            found.volts[regulator.output] = (regulator.volts, regulator.because)


def _rounds_to(exact: float, named: float) -> bool:
    """Whether a name is a shortened spelling of the exact volts (+3V, +1V1)."""
    return exact != named and 0.0 <= abs(exact) - abs(named) < 0.1 + 0.3 * (
        named == int(named)
    )


def _by_stage(view: CircuitView, found: Found, stages: Iterable[Stage]) -> None:
    """Add inputs and outputs of stages, where they look like supplies at all.

    The net between a coil and its shunt is no rail of its own unless somebody
    named it, nor is the return that a low-side switch makes.
    """
    for stage in stages:
        if view.is_ground(stage.output) or view.is_ground(stage.input):
            continue
        for net, far, what in (
            (stage.output_rail, None, "output of"),
            (stage.output, stage.output_rail, "output of"),
            (stage.input_rail, None, "input of"),
            (stage.input, stage.input_rail, "input of"),
        ):
            if net is None or net in found.because:
                continue
            named = bool(last_component(net))
            if far is not None and net != far and not named:
                continue
            converter = far is None and stage.kind not in _SWITCHED
            if converter or smoothed(view, net) or (named and is_supply_name(net)):
                found.add(net, f"{what} {stage.id}")
            elif view.parts_on(net, "connector", "battery", "fuse", "bead"):
                found.add(net, f"{what} {stage.id}")


def _by_power_pins(view: CircuitView, found: Found, avoid: set[str]) -> None:
    """Nets with a chip's supply pin, a capacitor and a way in from elsewhere."""
    for net in view.board.nets:
        name = net.name
        if name in found.because or name in avoid or view.is_ground(name):
            continue
        users = [
            pin.ref
            for pin in view.pins(name)
            if view.kind(pin.ref) == "chip" and _takes_power(view, pin)
        ]
        if not users:
            continue
        if smoothed(view, name) and _way_in(view, name):
            found.add(name, f"supply pin of {users[0]}")


def _takes_power(view: CircuitView, pin: Pin) -> bool:
    role = view.role(pin.ref, pin.number)
    return role == "supply" or (
        role == "input" and (pin.electrical == "power_in" or "VI" in pin.name.upper())
    )


def _by_capacitors(view: CircuitView, found: Found, avoid: set[str]) -> None:
    """Nets with bulk capacitance to ground and a way for current to come in."""
    for net in view.board.nets:
        name = net.name
        if name in found.because or name in avoid or view.is_ground(name):
            continue
        if view.degree(name) < 3 or not _way_in(view, name):
            continue
        farads = 0.0
        for ref, other in view.neighbours(name, "capacitor"):
            if view.is_ground(other):
                value = parse_value(view.part(ref).value, "capacitor")
                farads += (value.farads or 0.0) if value is not None else 0.0
        if farads >= _BULK_FARADS:
            found.add(name, "bulk capacitance to ground")


def _way_in(view: CircuitView, net: str) -> bool:
    """Whether current can come into a net: a bias pin of one chip has none."""
    if view.links_at(net) or view.parts_on(net, "connector", "battery"):
        return True
    for ref, other in view.neighbours(net, "resistor"):
        ohms = view.ohms(ref)
        if ohms is not None and ohms <= _FILTER_MAX_OHMS and not view.is_ground(other):
            return True
    return any(
        view.role(pin.ref, pin.number) in ("cathode", "emitter", "source", "drain")
        for pin in view.pins(net)
        if view.kind(pin.ref) in ("diode", "mosfet", "bipolar")
    )


def _along_links(view: CircuitView, found: Found, avoid: set[str]) -> None:
    """Add nets beyond beads, fuses, chokes and 0 ohm parts of a rail.

    The net beyond must look like a supply itself: a capacitor to ground, a
    chip's supply pin, a connector or a converter behind it.
    """
    queue = list(found.because)
    for here in queue:
        for link, there in conduct(view, here, avoid):
            if there in found.because or view.is_ground(there):
                continue
            if not _supplies_something(view, there, link.ref):
                continue
            found.add(there, f"{here} through {link.ref}")
            queue.append(there)


def _supplies_something(view: CircuitView, net: str, through: str) -> bool:
    if view.degree(net) < 2:
        return False
    for pin in view.pins(net):
        if pin.ref == through:
            continue
        kind, role = view.kind(pin.ref), view.role(pin.ref, pin.number)
        if role in ("supply", "input", "drain", "source"):
            return True
        if kind in ("capacitor", "tvs") and view.is_ground(
            view.other_net(pin.ref, net)
        ):
            return True
        if kind in ("connector", "battery", "transformer"):
            return True
    return False


def _loads(view: CircuitView, net: str, source: str | None) -> tuple[str, ...]:
    loads: dict[str, None] = {}
    for pin in view.pins(net):
        kind = view.kind(pin.ref)
        if pin.ref == source or kind not in ("chip", "connector", "relay", "other"):
            continue
        if view.role(pin.ref, pin.number) in ("output", "feedback", "sense"):
            continue
        if kind == "other" and len(view.part(pin.ref).pins) < 2:
            continue
        loads[pin.ref] = None
    return tuple(loads)
