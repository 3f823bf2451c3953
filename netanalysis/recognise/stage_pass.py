"""Pass transistors: load switches, back-to-back pairs, ideal diodes."""

from collections.abc import Iterable
from dataclasses import replace

from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.recognise.stage_build import (
    Command,
    command,
    refs_of,
    switching_stage,
)
from ohmtrail.netanalysis.recognise.stage_parts import measured_by, sense_parts
from ohmtrail.netanalysis.recognise.stage_scene import Element, Scene

__all__ = ["pass_stages"]

#: A resistor this small between a transistor and its load still lets power
#: through (inrush and precharge resistors; common practice, no source).
_LOAD_MAX_OHMS = 100.0


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
    free = [
        e
        for e in scene.elements
        if e.switch and (e.ref, e.unit) not in used and not _signal_level(scene, e)
    ]
    positions = _positions(free)
    made = frozenset(made)
    found: list[Stage] = []
    done: set[int] = set()
    for place, position in enumerate(positions):
        if place in done:
            continue
        mate = _back_to_back(scene, place, positions, done)
        if mate is not None:
            done |= {place, mate}
            found.append(_pair(scene, position, positions[mate], made))
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


def _signal_level(scene: Scene, element: Element) -> bool:
    """Level shifters and logic: an end that carries a signal, not power."""
    if scene.view.is_ground(element.high):
        return True
    return False


def _back_to_back(
    scene: Scene, place: int, positions: list[tuple[Element, ...]], done: set[int]
) -> int | None:
    """Position whose body diodes oppose this one's, in series over a common node."""
    mine = positions[place][0]
    for other, position in enumerate(positions):
        theirs = position[0]
        if other == place or other in done or theirs.p_type != mine.p_type:
            continue
        if theirs.kind != mine.kind or mine.kind == "bipolar":
            continue
        middle = None
        if mine.low == theirs.low and mine.high != theirs.high:
            middle, ends = mine.low, (mine.high, theirs.high)
        elif mine.high == theirs.high and mine.low != theirs.low:
            middle, ends = mine.high, (mine.low, theirs.low)
        if middle is None or scene.view.is_ground(middle):
            continue
        if not all(_carries(scene, end) for end in ends):
            continue
        if _only_between(scene, middle, mine, theirs, positions):
            return other
    return None


def _only_between(
    scene: Scene,
    middle: str,
    mine: Element,
    theirs: Element,
    positions: list[tuple[Element, ...]],
) -> bool:
    """Whether the two are each other's only partners on the common node.

    A node that is a supply of its own may still sit between the two (a charge
    port); then they must share driver or gate.
    """
    if middle == mine.source:
        # Common source: nobody but a pair is wired so.
        return True
    partners = [
        p for p in positions if p[0].high == middle and p[0].p_type == mine.p_type
    ]
    if len(partners) > 2:
        return False
    if mine.gate == theirs.gate:
        return True
    if not scene.is_power(middle):
        return True
    told = [command(scene, (element,)) for element in (mine, theirs)]
    return told[0].driver is not None and told[0].driver == told[1].driver


def _carries(scene: Scene, net: str) -> bool:
    """Whether power flows on a net: a supply, a way to one, or to a connector."""
    view = scene.view
    if scene.to_ground(net) is not None:
        return False
    if scene.is_power(net):
        return True
    for link in view.links_at(net):
        other = link.net_b if link.net_a == net else link.net_a
        if scene.is_power(other):
            return True
    for element in scene.by_low.get(net, ()):
        if element.kind == "diode" and scene.is_power(element.high):
            return True
    for element in scene.by_high.get(net, ()):
        if element.kind == "diode" and scene.is_power(element.low):
            return True
    return False


def _pair(
    scene: Scene,
    first: tuple[Element, ...],
    second: tuple[Element, ...],
    made: frozenset[str | None],
) -> Stage:
    a, b = first[0], second[0]
    common_low = a.low == b.low
    middle = a.low if common_low else a.high
    ends = [a.high, b.high] if common_low else [a.low, b.low]
    if _upstream(scene, ends[1], made) > _upstream(scene, ends[0], made):
        ends.reverse()
        first, second = second, first
    told = command(scene, (*first, *second))
    sense = dict.fromkeys(sense_parts(scene, *ends))
    if told.controller is not None:
        sense.update(dict.fromkeys(measured_by(scene, told.controller)))
    how = "sources" if middle == a.source else "drains"
    stage = switching_stage(
        scene,
        "back-to-back pass",
        nodes=(),
        input=ends[0],
        output=ends[1],
        high=(*first, *second),
        low=(),
        inductors=(),
        because=(f"{', '.join(refs_of((*first, *second)))}: {how} joined at {middle}",),
        told=told,
    )
    return replace(
        stage, current_sense=tuple(dict.fromkeys((*sense, *stage.current_sense)))
    )


def _upstream(scene: Scene, net: str, made: frozenset[str | None]) -> int:
    """How much a net looks like the side where power comes in."""
    view = scene.view
    nets = [net, scene.rail_beyond(net) or net]
    score = 0
    if made.intersection(nets):
        score += 6
    for here in dict.fromkeys(nets):
        for ref in view.refs(here):
            if view.kind(ref) in ("connector", "battery", "fuse"):
                score += 2
        rail = view.rails.get(here)
        if rail is not None and rail.source is not None:
            score += view.kind(rail.source) in (
                "connector",
                "battery",
                "fuse",
                "inductor",
            )
        score -= 2 * bool(
            [
                pin
                for pin in view.pins(here)
                if view.role(pin.ref, pin.number) == "supply"
            ]
        )
    return score


def _single(
    scene: Scene, position: tuple[Element, ...], made: frozenset[str | None]
) -> Stage | None:
    first = position[0]
    if scene.to_ground(first.low) is not None:
        return _low_side(scene, position)
    top, bottom = first.high, first.low
    if not _carries(scene, top) and not _carries(scene, bottom):
        return None
    if first.kind == "bipolar" and not first.p_type:
        return None
    if _reverse_protection(scene, first, made):
        told = replace(command(scene, position), missing=())
        ends = (bottom, top)
        if _upstream(scene, top, made) > _upstream(scene, bottom, made):
            ends = (top, bottom)
        return _stage(
            scene, "ideal diode", *ends, position, told, "gate tied, no driver"
        )
    if not _carries(scene, top) or not _loads(scene, bottom):
        return None
    told = command(scene, position)
    if told.driver is None and (first.kind == "bipolar" or _follows(scene, first)):
        return None
    if told.driver is None and not _fixed_gate(scene, first):
        return _stage(
            scene, "load switch", top, bottom, position, told, "pass transistor"
        )
    if _ideal_controller(scene, told, first):
        return _stage(
            scene, "ideal diode", bottom, top, position, told, "body diode forward"
        )
    return _stage(scene, "load switch", top, bottom, position, told, "pass transistor")


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
    if _carries(scene, net) or net in scene.caps_to_ground:
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
            if _carries(scene, other) or scene.by_low.get(other):
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
    """Pass transistor with its gate tied off: conducts whenever polarity is right.

    A P-channel's gate goes to ground, an N-channel's to the supply, straight or
    over a resistor, and no driver is there.
    """
    if element.kind != "mosfet":
        return False
    view = scene.view
    gate = element.gate or ""
    drivers = [
        pin
        for pin in view.pins(gate)
        if view.kind(pin.ref) in ("chip", "bipolar", "mosfet", "connector")
        and pin.ref != element.ref
    ]
    if drivers and not view.is_ground(gate) and not scene.is_power(gate):
        return False
    ends = [gate, *(other for _, other in view.neighbours(gate, "resistor"))]
    if element.p_type:
        tied = any(view.is_ground(net) for net in ends)
    else:
        tied = any(net == element.high for net in ends[:1])
    if not tied:
        return False
    # Power must be able to come in at the drain (body diode forward).
    return _upstream(scene, element.drain, made) >= _upstream(
        scene, element.source, made
    ) or (scene.view.is_ground(gate))


def _ideal_controller(scene: Scene, told: Command, element: Element) -> bool:
    """A driver that watches both ends of the transistor: ANODE and CATHODE pins."""
    if told.driver is None or scene.view.kind(told.driver) != "chip":
        return False
    part = scene.view.part(told.driver)
    names = {pin.name.upper(): pin.net for pin in part.pins}
    text = f"{part.description} {part.keywords} {part.value}".upper()
    anode = next((names[n] for n in ("ANODE", "A", "AN") if n in names), None)
    cathode = next((names[n] for n in ("CATHODE", "C", "K") if n in names), None)
    if anode is not None and cathode is not None:
        return anode == element.low or cathode == element.high
    return "IDEAL DIODE" in text and element.high != element.source


def _low_side(scene: Scene, position: tuple[Element, ...]) -> Stage | None:
    """Switch in a ground return: only where a load's return is plain to see."""
    view = scene.view
    first = position[0]
    net = first.high
    if not _return_of_load(scene, net):
        return None
    told = command(scene, position)
    kind = "load switch"
    return switching_stage(
        scene,
        kind,
        nodes=(),
        input=net,
        output=first.low if view.is_ground(first.low) else first.low,
        high=(),
        low=position,
        inductors=(),
        because=(f"{', '.join(refs_of(position))} in the return of {net}",),
        told=told,
    )


def _return_of_load(scene: Scene, net: str) -> bool:
    """A return with a connector or big capacitors to a supply, and no pull-up."""
    view = scene.view
    if scene.is_power(net):
        return True
    connectors = view.parts_on(net, "connector", "battery")
    if not connectors:
        return False
    name = net.rsplit("/", 1)[-1].upper()
    if name.endswith(("-", "_N", "GND", "NEG", "_RTN", "RETURN")):
        return True
    # Freewheel diode to a supply: a motor, a fan, a relay on a connector.
    return any(
        e.kind == "diode" and scene.is_power(e.high) for e in scene.by_low.get(net, ())
    )


def elements_of(stages: Iterable[Stage]) -> set[str]:
    """Refs of all switches in stages."""
    return {ref for stage in stages for ref in (*stage.high_side, *stage.low_side)}
