"""From a gate back to the pin that drives it.

The walk starts at the gate and goes over resistors, beads and forward diodes
until it meets a driver: a chip's gate pin, any other chip's output, a transistor
that pulls the node, a connector.  What bridges the way is the turn-off path, what
leads from it to the switch's own source is the bleed.
"""

from dataclasses import dataclass

from ohmtrail.netanalysis.board import Pin
from ohmtrail.netanalysis.circuit import GateChain
from ohmtrail.netanalysis.recognise.gate_walk import (
    GATE_MAX_OHMS,
    RANK_TRANSISTOR,
    SLOW_GATE_MAX_OHMS,
    Step,
    across,
    barred,
    diode_points,
    drivers,
)
from ohmtrail.netanalysis.recognise.stage_scene import Element, Scene

__all__ = ["Drive", "find_drive"]


@dataclass(frozen=True, slots=True)
class Drive:
    """A gate chain and what kind of thing drives it."""

    chain: GateChain
    #: Ref of the driver, None where none was found.
    driver: str | None
    #: "chip", "transistor", "connector" or "".
    sort: str


def find_drive(scene: Scene, element: Element, mates: tuple[Element, ...]) -> Drive:
    """Return the gate chain of one switch.

    Parameters
    ----------
    scene : Scene
        The board.
    element : Element
        The switch.
    mates : tuple of Element
        Switches of the same stage; none of them counts as a driver.

    Notes
    -----
    O(parts within a few steps of the gate).
    """
    gate = element.gate or ""
    own = {(mate.ref, mate.unit) for mate in (*mates, element)}
    found = min(
        drivers(scene, element, own, GATE_MAX_OHMS),
        key=lambda hit: hit.order,
        default=None,
    )
    if found is None or found.rank > RANK_TRANSISTOR:
        slow = min(
            drivers(scene, element, own, SLOW_GATE_MAX_OHMS),
            key=lambda hit: hit.order,
            default=None,
        )
        if slow is not None and (found is None or slow.rank < found.rank):
            found = slow
    way = found.way if found is not None else ()
    nodes = (gate, *(step.far for step in way))
    pin = found.pin if found is not None else None
    off = _second_output(scene, element, way, pin)
    if not off:
        off = _bypass(scene, element, way)
    if not off:
        off = _helper(scene, element, nodes, own, pin)
    used = {step.ref for step in way}
    chain = GateChain(
        switch=element.ref,
        gate=element.gate_pin or "",
        driver_pin=pin.key if pin is not None else None,
        series=tuple(step.ref for step in reversed(way)),
        turn_off=off,
        pull_down=_bleed(scene, element, nodes, used | set(off)),
    )
    driver = pin.ref if pin is not None else None
    if found is not None and found.sort not in ("chip", "transistor"):
        driver = None
    return Drive(chain, driver, found.sort if found is not None else "")


# -- beside the way --------------------------------------------------------


def _second_output(
    scene: Scene, element: Element, way: tuple[Step, ...], pin: Pin | None
) -> tuple[str, ...]:
    """Turn-off path of a driver with separate on and off outputs.

    Both pins of one chip reach the gate, each over its own small part.
    """
    view = scene.view
    if pin is None or not way or view.kind(pin.ref) != "chip":
        return ()
    node = way[0].near
    used = {step.ref for step in way}
    for ref, other in view.neighbours(node, "resistor", "bead", "diode"):
        ohms = view.ohms(ref)
        if ref in used or (ohms is not None and ohms > GATE_MAX_OHMS):
            continue
        if barred(scene, element, other) or other == pin.net:
            continue
        if any(p.ref == pin.ref for p in view.pins(other)):
            return (ref,)
    return ()


def _bypass(scene: Scene, element: Element, way: tuple[Step, ...]) -> tuple[str, ...]:
    """Parts that bridge the series parts: a diode, or a diode and a resistor."""
    view = scene.view
    nodes = [way[0].near, *(step.far for step in way)] if way else []
    used = {step.ref for step in way}
    for place, near in enumerate(nodes):
        ahead = set(nodes[place + 1 :])
        for ref in view.refs(near):
            if ref in used or view.kind(ref) not in ("diode", "resistor"):
                continue
            for middle in across(scene, ref, near):
                diode = view.kind(ref) == "diode"
                if middle in ahead:
                    if diode and _turns_off(scene, element, ref, near, middle):
                        return (ref,)
                    continue
                if middle in nodes or view.degree(middle) != 2:
                    continue
                for second, far in view.neighbours(middle, "diode", "resistor"):
                    if second == ref or far not in ahead:
                        continue
                    if diode and _turns_off(scene, element, ref, near, middle):
                        return (ref, second)
                    if view.kind(second) == "diode" and not diode:
                        if _turns_off(scene, element, second, middle, far):
                            return (ref, second)
    return ()


def _turns_off(scene: Scene, element: Element, diode: str, near: str, far: str) -> bool:
    """Whether a diode beside the gate resistor lets the gate's charge out.

    Where its ends are only inferred from habit the usual use is taken.
    """
    view = scene.view
    if any(
        role.inferred
        for pin in view.part(diode).pins
        if (role := view.roles.get((diode, pin.number))) is not None
    ):
        return True
    return diode_points(scene, diode, near, far) != (1 if element.p_type else -1)


def _helper(
    scene: Scene,
    element: Element,
    nodes: tuple[str, ...],
    own: set[tuple[str, int]],
    pin: Pin | None,
) -> tuple[str, ...]:
    """Find the transistor that discharges the gate into the switch's own source."""
    view = scene.view
    for node in nodes:
        for other in scene.at(node):
            if not other.switch or (other.ref, other.unit) in own:
                continue
            far = other.low if other.high == node else other.high
            commanded = other.gate in nodes or (
                pin is not None
                and pin.ref == other.ref
                and pin.net == node
                and view.role(pin.ref, pin.number) in ("collector", "drain")
            )
            if not commanded:
                continue
            if far == element.source:
                return (other.ref,)
            for ref, beyond in view.neighbours(far, "resistor"):
                if beyond == element.source:
                    return (other.ref, ref)
    return ()


def _bleed(
    scene: Scene, element: Element, nodes: tuple[str, ...], used: set[str]
) -> tuple[str, ...]:
    """Resistors from the gate's side to the switch's own source."""
    view = scene.view
    found: dict[str, None] = {}
    for node in nodes:
        if node == element.source:
            continue
        for ref, other in view.neighbours(node, "resistor"):
            if ref not in used and scene.same_ground(other, element.source):
                found[ref] = None
    return tuple(found)
