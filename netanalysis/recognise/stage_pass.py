"""Pass transistors: load switches, back-to-back pairs, ideal diodes."""

from collections.abc import Iterable
from dataclasses import replace

from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.recognise.stage_back_to_back import (
    back_to_back_stages,
    upstream,
)
from ohmtrail.netanalysis.recognise.stage_build import (
    Command,
    command,
    refs_of,
    switching_stage,
)
from ohmtrail.netanalysis.recognise.stage_linear import is_shunt_reference
from ohmtrail.netanalysis.recognise.stage_scene import Element, Scene

__all__ = ["pass_stages"]

#: A resistor this small between a transistor and its load still lets power
#: through (inrush and precharge resistors; common practice, no source).
_LOAD_MAX_OHMS = 100.0
#: From here on a resistor to a supply pulls a signal up (CP).
_PULL_UP_OHMS = 470.0
#: A fan, lamp or heater has a connector of few pins; a header has many (CP).
_LOAD_PINS = 4


def pass_stages(
    scene: Scene, used: set[tuple[str, int]], made: Iterable[str | None] = ()
) -> list[Stage]:
    """Return load switches, back-to-back pairs and ideal diodes.

    Parameters
    ----------
    scene : Scene
        The board.
    used : set of (ref, unit)
        Transistors that belong to stages already.
    made : iterable of str or None
        Nets that converters make: power comes in there.

    Notes
    -----
    O(elements).
    """
    free = [e for e in scene.elements if e.switch and (e.ref, e.unit) not in used]
    positions = _positions(free)
    made = frozenset(made)
    found, done = back_to_back_stages(scene, positions, made)
    for place, position in enumerate(positions):
        if place not in done:
            stage = _single(scene, position, made)
            if stage is not None:
                found.append(stage)
    return found


def _positions(elements: list[Element]) -> list[tuple[Element, ...]]:
    """Group transistors between the same nets."""
    groups: dict[tuple[str, str, bool], list[Element]] = {}
    for element in elements:
        groups.setdefault((element.high, element.low, element.p_type), []).append(
            element
        )
    return [tuple(group) for group in groups.values()]


def _single(
    scene: Scene, position: tuple[Element, ...], made: frozenset[str | None]
) -> Stage | None:
    first = position[0]
    if scene.view.is_ground(first.high):
        return None
    if scene.to_ground(first.low) is not None:
        return _low_side(scene, position)
    top, bottom = first.high, first.low
    fed = scene.carries(top) or _passed_on(scene, first)
    if not fed and not scene.carries(bottom):
        return None
    if first.kind == "bipolar" and not first.p_type:
        return None
    if _reverse_protection(scene, first, made):
        told = replace(command(scene, position), missing=())
        ends = (bottom, top)
        if upstream(scene, top, made) > upstream(scene, bottom, made):
            ends = (top, bottom)
        return _stage(
            scene, "ideal diode", *ends, position, told, "gate tied, no driver"
        )
    if not fed or not _loads(scene, bottom):
        return None
    told = command(scene, position)
    if told.driver is None and (first.kind == "bipolar" or _follows(scene, first)):
        return None
    if told.driver is None and not _fixed_gate(scene, first):
        return _stage(
            scene, "load switch", top, bottom, position, told, "pass transistor"
        )
    if first.p_type and is_shunt_reference(scene, told.driver):
        return _stage(
            scene, "linear regulator", top, bottom, position, told, "pass element"
        )
    if _ideal_controller(scene, told, first):
        return _stage(
            scene, "ideal diode", bottom, top, position, told, "body diode forward"
        )
    if scene.is_power(first.gate) and not scene.view.is_ground(first.gate):
        # The other supply on its gate: of two, this one passes when that is off.
        if upstream(scene, bottom, made) > upstream(scene, top, made):
            top, bottom = bottom, top
    return _stage(scene, "load switch", top, bottom, position, told, "pass transistor")


def _passed_on(scene: Scene, element: Element) -> bool:
    """Whether another transistor passes a supply to this one's upper end."""
    return any(
        other.switch and other.ref != element.ref and scene.is_power(other.low)
        for other in scene.by_high.get(element.high, ())
    )


def _follows(scene: Scene, element: Element) -> bool:
    """Whether the gate hangs on the own drain: a follower, such as a ripple filter."""
    return bool(
        scene.view.two_pin_parts_between(element.gate, element.drain, "resistor")
    )


def _stage(
    scene: Scene,
    kind: str,
    source: str,
    target: str,
    position: tuple[Element, ...],
    told: Command,
    why: str,
) -> Stage:
    stage = switching_stage(
        scene,
        kind,
        nodes=(),
        input=source,
        output=target,
        high=position,
        low=(),
        inductors=(),
        because=(f"{', '.join(refs_of(position))} from {source} to {target}: {why}",),
        told=told,
    )
    beyond = _behind_resistor(scene, target, set(refs_of(position)))
    return replace(stage, output_rail=beyond) if beyond else stage


def _behind_resistor(scene: Scene, net: str, own: set[str]) -> str | None:
    """Supply behind a series resistor that is all there is on a switched net."""
    view = scene.view
    if len(set(view.refs(net)) - own) != 1:
        return None
    for ref, other in view.neighbours(net, "resistor"):
        ohms = view.ohms(ref)
        if ohms is not None and ohms <= _LOAD_MAX_OHMS and scene.is_power(other):
            return other
    return None


def _loads(scene: Scene, net: str) -> bool:
    """Whether a switched net feeds something: caps, chips, a connector, a diode."""
    view = scene.view
    if scene.carries(net) or net in scene.caps_to_ground:
        return True
    for pin in view.pins(net):
        kind = view.kind(pin.ref)
        if kind in ("bead", "fuse", "relay", "battery"):
            return True
        if kind == "connector":
            return True
        if kind == "chip" and view.role(pin.ref, pin.number) in ("supply", "input"):
            return True
    for ref, other in view.neighbours(net, "resistor"):
        ohms = view.ohms(ref)
        if ohms is not None and ohms <= _LOAD_MAX_OHMS and not view.is_ground(other):
            if scene.carries(other) or scene.by_low.get(other):
                return True
    return False


def _fixed_gate(scene: Scene, element: Element) -> bool:
    """Whether the gate is tied to ground or a rail rather than driven."""
    view = scene.view
    gate = element.gate or ""
    if view.is_ground(gate) or scene.is_power(gate):
        return True
    return any(
        view.is_ground(other) or (other != element.source and scene.is_power(other))
        for _, other in view.neighbours(gate, "resistor")
    )


def _reverse_protection(
    scene: Scene, element: Element, made: frozenset[str | None]
) -> bool:
    """Whether a P-channel's gate is tied to ground: it conducts if polarity is right.

    The tie is straight or over a resistor, and no driver is there.  (N-channel
    transistors of this use sit in the return.)
    """
    if element.kind != "mosfet":
        return False
    view = scene.view
    gate = element.gate or ""
    if view.is_ground(gate):
        return element.p_type
    if scene.is_power(gate):
        return False
    if any(
        view.kind(pin.ref) in ("chip", "bipolar", "mosfet", "connector")
        and pin.ref != element.ref
        for pin in view.pins(gate)
    ):
        return False
    if not element.p_type or not any(
        view.is_ground(other) for _, other in view.neighbours(gate, "resistor")
    ):
        return False
    # Power must be able to come in at the drain (body diode forward).
    came, went = (upstream(scene, n, made) for n in (element.drain, element.source))
    return came >= went


def _ideal_controller(scene: Scene, told: Command, element: Element) -> bool:
    """Whether the driver watches both ends: ANODE and CATHODE, IN and OUT pins."""
    if told.driver is None or scene.view.kind(told.driver) != "chip":
        return False
    part = scene.view.part(told.driver)
    names = {pin.name.upper(): pin.net for pin in part.pins}
    text = f"{part.description} {part.keywords} {part.value}".upper()
    anode = next((names[n] for n in ("ANODE", "A", "AN") if n in names), None)
    cathode = next((names[n] for n in ("CATHODE", "C", "K") if n in names), None)
    if anode is not None and cathode is not None:
        return anode == element.low or cathode == element.high
    if "IDEAL DIODE" in text:
        return True
    view = scene.view
    came = [pin.net for pin in view.pins_with_role(told.driver, "input", "supply")]
    went = [pin.net for pin in view.pins_with_role(told.driver, "output")]
    if element.low in came and element.high in went:
        return True
    # A two-wire controller senses the far side.
    seen = [pin.net for pin in view.pins_with_role(told.driver, "sense")]
    return element.low in came and element.high in seen and element.high not in came


def _low_side(scene: Scene, position: tuple[Element, ...]) -> Stage | None:
    """Switch in a ground return: only where a load's return is plain to see."""
    first = position[0]
    net = first.high
    if not _return_of_load(scene, net):
        return None
    told = command(scene, position)
    kind = "load switch"
    if told.driver is None and _tied_on(scene, first):
        kind, told = "ideal diode", replace(told, missing=())
    return switching_stage(
        scene,
        kind,
        nodes=(),
        input=net,
        output=first.low,
        high=(),
        low=position,
        inductors=(),
        because=(f"{', '.join(refs_of(position))} in the return of {net}",),
        told=told,
    )


def _load_between(scene: Scene, net: str, connectors: tuple[str, ...]) -> bool:
    """Whether a small connector holds a supply and this net: the load hangs there."""
    view = scene.view
    if any(True for _ in view.neighbours(net, "resistor", "chip", "led")):
        return False
    return any(
        len(view.part(ref).pins) <= _LOAD_PINS
        and any(scene.is_power(other) for other in view.nets(ref))
        for ref in connectors
    )


def _tied_on(scene: Scene, element: Element) -> bool:
    """Whether a supply holds the gate on, straight or over a resistor."""
    gate = element.gate or ""
    if scene.is_power(gate):
        return True
    view = scene.view
    return any(scene.is_power(other) for _, other in view.neighbours(gate, "resistor"))


def _return_of_load(scene: Scene, net: str) -> bool:
    """Whether a net is the return of a load: named so, or with a freewheel diode."""
    view = scene.view
    if scene.is_power(net):
        return True
    connectors = view.parts_on(net, "connector", "battery")
    if not connectors:
        return False
    name = net.rsplit("/", 1)[-1].upper()
    if name.endswith(("-", "_N", "GND", "NEG", "_RTN", "RETURN")):
        # RESET_N with a pull-up is a signal, not the return of a load.
        return not any(
            scene.is_power(other) and (view.ohms(ref) or 0.0) >= _PULL_UP_OHMS
            for ref, other in view.neighbours(net, "resistor")
        )
    if _load_between(scene, net, connectors):
        return True
    # Freewheel diode to a supply: a motor, a fan, a relay on a connector.
    return any(
        e.kind == "diode" and scene.is_power(e.high) for e in scene.by_low.get(net, ())
    )
