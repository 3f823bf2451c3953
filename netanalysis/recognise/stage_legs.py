"""Legs: where switches or rectifiers meet at a node that swings."""

from collections.abc import Iterable
from dataclasses import dataclass

from ohmtrail.netanalysis.recognise.stage_scene import Element, Scene

__all__ = ["Coil", "Leg", "coils_at", "fed_end", "find_legs"]

#: A motor phase may carry a little capacitance to ground against ripple; a
#: supply carries more (common practice, no source).
_NODE_FARADS = 0.3e-6


@dataclass(frozen=True, slots=True)
class Coil:
    """An inductor or winding from a switch node to another net."""

    ref: str
    far: str
    transformer: bool = False


@dataclass(frozen=True, slots=True)
class Leg:
    """A node with what goes up from it, what goes down, and its coils."""

    node: str
    #: Transistors and rectifiers whose low end is the node.
    high_switches: tuple[Element, ...]
    high_diodes: tuple[Element, ...]
    #: Transistors and rectifiers whose high end is the node.
    low_switches: tuple[Element, ...]
    low_diodes: tuple[Element, ...]
    coils: tuple[Coil, ...]

    @property
    def switches(self) -> tuple[Element, ...]:
        """All transistors of the leg."""
        return (*self.high_switches, *self.low_switches)


def find_legs(scene: Scene) -> tuple[Leg, ...]:
    """Return the nodes with a transistor at one end at least and a mate.

    The mate is a transistor or rectifier at the other side, or a coil.  Nodes
    with real capacitance to ground are supplies and left out.

    Notes
    -----
    O(elements and coils).
    """
    nets: dict[str, None] = {}
    for element in scene.elements:
        if element.switch:
            nets[element.low] = None
            nets[element.high] = None
    legs = []
    for net in nets:
        leg = _leg(scene, net)
        if leg is not None:
            legs.append(leg)
    return tuple(legs)


def _leg(scene: Scene, net: str) -> Leg | None:
    if scene.view.is_ground(net) or not _swings(scene, net):
        return None
    up = scene.by_low.get(net, ())
    down = scene.by_high.get(net, ())
    high_switches = _one_end([e for e in up if e.switch], "high")
    low_switches = _low_ends(scene, [e for e in down if e.switch])
    coils = tuple(coils_at(scene, net))
    high_diodes = tuple(e for e in up if not e.switch)
    low_diodes = tuple(e for e in down if not e.switch)
    if not high_switches and not low_switches:
        return None
    if not coils and not (high_switches and low_switches):
        return None
    return Leg(net, high_switches, high_diodes, low_switches, low_diodes, coils)


def _swings(scene: Scene, net: str) -> bool:
    total = sum(scene.farads(ref) or 0.0 for ref in scene.caps_to_ground.get(net, ()))
    return total < _NODE_FARADS


def _one_end(elements: list[Element], end: str) -> tuple[Element, ...]:
    """Elements that share the most common net at their other end."""
    groups: dict[str, list[Element]] = {}
    for element in elements:
        groups.setdefault(str(getattr(element, end)), []).append(element)
    if not groups:
        return ()
    largest: list[Element] = max(groups.values(), key=len)
    return tuple(largest)


def _low_ends(scene: Scene, elements: list[Element]) -> tuple[Element, ...]:
    """Low elements that end at ground, directly or over a shunt; else the most."""
    grounded = [e for e in elements if scene.to_ground(e.low) is not None]
    return tuple(grounded) if grounded else _one_end(elements, "low")


def coils_at(scene: Scene, net: str) -> Iterable[Coil]:
    """Yield inductors and windings on a net; over a shunt or sensor as well."""
    view = scene.view
    places = [net]
    for other, way in view.linked_nets(net).items():
        if other != net and len(way) == 1 and view.degree(other) <= 6:
            places.append(other)
    for place in places:
        for ref in view.parts_on(place, "inductor", "transformer"):
            if view.kind(ref) == "inductor":
                far = view.other_net(ref, place)
                if far is not None:
                    yield Coil(ref, far)
                    continue
            winding = False
            for link in view.links_of(ref):
                if place in (link.net_a, link.net_b):
                    winding = True
                    yield Coil(
                        ref,
                        link.net_b if link.net_a == place else link.net_a,
                        view.kind(ref) == "transformer",
                    )
            if not winding and view.kind(ref) == "transformer":
                for other in _likely_winding(scene, ref, place):
                    yield Coil(ref, other, True)


def fed_end(scene: Scene, windings: Iterable[Coil]) -> str | None:
    """Return the far net of the first winding that hangs on a supply, or None."""
    for coil in windings:
        if scene.is_power(coil.far) or coil.far in scene.caps_to_ground:
            return coil.far
    return None


def _likely_winding(scene: Scene, ref: str, place: str) -> Iterable[str]:
    """Other ends of a winding when neither names nor links tell: supplies first."""
    nets = [net for net in scene.view.nets(ref) if net != place]
    nets = [net for net in nets if scene.view.degree(net) > 1]
    power = [net for net in nets if scene.is_power(net)]
    return power[:1] or nets[:1]
