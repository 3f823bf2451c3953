"""Parts that stand around a stage: bootstrap, sense, snubber, capacitors."""

from collections import Counter
from collections.abc import Iterable

from ohmtrail.netanalysis.recognise.stage_scene import Scene

__all__ = [
    "bootstrap_parts",
    "clamp_parts",
    "measured_by",
    "sense_parts",
    "snubber_parts",
    "winding_sense",
]

_SNUBBER_MAX_OHMS = 1e3
#: Roles of pins to which a capacitor from the switch node is no bootstrap.
_NO_BOOT = (
    *("feedback", "sense", "enable", "switch", "ground"),
    *("high gate", "low gate", "gate drive"),
)
#: Filter resistors between a shunt and the pins that sense it (CP).
_FILTER_MAX_OHMS = 1.1e3

#: A net and the refs on the way to it.
_Reach = tuple[str, tuple[str, ...]]


def bootstrap_parts(
    scene: Scene, node: str, drivers: Iterable[str | None]
) -> tuple[str, ...]:
    """Return bootstrap capacitors, diode and resistors of a floating driver.

    The capacitor runs from the switch node to a pin of the driver (over a small
    resistor at either end); the diode charges it from the drive supply.
    """
    view = scene.view
    chips = {ref for ref in drivers if ref is not None and view.kind(ref) == "chip"}
    found: dict[str, None] = {}
    starts: list[_Reach] = [(node, ())]
    starts += [
        (other, (ref,))
        for ref, other in view.neighbours(node, "resistor")
        if (view.ohms(ref) or 0.0) <= 100.0 and _private(scene, other)
    ]
    for start, way in starts:
        for cap, other in view.neighbours(start, "capacitor"):
            if view.is_ground(other) or other in (node, start):
                continue
            if other in scene.by_gate:
                continue  # a capacitor from gate to source
            for boot, over in _boot_nets(scene, other, chips, node):
                for ref in (*way, cap, *over):
                    found[ref] = None
                for ref in _charging(scene, boot, other, node):
                    found[ref] = None
    return tuple(found)


def _private(scene: Scene, net: str) -> bool:
    return not scene.view.is_ground(net) and not scene.is_power(net)


def _boot_nets(
    scene: Scene, net: str, chips: set[str], node: str
) -> list[tuple[str, tuple[str, ...]]]:
    """Net with the driver's boot pin: this one or beyond a small resistor."""
    view = scene.view
    places: list[_Reach] = [(net, ())]
    places += [
        (other, (ref,))
        for ref, other in view.neighbours(net, "resistor")
        if (view.ohms(ref) or 0.0) <= 100.0 and _private(scene, other) and other != node
    ]
    found: list[tuple[str, tuple[str, ...]]] = []
    for place, over in places:
        for pin in view.pins(place):
            if pin.ref not in chips:
                continue
            role = view.role(pin.ref, pin.number)
            if role == "boot" or (role not in _NO_BOOT and not scene.is_power(place)):
                found.append((place, over))
                break
    return found


def _charging(scene: Scene, boot: str, cap_net: str, node: str) -> list[str]:
    """Diode into the boot net, and the resistors and switch it is fed through."""
    view = scene.view
    found: list[str] = []
    for net in dict.fromkeys((boot, cap_net)):
        reach: list[_Reach] = [(net, ())]
        reach += [
            (other, (ref,))
            for ref, other in view.neighbours(net, "resistor")
            if (view.ohms(ref) or 0.0) <= 100.0 and _private(scene, other)
        ]
        for here, over in reach:
            for element in scene.by_high.get(here, ()):
                if element.kind != "diode" or element.low == node:
                    continue
                found.extend((*over, element.ref))
                found.extend(_feed(scene, element.low, {here, node}))
    # Further capacitors from the boot net to the switch node.
    for net in dict.fromkeys((boot, cap_net)):
        found.extend(view.two_pin_parts_between(net, node, "capacitor"))
    return found


def _feed(scene: Scene, net: str, avoid: set[str]) -> list[str]:
    """Series resistor and pass transistor between a bootstrap diode and its supply."""
    view = scene.view
    found: list[str] = []
    here = net
    for _ in range(3):
        if scene.is_power(here):
            break
        step = None
        for ref, other in view.neighbours(here, "resistor", "bead"):
            if other not in avoid and not view.is_ground(other):
                if (view.ohms(ref) or 0.0) <= 100.0 and ref not in found:
                    step = (ref, other)
                    break
        if step is None:
            for element in scene.by_low.get(here, ()):
                if element.switch and scene.is_power(element.high):
                    step = (element.ref, element.high)
                    break
        if step is None:
            break
        found.append(step[0])
        avoid = avoid | {here}
        here = step[1]
    return found


def snubber_parts(
    scene: Scene, node: str, rails: Iterable[str | None]
) -> tuple[str, ...]:
    """Return series R and C from a switch node to ground or to a rail of the stage."""
    view = scene.view
    ends = {net for net in rails if net is not None}
    found: dict[str, None] = {}
    for first, middle in view.neighbours(node, "capacitor", "resistor"):
        if view.is_ground(middle) or middle in ends:
            continue
        kinds = ("resistor",) if view.kind(first) == "capacitor" else ("capacitor",)
        if view.degree(middle) > 12:
            continue
        others = view.refs(middle)
        if any(view.kind(ref) not in ("capacitor", "resistor") for ref in others):
            continue
        if len(others) > 6:
            continue
        seconds = [
            ref
            for ref, far in view.neighbours(middle, *kinds)
            if view.is_ground(far) or far in ends or scene.to_ground(far) is not None
        ]
        resistors = [first] if kinds == ("capacitor",) else seconds
        if not seconds or any(
            (view.ohms(ref) or 0.0) > _SNUBBER_MAX_OHMS for ref in resistors
        ):
            continue
        firsts = view.two_pin_parts_between(node, middle, "capacitor", "resistor")
        for ref in (*firsts, *seconds):
            found[ref] = None
    return tuple(found)


def sense_parts(scene: Scene, *nets: str | None) -> tuple[str, ...]:
    """Return shunts that join one of these nets to what lies beyond.

    Shunts have a marked resistance above zero or four terminals; a current
    sensor's conductor counts too.
    """
    view = scene.view
    found: dict[str, None] = {}
    for net in nets:
        if net is None or view.is_ground(net):
            continue
        for link in view.links_at(net):
            if link.kind == "resistor" and link.always:
                four = len(view.part(link.ref).pins) == 4
                if link.because.startswith("Kelvin"):
                    continue
                if (link.ohms is not None and link.ohms > 0.0) or (
                    four and view.sort(link.ref) != "network"
                ):
                    found[link.ref] = None
    return tuple(found)


def winding_sense(scene: Scene, node: str, ends: Iterable[str | None]) -> list[str]:
    """Return R and C across an inductor whose midpoint a chip looks at.

    The time constant is matched to the winding, so that the capacitor's voltage
    is the current times the winding's resistance.  A midpoint on a feedback pin
    is ripple for a regulator, not a measurement.
    """
    view = scene.view
    found: list[str] = []
    for resistor, middle in view.neighbours(node, "resistor"):
        if view.is_ground(middle) or view.degree(middle) > 6:
            continue
        looked_at = any(
            view.role(chip, pin.number) != "feedback"
            for chip in view.parts_on(middle, "chip")
            for pin in view.pins_on(chip, middle)
        )
        capacitors = [
            ref
            for end in ends
            if end is not None
            for ref in view.two_pin_parts_between(middle, end, "capacitor")
        ]
        if looked_at and capacitors:
            found += [resistor, *capacitors]
    return found


def measured_by(scene: Scene, ref: str) -> tuple[str, ...]:
    """Return the shunts whose ends a chip's sense pins see, over filters as well."""
    view = scene.view
    seen: Counter[str] = Counter()
    for pin in view.pins_with_role(ref, "sense"):
        if pin.net is None:
            continue
        nets = [pin.net]
        nets += [
            other
            for part, other in view.neighbours(pin.net, "resistor")
            if (view.ohms(part) or 0.0) <= _FILTER_MAX_OHMS
        ]
        shunts = {
            link.ref: 1 if view.is_ground(net) else 2
            for net in nets
            for link in view.links_at(net)
            if link.kind == "resistor"
            and any(way.ohms for way in view.links_of(link.ref))
        }
        # At ground every low-side shunt ends: both of its ends must be sensed.
        seen.update(shunts)
    return tuple(shunt for shunt, count in seen.items() if count > 1)


def clamp_parts(scene: Scene, node: str, rail: str | None) -> tuple[str, ...]:
    """Return diode, resistors and capacitors (or a TVS) that clamp a winding.

    The diode leads from the node to a private net that resistors, capacitors or
    a clamp tie to the rail on the winding's other end, or to ground.
    """
    view = scene.view
    found: dict[str, None] = {}
    for element in scene.by_low.get(node, ()):
        middle = element.high
        if element.kind != "diode" or scene.is_power(middle) or view.is_ground(middle):
            continue
        ties = [
            ref
            for ref, far in view.neighbours(
                middle, "resistor", "capacitor", "tvs", "zener"
            )
            if far == rail or view.is_ground(far)
        ]
        if ties:
            found.update(dict.fromkeys((element.ref, *ties)))
    return tuple(found)
