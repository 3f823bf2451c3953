"""Names for the pins of a nameless converter or driver chip, from its nets.

The coil shows the switch node, a capacitor between it and a private pin the
bootstrap pin, a divider the feedback pin, what else is a supply the input.
"""

import re

from ohmtrail.netanalysis.board import Part, Pin
from ohmtrail.netanalysis.graph import CircuitView
from ohmtrail.netanalysis.recognise.smoothing import smoothed_or_wide

__all__ = ["names_around_coil"]

_Names = dict[str, tuple[str, str]]
_Groups = dict[str, list[Pin]]
_MANY_PINS = 64
#: A bootstrap capacitor's own resistor (CP).
_SMALL_OHMS = 100.0
_SWITCH = re.compile(r"^(?:V?SW|LX|PH(?:ASE)?|SW_?NODE|VSW)[A-D\d]?$", re.I)


def names_around_coil(view: CircuitView, part: Part) -> _Names:
    """Return (name, reason) by pin number of a chip with switches inside.

    Parameters
    ----------
    view : CircuitView
        With kinds, ground, links, roles and first rails.
    part : Part
        A chip; names of its pins that net names tell may already be there.

    Notes
    -----
    O(pins on the chip's nets).  A chip with several switch nodes, or one whose
    input and output cannot be told apart, gets no names but those of its grounds
    and bootstrap pins.
    """
    groups: _Groups = {}
    for pin in part.pins:
        if pin.net is not None:
            groups.setdefault(pin.net, []).append(pin)
    nodes = {net: far for net in groups if (far := _coil(view, part, net, groups))}
    if not nodes:
        return {}
    names: _Names = {}
    for net, pins in groups.items():
        if view.is_ground(net):
            _name(names, pins, "GND", "at ground")
    for node, far in nodes.items():
        _name(names, groups[node], "SW", f"a coil leads from it to {far}")
        boot = _boot(view, part, node, groups)
        if boot is not None:
            _name(names, groups[boot], "BOOT", f"a capacitor to the coil's pin {node}")
    if len(nodes) == 1:
        node, far = next(iter(nodes.items()))
        told = far in nodes or _ports(view, part, groups, node, far, names)
        if not told and not any(pin.name for pin in part.pins):
            return {}
    return names


def _name(names: _Names, pins: list[Pin], name: str, because: str) -> None:
    for pin in pins:
        if not pin.name:
            names.setdefault(pin.number, (name, because))


def _coil(view: CircuitView, part: Part, net: str, groups: _Groups) -> str | None:
    """Return the net beyond the coil of a net that this chip switches, or None."""
    if view.is_ground(net) or net in view.rails or view.degree(net) > _MANY_PINS:
        return None
    coils = list(view.neighbours(net, "inductor"))
    if len(coils) != 1:
        return None
    ref, far = coils[0]
    on_net = set(view.refs(net)) - {part.ref, ref}
    if any(view.kind(r) in ("connector", "mosfet", "igbt", "chip") for r in on_net):
        return None
    if any(_SWITCH.match(pin.name) for pin in groups[net]):
        return far
    if _down(view, net) or _up(view, net, far) or _boot(view, part, net, groups):
        return far
    if on_net or view.is_ground(far) or smoothed_or_wide(view, net):
        return None
    return far if far in view.rails and smoothed_or_wide(view, far) else None


def _diode(view: CircuitView, ref: str, net: str, other: str) -> int:
    """Return 1 if a diode conducts from a net to another, -1 the other way."""
    if view.net_with_role(ref, "anode") == net:
        return 1 if view.net_with_role(ref, "cathode") == other else 0
    return -1 if view.net_with_role(ref, "anode") == other else 0


def _down(view: CircuitView, node: str) -> bool:
    return any(
        view.is_ground(far) and _diode(view, ref, node, far) < 0
        for ref, far in view.neighbours(node, "diode")
    )


def _up(view: CircuitView, node: str, far: str) -> str | None:
    """Net into which a rectifier leads from the node, not the coil's other end."""
    for ref, other in view.neighbours(node, "diode"):
        smooth = other in view.rails or smoothed_or_wide(view, other)
        if other != far and smooth and _diode(view, ref, node, other) > 0:
            return other
    return None


def _boot(view: CircuitView, part: Part, node: str, groups: _Groups) -> str | None:
    """Net of this chip at the other end of a capacitor from the node."""
    for _, other in view.neighbours(node, "capacitor"):
        if view.is_ground(other) or other in view.rails:
            continue
        places = [other] + [
            beyond
            for ref, beyond in view.neighbours(other, "resistor")
            if (view.ohms(ref) or 0.0) <= _SMALL_OHMS and beyond != node
        ]
        for net in places:
            if net in groups and len(groups[net]) == 1 and view.degree(net) <= 4:
                if not view.is_ground(net) and net not in view.rails:
                    return net
    return None


def _ports(
    view: CircuitView,
    part: Part,
    groups: _Groups,
    node: str,
    far: str,
    names: _Names,
) -> bool:
    """Name input, supply, output and feedback pins; False if direction is unclear."""
    beyond = set(view.linked_nets(far))
    supplies = [net for net in groups if _supply(view, part, net, beyond | {node})]

    def weight(net: str) -> tuple[bool, int, int]:
        return net in view.rails, len(groups[net]), view.degree(net)

    supplies.sort(key=weight, reverse=True)
    divided = {net: tops for net in groups if (tops := _divider(view, net))}
    up = _up(view, node, far)
    if up is not None:
        _boost(view, groups, names, far, up)
        target = {up}
    elif supplies and _steps_down(view, part, node, far, groups, supplies):
        because = f"the strongest supply beside the output {far}"
        _name(names, groups[supplies[0]], "VIN", because)
        for net in beyond & groups.keys():
            _name(names, groups[net], "FB", "at the coil's output end")
        target = beyond
    else:
        return False
    for net, tops in divided.items():
        if tops & target and net not in supplies:
            _name(names, groups[net], "FB", "at a divider of the output")
    return True


def _boost(
    view: CircuitView, groups: _Groups, names: _Names, far: str, up: str
) -> None:
    if far in groups:
        _name(names, groups[far], "VIN", "at the coil's supply end")
    if up in groups:
        _name(names, groups[up], "VOUT", "at the rectifier's output end")


def _supply(view: CircuitView, part: Part, net: str, avoid: set[str]) -> bool:
    if view.is_ground(net) or net in avoid:
        return False
    return net in view.rails and (smoothed_or_wide(view, net) or view.degree(net) > 3)


def _divider(view: CircuitView, net: str) -> set[str]:
    """Nets at the tops of a resistor divider whose middle is a net."""
    if view.degree(net) > 8 or net in view.rails:
        return set()
    ends = [far for _, far in view.neighbours(net, "resistor")]
    if not any(view.is_ground(far) for far in ends):
        return set()
    return {far for far in ends if not view.is_ground(far)}


def _steps_down(
    view: CircuitView,
    part: Part,
    node: str,
    far: str,
    groups: _Groups,
    supplies: list[str],
) -> bool:
    """Whether power goes from a supply of the chip to the coil's far end."""
    if _down(view, node) or _boot(view, part, node, groups):
        return True
    beyond = set(view.linked_nets(far))
    if not beyond & groups.keys():
        return True  # a boost has its input pin at the coil
    # A regulated output is what is named with its volts, an input often is not.
    told = [
        net in view.rails and view.rails[net].volts is not None
        for net in (far, supplies[0])
    ]
    return told == [True, False]
