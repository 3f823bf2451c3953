"""Converters whose switches are inside a chip: a switch pin and an inductor."""

import re
from collections.abc import Iterable

from ohmtrail.netanalysis.circuit import Stage
from ohmtrail.netanalysis.recognise._pin_tables import clean_pin_name
from ohmtrail.netanalysis.recognise.stage_build import rails_and_sense, refs_of
from ohmtrail.netanalysis.recognise.stage_chip_nodes import switch_nodes_of
from ohmtrail.netanalysis.recognise.stage_control import (
    feedback_targets,
    find_controller,
)
from ohmtrail.netanalysis.recognise.stage_elements import beside
from ohmtrail.netanalysis.recognise.stage_half import (
    drives_outer_switches,
    half_stage,
)
from ohmtrail.netanalysis.recognise.stage_legs import Coil, coils_at
from ohmtrail.netanalysis.recognise.stage_parts import (
    bootstrap_parts,
    snubber_parts,
)
from ohmtrail.netanalysis.recognise.stage_scene import Element, Scene

__all__ = ["integrated_stages"]

_PWM = re.compile(r"^(?:PWM\d?|TRI_?PWM|PWMIN|IN_?PWM|PWM_?IN|SMOD\w*|ZCD_?EN\w*)$")
#: Supply pins that carry the converter's current rather than its logic.
_POWER_PIN = re.compile(r"^(?:P_?V(?:IN|DD|CC)|VIN|VP|PVSYS|VPWR|VINP?|PVDD)_?\w?\d?$")


def integrated_stages(scene: Scene, taken: set[str], used: set[str]) -> list[Stage]:
    """Return the converters with their switches in a chip.

    Parameters
    ----------
    scene : Scene
        The board.
    taken : set of str
        Switch nodes of stages with discrete switches.
    used : set of str
        Refs of the transistors of those stages.

    Notes
    -----
    O(pins) plus the parts around each switch node.
    """
    found: list[Stage] = []
    for part in scene.view.board.parts:
        ref = part.ref
        if scene.view.kind(ref) not in ("chip", "other") or not scene.view.fitted(ref):
            continue
        if len(part.pins) < 3:
            continue
        # Over a 0 ohm part as well: a driver's return at a Kelvin source.
        nodes = [
            net
            for net in switch_nodes_of(scene, ref)
            if taken.isdisjoint(scene.view.linked_nets(net))
        ]
        found.extend(_converters(scene, ref, nodes, used))
    return found


def _converters(
    scene: Scene, ref: str, nodes: list[str], used: set[str]
) -> Iterable[Stage]:
    done: set[str] = set()
    for node in nodes:
        if node in done:
            continue
        coils = [c for c in coils_at(scene, node) if not c.transformer]
        bridge = next((c for c in coils if c.far in nodes and c.far != node), None)
        if bridge is not None:
            done |= {node, bridge.far}
            yield _across(scene, ref, node, bridge)
            continue
        done.add(node)
        stage = _single(scene, ref, node, coils, len(nodes) > 1, used)
        if stage is not None:
            yield stage


def _single(
    scene: Scene,
    ref: str,
    node: str,
    coils: list[Coil],
    several: bool,
    used: set[str],
) -> Stage | None:
    view = scene.view
    plain = [c for c in coils if not view.is_ground(c.far)]
    if not plain:
        return _inverting(scene, ref, node, coils)
    coil = plain[0]
    channel = _unit_at(scene, ref, node) if several else None
    if drives_outer_switches(scene, ref, channel, used):
        return half_stage(scene, ref, node, coil, channel)
    far = {coil.far, scene.rail_beyond(coil.far)}
    up = [
        e
        for e in scene.by_low.get(node, ())
        if e.kind == "diode" and _output_like(scene, e.high) and e.high not in far
    ]
    down = [e for e in scene.by_high.get(node, ()) if e.kind == "diode"]
    down = [e for e in down if scene.to_ground(e.low) is not None]
    supplies = _supplies(scene, ref, channel)
    if up and up[0].high in supplies and not scene.carries(coil.far):
        # The switch below, the diode above: the load hangs from the supply.
        return _stage(
            scene,
            ref,
            "buck",
            node,
            up[0].high,
            coil.far,
            (coil.ref,),
            (),
            high=beside(up),
        )
    outputs = [p.net for p in view.pins_with_role(ref, "output") if p.net]
    regulated = feedback_targets(scene, ref)
    score = 0
    score += 3 * any(net in far for net in regulated)
    score -= (
        3
        * any(
            net not in far and net != node and scene.is_power(net) for net in regulated
        )
        * (not any(net in far for net in regulated))
        * (not several)
    )
    score += 3 * bool(down) - 3 * bool(up)
    fed_by_far = any(net in far for net in supplies)
    score += -2 if fed_by_far else 2 * bool(supplies)
    score += 2 * bool(bootstrap_parts(scene, node, (ref,)))
    if coil.far in outputs:
        score += 4
    elif any(net not in far and net != node and scene.is_power(net) for net in outputs):
        score -= 2
    if score >= 0:
        source = next((net for net in supplies if net not in far), None)
        return _stage(
            scene, ref, "buck", node, source, coil.far, (coil.ref,), beside(down)
        )
    if _sepic(scene, node, coil):
        return _sepic_stage(scene, ref, node, coil)
    if not any(pin.name for pin in view.part(ref).pins):
        outputs = supplies
    target = (
        up[0].high
        if up
        else next(
            (n for n in (*regulated, *outputs) if n not in far and n != node), None
        )
    )
    return _stage(
        scene, ref, "boost", node, coil.far, target, (coil.ref,), (), high=beside(up)
    )


def _other_phase(scene: Scene, ref: str, node: str) -> list[str]:
    """Further switch pins of a chip that join the node inside it only."""
    view = scene.view
    return [
        net
        for net in view.nets(ref)
        if net != node
        and not list(coils_at(scene, net))
        and any(
            view.role(ref, pin.number) == "switch" for pin in view.pins_on(ref, net)
        )
        and not any(view.kind(other) in ("mosfet", "igbt") for other in view.refs(net))
        and len(_swinging(scene, ref)) == 1
    ]


def _swinging(scene: Scene, ref: str) -> set[str]:
    """Switch-pin nets of a chip that have a coil."""
    return {
        pin.net
        for pin in scene.view.pins_with_role(ref, "switch")
        if pin.net and any(True for _ in coils_at(scene, pin.net))
    }


def _output_like(scene: Scene, net: str) -> bool:
    return scene.is_power(net) or net in scene.caps_to_ground


def _unit_at(scene: Scene, ref: str, node: str) -> int:
    """Channel of a chip whose switch pin is on a net."""
    return next(
        (scene.view.unit(ref, p.number) for p in scene.view.pins_on(ref, node)), 0
    )


def _supplies(scene: Scene, ref: str, unit: int | None = None) -> list[str]:
    """Nets that feed a chip: its input pins, else its supply pins.

    Of a chip with several channels those with the channel's own mark, if any.
    """
    view = scene.view
    if unit is not None:
        nets = [
            pin.net
            for pin in view.pins_with_role(ref, "input", "supply", unit=unit)
            if pin.net and scene.is_power(pin.net) and pin.name[-1:].isalnum()
        ]
        if nets and len(view.pins_with_role(ref, "input", unit=unit)):
            return list(dict.fromkeys(nets))
    for roles in (("input",), ("supply",)):
        nets = [
            pin.net
            for pin in view.pins_with_role(ref, *roles)
            if pin.net and scene.is_power(pin.net)
        ]
        nets = [net for net in nets if not scene.own_bias(ref, net)] or nets
        power = [
            pin.net
            for pin in view.pins_with_role(ref, *roles)
            if pin.net in nets and _POWER_PIN.match(clean_pin_name(pin.name))
        ]
        nets = [net for net in power if net is not None] or nets
        if nets:
            return list(dict.fromkeys(nets))
    if any(pin.name for pin in view.part(ref).pins):
        return []
    nets = [
        net
        for net in view.nets(ref)
        if scene.is_power(net) and net in scene.caps_to_ground
    ]

    def weight(net: str) -> tuple[int, int]:
        return -len(view.pins_on(ref, net)), -view.degree(net)

    return sorted(nets, key=weight)


def _inverting(scene: Scene, ref: str, node: str, coils: list[Coil]) -> Stage | None:
    """Coil to ground, rectifier from a negative output into the switch node."""
    negative = [
        e
        for e in scene.by_high.get(node, ())
        if e.kind == "diode" and not scene.view.is_ground(e.low)
    ]
    supplies = _supplies(scene, ref)
    if not coils or not supplies:
        return None
    output = negative[0].low if negative else None
    if output is None:
        grounds = [
            pin.net
            for pin in scene.view.pins_with_role(ref, "ground", "switch")
            if pin.net and not scene.view.is_ground(pin.net) and scene.is_power(pin.net)
        ]
        output = grounds[0] if grounds else None
    if output is None:
        return None
    return _stage(
        scene,
        ref,
        "buck-boost",
        node,
        supplies[0],
        output,
        (coils[0].ref,),
        beside(negative),
    )


def _sepic(scene: Scene, node: str, coil: Coil) -> bool:
    return any(True for _ in _second_nodes(scene, node))


def _second_nodes(scene: Scene, node: str) -> Iterable[tuple[str, Coil, Element]]:
    view = scene.view
    for _, second in view.neighbours(node, "capacitor"):
        if view.is_ground(second) or scene.is_power(second):
            continue
        back = [
            c for c in coils_at(scene, second) if scene.to_ground(c.far) is not None
        ]
        diodes = [
            e for e in scene.by_low.get(second, ()) if _output_like(scene, e.high)
        ]
        if back and diodes:
            yield second, back[0], diodes[0]


def _sepic_stage(scene: Scene, ref: str, node: str, coil: Coil) -> Stage:
    second, back, diode = next(iter(_second_nodes(scene, node)))
    refs = tuple(dict.fromkeys((coil.ref, back.ref)))
    return _stage(
        scene,
        ref,
        "buck-boost",
        node,
        coil.far,
        diode.high,
        refs,
        (),
        high=(diode,),
        more=(second,),
    )


def _across(scene: Scene, ref: str, node: str, coil: Coil) -> Stage:
    """Coil between two switch pins of one chip: buck-boost."""
    view = scene.view
    supplies = _supplies(scene, ref)
    source = supplies[0] if supplies else None
    outputs = [p.net for p in view.pins_with_role(ref, "output") if p.net]
    target = next(
        (
            net
            for net in (*outputs, *feedback_targets(scene, ref))
            if net != source and scene.is_power(net)
        ),
        None,
    )
    return _stage(
        scene,
        ref,
        "buck-boost",
        node,
        source,
        target,
        (coil.ref,),
        (),
        more=(coil.far,),
    )


def _stage(
    scene: Scene,
    ref: str,
    sort: str,
    node: str,
    source: str | None,
    target: str | None,
    coils: tuple[str, ...],
    low: Iterable[Element],
    *,
    high: tuple[Element, ...] = (),
    more: tuple[str, ...] = (),
) -> Stage:
    view = scene.view
    commanded = any(
        _PWM.match(clean_pin_name(pin.name)) and pin.net and not view.is_ground(pin.net)
        for pin in view.part(ref).pins
    )
    power_stage = (
        commanded and sort == "buck" and not view.pins_with_role(ref, "feedback")
    )
    controller: str | None = ref
    if power_stage:
        controller = find_controller(scene, ref, "chip", None)
    input_rail, output_rail, sense = rails_and_sense(scene, source, target)
    missing = []
    if source is None:
        missing.append("input")
    if target is None:
        missing.append("output")
    bootstrap: dict[str, None] = {}
    snubber: dict[str, None] = {}
    for net in (node, *more, *_other_phase(scene, ref, node)):
        bootstrap.update(dict.fromkeys(bootstrap_parts(scene, net, (ref,))))
        snubber.update(dict.fromkeys(snubber_parts(scene, net, (source, target))))
    return Stage(
        id="",
        kind="synchronous buck" if power_stage else f"integrated {sort}",
        switch_nodes=(node, *more),
        input=source,
        output=target,
        input_rail=input_rail,
        output_rail=output_rail,
        controller=controller,
        driver=ref,
        high_side=(ref,) if power_stage else refs_of(high),
        low_side=(ref,) if power_stage else refs_of(low),
        inductors=coils,
        bootstrap=tuple(bootstrap),
        current_sense=sense,
        snubber=tuple(r for r in snubber if r not in bootstrap),
        missing=tuple(missing),
        because=(f"{ref} switches {node}", f"{coils[0]} on {node}"),
    )
