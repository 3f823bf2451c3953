"""Charge pumps: a flying capacitor on two pins of a chip, or on a driven pair."""

import re
from collections.abc import Iterable

from ohmtrail.netanalysis.board import Part
from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.recognise._pin_tables import clean_pin_name
from ohmtrail.netanalysis.recognise.stage_build import command, switching_stage
from ohmtrail.netanalysis.recognise.stage_legs import Leg
from ohmtrail.netanalysis.recognise.stage_scene import Scene

__all__ = ["chip_pumps", "driven_pumps", "pumped_leg"]

#: Pins of a flying capacitor, as makers name them: C1+ C1-, CPH CPL, CAP+ CAP-,
#: CFLY1 CFLY2, C+ C-, CP1 CP2 (common practice).
_FLYING = re.compile(
    r"^(?:C(?:A?P)?\d?[AB]?[+\-PNHL]|CP[HL]|C(?:AP)?[+\-]|CFLY\d?[+\-PN]?|CP\d|"
    r"C\d[PNAB+\-]|CP\d?[+\-]|CP[IO]|VCP[HL])$"
)
#: What a pump makes: VCP, CPOUT, V+ and V- of line drivers, VS+ ...
_RESULT = re.compile(
    r"^(?:VCP|CP_?OUT|VCPOUT|VPUMP|V\+|V-|VS\+|VS-|CP|CPO|VOUT|OUT|VGG|GVDD|VEE|VNEG)$"
)


def pumped_leg(scene: Scene, leg: Leg) -> Stage | None:
    """Return the charge pump that a leg drives, or None.

    The node does nothing but shake a capacitor whose far side sits between two
    rectifiers.
    """
    view = scene.view
    if leg.coils or not leg.high_switches or not leg.low_switches:
        return None
    own = {element.ref for element in leg.switches}
    for cap, far in view.neighbours(leg.node, "capacitor"):
        if view.is_ground(far) or set(view.refs(leg.node)) - own - {cap}:
            continue
        pair = _rectifiers(scene, cap, far)
        if pair is None:
            continue
        source, target, diodes = pair
        stage = switching_stage(
            scene,
            "charge pump",
            nodes=(leg.node,),
            input=source,
            output=target,
            high=leg.high_switches,
            low=leg.low_switches,
            inductors=(),
            because=(
                f"{cap} flies between {leg.node} and {far}",
                f"{', '.join(dict.fromkeys(diodes))} from {source} to {target}",
            ),
            told=command(scene, leg.switches),
        )
        return stage
    return None


def _rectifiers(
    scene: Scene, cap: str, far: str
) -> tuple[str, str, tuple[str, ...]] | None:
    """Nets from which and to which the diodes at a flying capacitor lead."""
    view = scene.view
    into = [e for e in scene.by_high.get(far, ()) if e.kind == "diode"]
    out = [e for e in scene.by_low.get(far, ()) if e.kind == "diode"]
    if into and out:
        return into[0].low, out[0].high, (into[0].ref, out[0].ref)
    # A double diode without pin names: its other two nets.
    for ref in view.parts_on(far, "diode"):
        nets = [net for net in view.nets(ref) if net != far]
        if len(nets) != 2 or view.role(ref, "1") or set(view.refs(far)) != {ref, cap}:
            continue
        made = [
            net
            for net in nets
            if not scene.is_power(net) or net not in scene.caps_to_ground
        ]
        if len(made) == 1:
            other = nets[1] if nets[0] == made[0] else nets[0]
            return other, made[0], (ref,)
    return None


def driven_pumps(scene: Scene) -> Iterable[Stage]:
    """Yield the pumps that a chip's output shakes: 555 or processor, two diodes.

    Notes
    -----
    O(capacitors).
    """
    for cap, nets in _off_ground(scene):
        for node, far in (nets, nets[::-1]):
            if (stage := _driven(scene, cap, node, far)) is not None:
                yield stage


def _off_ground(scene: Scene) -> Iterable[tuple[str, tuple[str, str]]]:
    """Yield the fitted capacitors between two nets of which none is ground."""
    view = scene.view
    for part in view.board.parts:
        if view.kind(part.ref) == "capacitor" and view.fitted(part.ref):
            nets = view.nets(part.ref)
            if len(nets) == 2 and not any(view.is_ground(net) for net in nets):
                yield part.ref, (nets[0], nets[1])


def _driven(scene: Scene, cap: str, node: str, far: str) -> Stage | None:
    view = scene.view
    if scene.at(node) or scene.is_power(node) or view.parts_on(node, "inductor"):
        return None
    if any(view.kind(ref) not in ("diode", "capacitor") for ref in view.refs(far)):
        return None
    chip = next(
        (
            pin.ref
            for pin in view.pins(node)
            if view.kind(pin.ref) == "chip"
            and view.role(pin.ref, pin.number) in ("", "output", "gate drive")
        ),
        None,
    )
    pair = _rectifiers(scene, cap, far) if chip is not None else None
    if pair is None or not scene.is_power(pair[0]):
        return None
    source, target, diodes = pair
    if target not in scene.caps_to_ground and not scene.is_power(target):
        return None
    return Stage(
        id="",
        kind="charge pump",
        switch_nodes=(node,),
        input=source,
        output=target,
        input_rail=scene.rail_beyond(source),
        output_rail=scene.rail_beyond(target),
        controller=chip,
        driver=chip,
        because=(
            f"{chip} shakes {cap} between {node} and {far}",
            f"{', '.join(dict.fromkeys(diodes))} from {source} to {target}",
        ),
    )


#: Line drivers pump their own supplies; nobody calls them converters.
_LINE_DRIVER = re.compile(r"RS-?232|transceiver|line driver|\bUART\b", re.I)


def chip_pumps(scene: Scene) -> Iterable[Stage]:
    """Yield the charge pumps inside chips, one a chip.

    Notes
    -----
    O(capacitors).
    """
    view = scene.view
    found: dict[str, list[tuple[str, str, str]]] = {}
    for cap, nets in _off_ground(scene):
        across = set(view.refs(nets[1]))
        for ref in [ref for ref in view.refs(nets[0]) if ref in across]:
            if view.kind(ref) not in ("chip", "other") or _line_driver(view.part(ref)):
                continue
            names = [
                clean_pin_name(pin.name)
                for net in nets
                for pin in view.pins_on(ref, net)
            ]
            if len(names) >= 2 and all(_FLYING.match(name) for name in names):
                found.setdefault(ref, []).append((cap, *nets))
    for ref, flying in found.items():
        yield _chip_stage(scene, ref, flying)


def _line_driver(part: Part) -> bool:
    text = f"{part.library} {part.description} {part.keywords}"
    return bool(_LINE_DRIVER.search(text))


def _chip_stage(scene: Scene, ref: str, flying: list[tuple[str, str, str]]) -> Stage:
    view = scene.view
    nodes = tuple(dict.fromkeys(net for _, *nets in flying for net in nets))
    target = None
    for pin in view.part(ref).pins:
        net = pin.net
        if net is None or view.is_ground(net) or net in nodes:
            continue
        if _RESULT.match(clean_pin_name(pin.name)) and view.parts_on(net, "capacitor"):
            target = net
            break
    source = next(
        (
            pin.net
            for pin in view.pins_with_role(ref, "input", "supply")
            if pin.net
            and scene.is_power(pin.net)
            and pin.net != target
            and not scene.own_bias(ref, pin.net)
        ),
        None,
    )
    return Stage(
        id="",
        kind="charge pump",
        switch_nodes=nodes,
        input=source,
        output=target,
        input_rail=scene.rail_beyond(source),
        output_rail=scene.rail_beyond(target),
        controller=ref,
        driver=ref,
        missing=() if target is not None else ("output",),
        because=(
            ", ".join(f"{cap} flies between two pins of {ref}" for cap, *_ in flying),
        ),
    )
