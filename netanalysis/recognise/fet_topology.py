"""Gate, drain and source of a field-effect transistor from its three nets alone.

For a table traced by eye, with neither pin names nor a package.  Power flows
through drain and source: ground, capacitors to ground, coils, fuses, power
connectors and other transistors' power pins sit there.  A gate is driven through a
resistor, or by a chip, and has none of these.
"""

from ohmtrail.netanalysis.board import Part, Pin
from ohmtrail.netanalysis.circuit import Role
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.polarity import is_p_type
from ohmtrail.netanalysis.recognise.leg_ends import FOOT_PINS, near_ground, power_end
from ohmtrail.netanalysis.recognise.smoothing import smoothed

__all__ = ["roles_from_topology"]

#: A gate's own resistors lie between the driver's few ohms and a bleed's 1 Mohm.
_BLEED_MIN_OHMS = 1e3


def roles_from_topology(
    view: CircuitView, part: Part, gate_pin: Pin | None = None
) -> dict[tuple[str, str], Role]:
    """Return the roles of a transistor on three nets, or nothing when unclear.

    Parameters
    ----------
    view : CircuitView
        With kinds and ground.
    part : Part
        A field-effect transistor without pin names.
    gate_pin : Pin, optional
        Its gate, where that much is known.

    Notes
    -----
    O(pins on its nets).  Every role is marked inferred.
    """
    groups: dict[str, list[Pin]] = {}
    for pin in part.pins:
        if pin.net is not None:
            groups.setdefault(pin.net, []).append(pin)
    if len(groups) != 3:
        return {}
    gate = gate_pin.net if gate_pin is not None else _gate(view, part, groups)
    if gate is None:
        return {}
    others = [net for net in groups if net != gate]
    source, because = _source(view, part, gate, others)
    if source is None:
        return {}
    drain = others[0] if others[1] == source else others[1]
    roles: dict[tuple[str, str], Role] = {}
    for net, name, why in (
        (
            gate,
            "gate",
            "the only net without power parts, driven by a resistor or chip",
        ),
        (source, "source", because),
        (drain, "drain", "the net left over"),
    ):
        for pin in groups[net]:
            roles[part.ref, pin.number] = Role(name, why, inferred=True)
    return roles


def _gate(view: CircuitView, part: Part, groups: dict[str, list[Pin]]) -> str | None:
    """Return the one driven net without power parts, the other two having them."""
    nodes = [net for net in groups if _leg_node(view, part.ref, net)]
    if len(nodes) == 1:
        rest = [net for net in groups if net != nodes[0]]
        ends = [net for net in rest if near_ground(view, net) or power_end(view, net)]
        if len(ends) == 1:
            return next(net for net in rest if net not in ends)
    power = {net: _power(view, part.ref, net) for net in groups}
    gates = [net for net, score in power.items() if score == 0 and _driven(view, net)]
    if len(gates) != 1 or any(power[net] == 0 for net in groups if net != gates[0]):
        return None
    return gates[0]


def _power(view: CircuitView, ref: str, net: str) -> int:
    """Count what shows that power flows through a net."""
    score = 2 if view.is_ground(net) else 0
    if _leg_node(view, ref, net):
        score += 1
    for other in view.refs(net):
        if other == ref:
            continue
        kind = view.kind(other)
        if kind in ("inductor", "fuse", "transformer", "battery"):
            score += 1
        elif kind == "connector" and len(view.part(other).pins) <= 4:
            score += 1
        elif kind == "capacitor" and view.is_ground(view.other_net(other, net)):
            score += 1
        elif kind == "resistor" and 0.0 < (view.ohms(other) or 0.0) < 0.5:
            # A shunt; a 0 ohm part may be a gate's own.
            score += 1
    return score


def _leg_node(view: CircuitView, ref: str, net: str) -> tuple[str, ...]:
    """Nets of the other transistor's far end if a net is the middle of a leg.

    One transistor ends at a supply, the other at ground or a shunt to it, and
    they share nothing else.  A resistor to the supply makes the net a gate with
    its pull-up.
    """
    if view.is_ground(net) or net in view.rails or view.degree(net) > FOOT_PINS:
        return ()
    mine = [n for n in view.nets(ref) if n != net]
    for other in view.parts_on(net, "mosfet", "igbt"):
        theirs = [n for n in view.nets(other) if n != net]
        if other == ref or len(theirs) != 2 or set(theirs) & set(mine):
            continue
        for above, below in ((mine, theirs), (theirs, mine)):
            tops = [n for n in above if power_end(view, n)]
            feet = [n for n in below if near_ground(view, n)]
            if len(tops) != 1 or len(feet) != 1:
                continue
            if not view.two_pin_parts_between(net, tops[0], "resistor"):
                return tuple(feet if above is mine else tops)
    return ()


def _driven(view: CircuitView, net: str) -> bool:
    return bool(view.parts_on(net, "resistor", "chip", "mosfet", "bipolar"))


def _gate_nodes(view: CircuitView, gate: str, others: list[str]) -> list[str]:
    """Return the gate's net, and the one before its series resistor."""
    nodes = [gate]
    for ref, far in view.neighbours(gate, "resistor", "bead"):
        ohms = view.ohms(ref)
        small = ohms is None or ohms < _BLEED_MIN_OHMS
        if small and far not in others and not view.is_ground(far):
            if far not in view.rails:
                nodes.append(far)
    return nodes


def _source(
    view: CircuitView, part: Part, gate: str, others: list[str]
) -> tuple[str | None, str]:
    """Tell source from drain: bleed resistor, ground, coil."""
    for ref, other in view.neighbours(gate, "zener", "tvs"):
        if other not in others:
            return None, f"{ref} sets the gate: a follower, its bias is no bleed"
    bleeds = {
        net
        for node in _gate_nodes(view, gate, others)
        for net in others
        for ref in view.two_pin_parts_between(node, net, "resistor")
        if (ohms := view.ohms(ref)) is None or ohms >= _BLEED_MIN_OHMS
    }
    if len(bleeds) == 1:
        return bleeds.pop(), "the gate's bleed resistor ends there"
    clamps = {
        net
        for node in _gate_nodes(view, gate, others)
        for net in others
        for _ in view.two_pin_parts_between(node, net, "zener", "tvs")
    }
    if len(clamps) == 1:
        return clamps.pop(), "the gate's clamp ends there"
    p_channel = is_p_type(view, part.ref)
    grounded = [net for net in others if view.is_ground(net)]
    if len(grounded) == 1 and not p_channel:
        return grounded[0], "at ground"
    nodes = [net for net in others if _leg_node(view, part.ref, net)]
    if len(nodes) == 1 and not p_channel:
        feet = any(near_ground(view, net) for net in others if net != nodes[0])
        source = next(net for net in others if (net == nodes[0]) != feet)
        return source, "the lower end of its half of a leg"
    coils = [net for net in others if view.parts_on(net, "inductor")]
    smooth = [net for net in others if smoothed(view, net)]
    if len(coils) == 1 and len(smooth) == 1 and coils != smooth:
        if p_channel:
            return smooth[0], "at the smoothed supply, the coil on the other side"
        return coils[0], "at the coil, the smoothed supply on the other side"
    return None, ""
